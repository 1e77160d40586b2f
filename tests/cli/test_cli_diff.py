"""`diff` from the outside: the demo's three revisions in every form, states to compare, exit codes, refusals.

Read a changed golden file before accepting it: `pytest tests/cli/test_cli_diff.py --update` writes them.
"""

from __future__ import annotations

import csv
import json
import re
import subprocess
from collections.abc import Mapping
from decimal import Decimal
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from markdown_it import MarkdownIt

from answers import TODAY, golden, near, small, source
from ferrule.model.columns import width
from git_builders import Repository, ferrule

#: Golden file → columns (0: a pipe) and command.
ANSWERS: dict[str, tuple[int, tuple[str, ...]]] = {
    "diff-a-b-80.txt": (80, ("rev-A", "rev-B")),
    "diff-a-b-120.txt": (120, ("rev-A", "rev-B")),
    "diff-b-c-80.txt": (80, ("rev-B", "rev-C")),
    "diff-b-c-120.txt": (120, ("rev-B", "rev-C")),
    "diff-b-c-pipe.txt": (0, ("rev-B", "rev-C")),
    "diff-a-c.json": (0, ("rev-A", "rev-C", "--format", "json")),
    "diff-a-c.md": (0, ("rev-A", "rev-C", "--format", "markdown")),
    "diff-a-c.html": (0, ("rev-A", "rev-C", "--format", "html")),
    "diff-lines.csv": (0, ("rev-A", "rev-C", "--table", "lines", "--format", "csv")),
    "diff-none-80.txt": (80, ("rev-C",)),
    "diff-quick-80.txt": (80, ("rev-A", "rev-B", "--quick")),
}
_COMMIT = re.compile(r"commit [0-9a-f]{7,12}")


@pytest.fixture(scope="module")
def recorder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "recorder"
    done = ferrule("demo", str(folder), cwd=folder.parent)
    assert done.returncode == 0, done.stderr
    return folder


def run(folder: Path, *arguments: str, columns: int = 0) -> subprocess.CompletedProcess[str]:
    named = {"COLUMNS": str(columns)} if columns else {}
    return ferrule("diff", *arguments, *TODAY, cwd=folder, **named)


def answer(folder: Path, *arguments: str) -> dict[str, Any]:
    done = run(folder, *arguments, "--format", "json")
    assert (done.returncode, done.stderr) == (0, "")
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.mark.parametrize("name", ANSWERS)
def test_answer(recorder: Path, name: str, *, update: bool) -> None:
    columns, arguments = ANSWERS[name]
    done = run(recorder, *arguments, columns=columns)
    assert (done.returncode, done.stderr) == (0, "")
    text = _COMMIT.sub("commit 0000000", done.stdout)
    golden(name, text, update=update)
    assert not [line for line in text.splitlines() if columns and width(line) > columns]
    if name.endswith(".txt"):
        assert not [line for line in text.splitlines() if line != line.rstrip()]


def test_the_same_bytes_with_another_seed(recorder: Path) -> None:
    texts = [
        ferrule("diff", "rev-A", "rev-C", *TODAY, cwd=recorder, PYTHONHASHSEED=seed).stdout for seed in "07"
    ]
    assert texts[0] == texts[1]


# --- every figure is the one its own command gives --------------------------------------------------------


def asked(folder: Path, revision: str, *arguments: str) -> dict[str, Any]:
    done = ferrule(*arguments, "--at", revision, "--format", "json", *TODAY, cwd=folder)
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.fixture(scope="module")
def b_to_c(recorder: Path) -> dict[str, Any]:
    return answer(recorder, "rev-B", "rev-C")


