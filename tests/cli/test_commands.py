"""The other commands as their users run them."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
from pathlib import Path

import pytest

from git_builders import ferrule

EXAMPLE = Path(__file__).parents[2] / "example-product"
TODAY = ("--today", "2026-11-25")


@pytest.fixture(scope="session")
def recorder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "recorder"
    done = ferrule("demo", str(folder), cwd=folder.parent)
    assert done.returncode == 0, done.stderr
    return folder


def test_the_example_is_in_order_but_for_one_waived_finding() -> None:
    done = ferrule("check", *TODAY, "--product", str(EXAMPLE), "--format", "json", cwd=EXAMPLE)
    answer = json.loads(done.stdout)
    assert (done.returncode, answer["findings"], answer["waived"], answer["stage"]) == (0, [], 1, "dvt")


def test_demo_history(recorder: Path) -> None:
    def git(*arguments: str) -> str:
        return subprocess.run(
            ["git", *arguments], cwd=recorder, capture_output=True, text=True, check=True
        ).stdout

    assert git("tag").split() == ["rev-A", "rev-B", "rev-C"]
    assert {git("cat-file", "-t", tag).strip() for tag in ("rev-A", "rev-B", "rev-C")} == {"tag"}
    assert git("status", "--porcelain") == ""
    assert (
        git("log", "--format=%an %ae %as", "-1").strip()
        == "Wrenfield Engineering engineering@wrenfield.example 2026-11-23"
    )
    changed = git("diff", "--name-only", "rev-A", "rev-B").split()
    assert changed == ["assemblies/main-board.toml", "parts/preamp.toml"]


def test_demo_revisions_tell_their_story(recorder: Path) -> None:
    def totals(revision: str) -> dict[str, str]:
        done = ferrule("explode", "W20-SINGLE", "--at", revision, "--format", "json", *TODAY, cwd=recorder)
        return {row["part"]: row["quantity"] for row in json.loads(done.stdout)["parts"]}

    a, b, c = (totals(f"rev-{letter}") for letter in "ABC")
    assert (a["C-100N-0603"], b["C-100N-0603"]) == ("20", "22")
    assert ("U-OPAMP-A" in b, "U-OPAMP-B" in b, "U-OPAMP-A" in c, "U-OPAMP-B" in c) == (
        True,
        False,
        False,
        True,
    )
    assert (b["PKG-CTN-S"], c["PKG-CTN-S"]) == ("0.05", "1/24")
    for revision, found in (("rev-A", 0), ("rev-B", 1), ("rev-C", 0)):
        done = ferrule("check", "--at", revision, "--format", "json", *TODAY, cwd=recorder)
        assert len(json.loads(done.stdout)["findings"]) == found
    lost = ferrule("check", "--at", "rev-B", "--since", "rev-A", *TODAY, cwd=recorder).stdout
    assert 'part "U-OPAMP-A" comes from one maker only' in lost


def test_demo_twice_gives_the_same_hashes(recorder: Path, tmp_path: Path) -> None:
    ferrule("demo", "again", cwd=tmp_path, GIT_DIR="/nowhere", PYTHONHASHSEED="5")
    heads = [
        subprocess.run(
            ["git", "rev-parse", "HEAD", "rev-A"], cwd=folder, capture_output=True, text=True, check=True
        ).stdout
        for folder in (recorder, tmp_path / "again")
    ]
    assert heads[0] == heads[1]


def test_demo_refuses_a_folder_in_use(recorder: Path) -> None:
    done = ferrule("demo", str(recorder), cwd=recorder.parent)
    assert done.returncode == 2
    assert "exists and is not empty" in done.stderr


def test_explode_from_a_subfolder_to_csv(recorder: Path) -> None:
    done = ferrule("explode", "W20-210", "--qty", "100", "--format", "csv", *TODAY, cwd=recorder / "parts")
    rows = {row["part"]: row for row in csv.DictReader(done.stdout.splitlines())}
    assert rows["C-100N-0603"]["quantity"] == "2000"
    assert rows["PASTE-SAC"]["quantity"] == "90.0"
    assert rows["PASTE-SAC"]["unit"] == "g"
    assert "J-DEBUG" not in rows


@pytest.mark.parametrize(("serial", "label"), [("1200", "LBL-REG-A"), ("1201", "LBL-REG-B")])
def test_explode_for_a_serial_number(recorder: Path, serial: str, label: str) -> None:
    done = ferrule(
        "explode", "W20-500", "--level", "1", "--serial", serial, "--format", "json", *TODAY, cwd=recorder
    )
    parts = {row["part"] for row in json.loads(done.stdout)["parts"]}
    assert {part for part in parts if part.startswith("LBL-REG")} == {label}


def test_tree_by_level(recorder: Path) -> None:
    done = ferrule(
        "explode", "--sku", "W20-SET3", "--tree", "--level", "2", "--format", "json", *TODAY, cwd=recorder
    )
    lines = json.loads(done.stdout)["lines"]
    assert {line["level"] for line in lines} == {1, 2}
    boards = [line for line in lines if line["part"] == "W20-220"]
    assert [(line["quantity_each"], line["quantity"]) for line in boards] == [("2", "6")]


def test_where_counts_to_the_skus(recorder: Path) -> None:
    done = ferrule("where", "C-100N-0603", "--format", "json", *TODAY, cwd=recorder)
    above = {row["number"]: row["quantity"] for row in json.loads(done.stdout)["above"]}
    assert above == {"W20-SET3": "66", "W20-SINGLE": "22", "W20-210": "20", "W20-220": "1", "W20-500": "22"}


def test_explode_agrees_with_where_for_every_part(recorder: Path) -> None:
    exploded = json.loads(ferrule("explode", "W20-SET3", "--format", "json", *TODAY, cwd=recorder).stdout)[
        "parts"
    ]
    for row in exploded[::9]:
        found = json.loads(ferrule("where", row["part"], "--format", "json", *TODAY, cwd=recorder).stdout)
        assert {r["number"]: r["quantity"] for r in found["above"]}["W20-SET3"] == row["quantity"]


@pytest.mark.parametrize("columns", ["80", "160"])
def test_tables_fit_their_width_and_cut_nothing(recorder: Path, columns: str) -> None:
    wide = ferrule("explode", "W20-SINGLE", *TODAY, cwd=recorder).stdout
    fitted = ferrule("explode", "W20-SINGLE", *TODAY, cwd=recorder, COLUMNS=columns).stdout
    assert max(len(line) for line in fitted.splitlines()) <= int(columns)
    assert "…" not in fitted
    assert set("".join(wide.split())) == set("".join(fitted.split()))


def test_init_is_in_order_and_never_overwrites(tmp_path: Path) -> None:
    done = ferrule("init", "lamp", "--name", 'Night "Lamp"', "--currency", "USD", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    check = ferrule("check", *TODAY, cwd=tmp_path / "lamp")
    assert check.returncode == 0, check.stdout
    assert ferrule("explode", "NIGHT-LAMP-100", *TODAY, cwd=tmp_path / "lamp").returncode == 0
    again = ferrule("init", "lamp", "--name", "Other", cwd=tmp_path)
    assert again.returncode == 2
    assert "nothing was written" in again.stderr


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--name", "Lamp", "--currency", "EURO"], "EURO is no currency of ISO 4217"),
        (["--name", "Lamp", "--id", "a b"], "is not an identifier, and the product needs one"),
        (["--name", " "], "a product needs a name on one line"),
    ],
)
def test_init_refuses_what_cannot_stand(tmp_path: Path, arguments: list[str], words: str) -> None:
    done = ferrule("init", "x", *arguments, cwd=tmp_path)
    assert done.returncode == 2
    assert words in done.stderr
    assert not (tmp_path / "x").exists()


def test_explain_lists_and_shows(tmp_path: Path) -> None:
    listed = ferrule("explain", cwd=tmp_path).stdout
    assert "sole-source" in listed
    assert "warns from dvt on, blocks from production on" in listed
    page = ferrule("explain", "unknown-part", cwd=tmp_path).stdout
    assert page.startswith("# unknown-part\n")
    assert "No waiver covers it" in page
    wrong = ferrule("explain", "unknown-prat", cwd=tmp_path)
    assert (wrong.returncode, wrong.stderr) == (
        2,
        "error: there is no rule unknown-prat\nhint: did you mean unknown-part?\n",
    )


def test_a_reader_that_leaves_is_no_error(recorder: Path) -> None:
    command = f"{sys.executable} -m ferrule explode W20-SINGLE --tree --today 2026-11-25 | head -n 1"
    done = subprocess.run(
        ["bash", "-c", f"set -o pipefail; {command}"],
        cwd=recorder,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0
    assert done.stderr == ""


def test_version_and_help(tmp_path: Path) -> None:
    assert ferrule("--version", cwd=tmp_path).stdout == "ferrule 0.1.0\n"
    shown = ferrule("--help", cwd=tmp_path)
    assert shown.returncode == 0
    for name in ("init", "demo", "check", "explain", "explode", "where"):
        assert name in shown.stdout
        assert ferrule(name, "--help", cwd=tmp_path).returncode == 0
    assert ferrule(cwd=tmp_path).returncode == 2
    near = ferrule("chek", cwd=tmp_path)
    assert near.returncode == 2
    assert "did you mean 'check'" in near.stderr


def test_a_bug_is_reported_as_one(tmp_path: Path) -> None:
    program = (
        "import sys, ferrule.app.explain as e\ndef broken(): raise KeyError('planted')\ne.rule_list = broken\n"
        "sys.argv = ['ferrule', 'explain']\nfrom ferrule.cli.main import run\nrun()"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=False, cwd=tmp_path
    )
    assert done.returncode == 3
    assert "this is a bug in ferrule, not in your files: KeyError: 'planted'" in done.stderr
    report = Path(done.stderr.split("please send ")[1].strip())
    assert "Traceback" in report.read_text()
    report.unlink()