def test_costs_are_those_of_cost(recorder: Path, b_to_c: Mapping[str, Any]) -> None:
    rows = {row["build"]: row for row in b_to_c["cost"]}
    assert set(rows) == {"spring", "spring-sets", "summer", "autumn"}
    for build, key, sku, plan in (
        ("spring", "unit_spring_1200", "W20-SINGLE", "first-season"),
        ("summer", "unit_summer_1440", "W20-SINGLE", "first-season"),
        ("spring-sets", "unit_spring_sets_120", "W20-SET3", "first-season"),
        ("autumn", "unit_autumn_2400", "W20-SINGLE", "second-season"),
    ):
        for revision, side in (("rev-B", "before"), ("rev-C", "after")):
            cost = asked(recorder, revision, "cost", sku, "--plan", plan, "--volumes", "10")
            (total,) = [row for row in cost["elements"] if row["element"] == "= landed"]
            assert near(Decimal(total[key]), Decimal(rows[build][side])), (build, revision)


def test_causes_add_up_to_the_change(b_to_c: Mapping[str, Any]) -> None:
    changes = {(row["plan"], row["build"]): Decimal(row["change"]) for row in b_to_c["cost"]}
    assert len(b_to_c["cost_causes"]) == 4
    for row in b_to_c["cost_causes"]:
        parts = [Decimal(row[key]) for key in ("quantity", "price", "yield")]
        rest = [Decimal(row[key]) for key in ("once", "leftovers")]
        assert near(sum(parts, Decimal(0)), changes[row["plan"], row["build"]], "1e-9")
        assert near(sum([*parts, *rest], Decimal(0)), Decimal(row["total"]), "1e-9")


def test_dates_are_those_of_schedule(recorder: Path, b_to_c: Mapping[str, Any]) -> None:
    facts = {(row["build"], row["what"]): (row["before"], row["after"]) for row in b_to_c["lead_time"]}
    for side, revision in enumerate(("rev-B", "rev-C")):
        builds = asked(recorder, revision, "schedule", "first-season")["builds"]
        (spring,) = [row for row in builds if row["build"] == "spring"]
        assert facts["spring", "arrives at the earliest"][side] == spring["earliest"]
        assert facts["spring", "critical path"][side] == spring["critical"]
        assert facts["spring", "first order by"][side] == spring["kickoff"]
        assert facts["spring", "from then to arrival, days"][side] == str(spring["cumulative_days"])


def test_cash_is_that_of_cash(recorder: Path, b_to_c: Mapping[str, Any]) -> None:
    rows = {(row["plan"], row["what"]): row for row in b_to_c["cash"]}
    for revision, side in (("rev-B", "before"), ("rev-C", "after")):
        for plan in ("first-season", "second-season"):
            cash = asked(recorder, revision, "cash", plan)
            for what, key in (
                ("trough", "trough"),
                ("low if payments leave first", "lowest_if_payments_leave_first"),
                ("opening cash needed", "needed_at_the_start"),
                ("at the end", "ending"),
            ):
                assert rows[plan, what][side] == cash[key]


# --- what is no change ------------------------------------------------------------------------------------

TWO = {
    "parts/p.toml": source("P", "2") + source("Q", "3"),
    "assemblies/t.toml": (
        '[assembly]\nid = "TOP"\n[assembly.sale.web]\nlist_price = "5 EUR"\n'
        '[[line]]\nitem = 1\npart = "P"\nqty = 2\n[[line]]\nitem = 2\npart = "Q"\nqty = 1\n'
    ),
}


@pytest.fixture
def repository(tmp_path: Path) -> Repository:
    made = Repository(tmp_path / "r")
    small(made.path, TWO)
    made.commit({})
    return made


def test_moving_splitting_and_reordering_is_no_change_and_said(repository: Repository) -> None:
    (repository.path / "parts/p.toml").unlink()
    lines = TWO["assemblies/t.toml"].split("[[line]]")
    repository.write(
        {
            "parts/other/q.toml": source("Q", "3"),
            "parts/renamed.toml": source("P", "2"),
            "assemblies/t.toml": f"{lines[0]}[[line]]{lines[2]}[[line]]{lines[1]}",
        }
    )
    done = run(repository.path, "HEAD", "--exit-code", "--fail-on", "sole-source,cost>0%,item-reused")
    assert done.returncode == 0
    assert done.stdout.splitlines()[5:] == [
        "Gate",
        "must not be  outcome  because of",
        "-----------  -------  ----------",
        "sole-source  not met",
        "cost>0%      not met",
        "item-reused  not met",
        "",
        "nothing changed",
        "2 records moved to other files: no change",
        "lines of 1 assembly in another order: no change",
    ]


def test_exit_codes(repository: Repository) -> None:
    assert run(repository.path, "HEAD", "--exit-code").returncode == 0
    repository.write({"parts/p.toml": source("P", "2.5") + source("Q", "3")})
    assert run(repository.path, "HEAD").returncode == 0
    assert run(repository.path, "HEAD", "--exit-code").returncode == 1
    assert run(repository.path, "HEAD", "--fail-on", "cost>10%").returncode == 1
    assert run(repository.path, "HEAD", "--fail-on", "cost>15%").returncode == 0
    assert run(repository.path, "HEAD", "--quick", "--fail-on", "cost>10%").returncode == 1
    assert run(repository.path, "HEAD", "--index", "--exit-code").returncode == 0
    repository.git("add", "-A")
    assert run(repository.path, "HEAD", "--index", "--exit-code").returncode == 1


def test_a_gate_on_a_part_of_one_maker(repository: Repository) -> None:
    sole = source("S", "1", 'maker = "s"\n')
    added = TWO["assemblies/t.toml"] + '[[line]]\nitem = 3\npart = "S"\nqty = 1\n'
    repository.commit(
        {"parts/s.toml": sole, "assemblies/t.toml": added, "firms/f.toml": '[firm.s]\nname = "S"\n'}
    )
    assert run(repository.path, "HEAD~1", "HEAD", "--fail-on", "sole-source").returncode == 1
    repository.git("mv", "parts/s.toml", "parts/moved.toml")
    repository.git("commit", "-q", "-m", "move")
    assert run(repository.path, "HEAD~1", "HEAD", "--fail-on", "sole-source").returncode == 0


# --- which states -----------------------------------------------------------------------------------------


def test_tags_branches_folders_and_subfolders(repository: Repository, tmp_path: Path) -> None:
    repository.git("tag", "-a", "-m", "first", "rev-1")
    repository.git("branch", "older")
    repository.commit({"parts/p.toml": source("P", "4") + source("Q", "3")})
    copy = small(tmp_path / "copy", TWO)
    for before in ("rev-1", "older", "HEAD~1", str(copy)):
        found = answer(repository.path / "parts", before)
        assert [row["part"] for row in found["sources"]] == ["P"]
    assert answer(repository.path, str(copy))["from"] == f"folder {copy}"
    assert answer(repository.path, "rev-1", str(copy))["notes"] == ["nothing changed"]
    assert answer(copy, str(repository.path))["sources"][0]["after"] == "1 at 2 EUR"
    bare = tmp_path / "bare"
    repository.git("clone", "-q", "--bare", ".", str(bare))
    assert [row["part"] for row in answer(bare, "rev-1", "main")["sources"]] == ["P"]


def test_a_product_that_is_new_is_all_added(tmp_path: Path) -> None:
    made = Repository(tmp_path / "r")
    made.commit({"README": "nothing yet\n"})
    small(made.path, TWO)
    found = answer(made.path, "HEAD")
    assert found["from"] == "HEAD (no product there yet)"
    assert {row["change"] for row in found["lines"]} == {"added"}
    assert run(made.path, "HEAD", "--exit-code").returncode == 1


def test_a_product_that_moved_to_another_folder_is_the_same(repository: Repository) -> None:
    (repository.path / "inner").mkdir()
    for name in ("product.toml", "parts", "assemblies", "plans"):
        repository.git("mv", name, f"inner/{name}")
    repository.git("commit", "-q", "-m", "move")
    done = run(repository.path / "inner", "HEAD~1", "HEAD", "--exit-code")
    assert done.returncode == 0
    assert "nothing changed" in done.stdout


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("nope",), "no commit has the name nope"),
        (("HEAD", "nope"), "no commit has the name nope"),
        (("HEAD", "HEAD", "--index"), "with --index the staged files are the second side"),
        (("--fail-on", "cots>2%", "HEAD"), '"cots>2%" is no condition\nhint: write it as cost>2%'),
        ((), "missing argument 'A'"),
        (("HEAD", "--table", "nope"), "this answer has no table called nope"),
    ],
)
def test_refusals(repository: Repository, arguments: tuple[str, ...], told: str) -> None:
    done = run(repository.path, *arguments)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith(f"error: {told}")


def test_outside_a_repository(tmp_path: Path) -> None:
    done = run(small(tmp_path / "p", TWO), "HEAD")
    assert done.returncode == 2
    assert done.stderr == (
        "error: HEAD is no folder, and this is not a git repository\n"
        "hint: name two folders, or a revision inside a repository\n"
    )


def test_a_shallow_clone_says_how_to_get_the_rest(repository: Repository, tmp_path: Path) -> None:
    repository.commit({"parts/p.toml": source("P", "4") + source("Q", "3")})
    clone = tmp_path / "clone"
    repository.git("clone", "-q", "--depth", "1", f"file://{repository.path}", str(clone))
    done = run(clone, "HEAD~1")
    assert done.returncode == 2
    assert "this shallow clone does not hold the revision HEAD~1" in done.stderr
    assert "fetch-depth: 0" in done.stderr


def test_a_ring_of_assemblies_hides_the_figures_only(repository: Repository) -> None:
    ring = TWO["assemblies/t.toml"] + '[[line]]\nitem = 3\npart = "TOP"\nqty = 1\n'
    repository.write({"assemblies/t.toml": ring})
    found = answer(repository.path, "HEAD")
    assert [row["part"] for row in found["lines"]] == ["TOP"]
    assert "not worked out: assemblies contain themselves: TOP > TOP" in found["notes"]
    assert run(repository.path, "HEAD", "--fail-on", "cost>2%").returncode == 1


def test_output_goes_to_a_file_and_the_text_to_standard_error(repository: Repository) -> None:
    repository.write({"parts/p.toml": source("P", "4") + source("Q", "3")})
    done = run(repository.path, "HEAD", "--format", "markdown", "--output", "diff.md")
    assert done.stdout == ""
    assert "Sources" in done.stderr
    assert (repository.path / "diff.md").read_text().startswith("<!-- ferrule:diff:T -->\n")


# --- text from files stays text ---------------------------------------------------------------------------

HOSTILE = "<img src=x onerror=alert(1)> [x](http://evil.example) @someone | `a` --> #12 <!-- **b**"


def test_markdown_and_html_are_inert(repository: Repository) -> None:
    named = source("P", "2").replace("[part.P]\n", f"[part.P]\nname = '{HOSTILE}'\n")
    repository.write({"parts/p.toml": named + source("Q", "3")})
    text = run(repository.path, "HEAD", "--format", "markdown").stdout
    assert text.count("-->") == 1
    page = MarkdownIt("commonmark").enable("table").render(text)
    assert "<img src" not in page
    for tag in ("<img", "<a ", "<strong>b", "<code>"):
        assert tag not in page
    assert "@someone" not in text
    seen: list[str] = []

    class Reader(HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            del attrs
            seen.append(tag)

    Reader().feed(run(repository.path, "HEAD", "--format", "html").stdout)
    known = {"section", "h2", "dl", "dt", "dd", "table", "caption", "thead", "tbody", "tr", "th", "td", "p"}
    assert set(seen) <= known


def test_a_long_comment_loses_whole_rows_and_keeps_the_totals(repository: Repository) -> None:
    many = "".join(
        f'[[line]]\nitem = {number}\npart = "P"\nqty = 1\nnote = "{"long " * 20}"\n'
        for number in range(10, 1500)
    )
    repository.write({"assemblies/t.toml": TWO["assemblies/t.toml"] + many})
    text = run(repository.path, "HEAD", "--format", "markdown", "--fail-on", "cost>2%").stdout
    assert len(text.encode()) <= 65_536
    assert len(text.encode()) > 60_000
    rows = text.count("\n| + | added | TOP |")
    assert f"and {1490 - rows:,} more, left out for length" in text
    assert "| lines | 1490 | 0 | 0 |" in text
    assert "| cost&gt;2% | met |" in text


def test_csv_has_one_table(recorder: Path) -> None:
    done = run(recorder, "rev-A", "rev-C", "--table", "cash", "--format", "csv")
    rows = list(csv.DictReader(done.stdout.splitlines()))
    assert {row["plan"] for row in rows} == {"first-season", "second-season"}


def test_check_since_finds_an_item_used_again(repository: Repository) -> None:
    swapped = TWO["assemblies/t.toml"].replace('item = 2\npart = "Q"', 'item = 2\npart = "R"')
    repository.write(
        {
            "assemblies/t.toml": swapped,
            "parts/r.toml": source("R", "1"),
            "firms/f.toml": '[firm.s]\nname = "S"\n',
        }
    )
    for rules, code in (((), 0), (("--stage", "evt"), 1)):
        done = ferrule(
            "check", "--since", "HEAD", "--rule", "item-reused", *rules, *TODAY, cwd=repository.path
        )
        assert done.returncode == code
        assert 'item-reused]: item 2 of TOP was "Q" and now is "R"' in done.stdout
        assert "hint: write item = 10" in done.stdout
    done = ferrule("check", "--rule", "item-reused", *TODAY, cwd=repository.path)
    assert "item-reused" not in done.stdout


# --- cut-in -----------------------------------------------------------------------------------------------

CUT_IN = ("rev-B", "rev-C", "--cut-in", "U-OPAMP-A=U-OPAMP-B")


@pytest.mark.parametrize(
    ("name", "columns", "more"),
    [
        ("cut-in-80.txt", 80, ()),
        ("cut-in-120.txt", 120, ()),
        ("cut-in.json", 0, ("--format", "json")),
        ("cut-in-weekly-120.txt", 120, ("--weekly", "100", "--warranty", "0.30", "--salvage", "0.05 USD")),
    ],
)
def test_cut_in(recorder: Path, name: str, columns: int, more: tuple[str, ...], *, update: bool) -> None:
    done = run(recorder, *CUT_IN, *more, columns=columns)
    assert (done.returncode, done.stderr) == (0, "")
    text = _COMMIT.sub("commit 0000000", done.stdout)
    golden(name, text, update=update)
    assert not [row for row in text.splitlines() if columns and width(row) > columns]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("--cut-in", "P"), "'P' names no two parts\nhint: write it as OLD=NEW"),
        (("--cut-in", "U-OPAMP-A=U-OPAMP-C"), "the plan first-season uses no U-OPAMP-C after the change"),
        (("--cut-in", "U-OPAMP-A=U-OPAMP-B", "--plan", "third"), "no plan of both states is called third"),
        (("--cut-in", "U-OPAMP-A=U-OPAMP-B", "--salvage", "x"), '"x" is not an amount of money'),
        (("--cut-in", "U-OPAMP-A=U-OPAMP-B", "--exit-code"), "--cut-in answers another question than a gate"),
        (("--weekly", "3"), "--weekly is for --cut-in\nhint: add --cut-in OLD=NEW"),
    ],
)
def test_cut_in_refusals(recorder: Path, arguments: tuple[str, ...], told: str) -> None:
    done = run(recorder, "rev-B", "rev-C", *arguments)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith(f"error: {told}")


def test_cut_in_does_not_guess_a_price(repository: Repository) -> None:
    (repository.path / "plans/p.toml").write_text(
        '[plan]\nid = "p"\nstart = 2026-11-30\nend = "week 9"\n[[build]]\nname = "b"\nsku = "TOP"\nqty = 3\n'
        "receive_by = 2027-01-30\n"
    )
    repository.commit({}, "dated")
    swapped = TWO["assemblies/t.toml"].replace('item = 2\npart = "Q"', 'item = 3\npart = "R"')
    repository.write({"assemblies/t.toml": swapped, "parts/r.toml": source("R", "")})
    done = run(repository.path, "HEAD", "--cut-in", "Q=R")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith(
        "error: the cheapest way cannot be told while this is not known: price of R"
    )
