"""`check` as its user runs it: exit codes, streams, formats, what a change adds, waivers."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from git_builders import HEAD, PART, PRODUCT, TOP, Repository, ferrule

SECOND = '\n[[part.BOLT.source]]\nmaker = "hexby"\nseller = "norholt"\nstatus = "approved"\ncurrency = "EUR"\nprice = [{ from = 100, each = 0.04 }]\nquoted = 2026-10-01\nvalid_until = 2027-01-31\nlead_time = "5 weeks"\norigin = "CZ"\nincoterm = "FCA Norholt depot"\n'
GOOD = PRODUCT | {
    "product.toml": HEAD.replace('"evt"', '"dvt"'),
    "parts/bolts.toml": PART.rstrip("\n") + '\norigin = "CZ"\nincoterm = "FCA Norholt depot"\n' + SECOND,
    "firms/firms.toml": PRODUCT["firms/firms.toml"] + '\n[firm.hexby]\nname = "Hexby"\n',
}
ONE_MAKER = GOOD["parts/bolts.toml"].split(SECOND, maxsplit=1)[0]
TODAY = ("--today", "2026-11-25")


@pytest.fixture
def repository(tmp_path: Path) -> Repository:
    made = Repository(tmp_path / "repo")
    made.commit(GOOD)
    return made


def test_nothing_found(repository: Repository) -> None:
    done = ferrule("check", *TODAY, cwd=repository.path)
    assert (done.returncode, done.stdout, done.stderr) == (0, "no findings in 4 files\n", "")


def test_warnings_alone_are_fine_unless_asked(repository: Repository) -> None:
    repository.write({"parts/bolts.toml": ONE_MAKER})
    assert ferrule("check", *TODAY, cwd=repository.path).returncode == 0
    assert ferrule("check", *TODAY, "--fail-on", "warning", cwd=repository.path).returncode == 1
    assert ferrule("check", *TODAY, "--stage", "production", cwd=repository.path).returncode == 1
    assert (
        ferrule(
            "check", *TODAY, "--stage", "production", "--fail-on", "never", cwd=repository.path
        ).returncode
        == 0
    )


def test_paths_lead_there_from_the_current_folder(repository: Repository) -> None:
    repository.write({"assemblies/top.toml": TOP.replace("BOLT", "NUT")})
    here = ferrule("check", *TODAY, cwd=repository.path / "parts")
    assert here.stdout.startswith("../assemblies/top.toml:7:8: error[unknown-part]:")
    machine = ferrule("check", *TODAY, "--format", "json", cwd=repository.path / "parts")
    assert json.loads(machine.stdout)["findings"][0]["path"] == "assemblies/top.toml"


def test_one_rule_only(repository: Repository) -> None:
    repository.write({"parts/bolts.toml": ONE_MAKER, "assemblies/top.toml": TOP.replace("qty = 4\n", "")})
    done = ferrule("check", *TODAY, "--rule", "sole-source", cwd=repository.path)
    assert "sole-source" in done.stdout
    assert "quantity-missing" not in done.stdout
    wrong = ferrule("check", *TODAY, "--rule", "sole-sourse", cwd=repository.path)
    assert (wrong.returncode, wrong.stderr) == (
        2,
        "error: there is no rule sole-sourse\nhint: did you mean sole-source?\n",
    )


def test_output_to_a_file_leaves_the_text_on_standard_error(repository: Repository) -> None:
    done = ferrule("check", *TODAY, "--format", "json", "--output", "out/check.json", cwd=repository.path)
    assert done.stdout == ""
    assert done.stderr == "no findings in 4 files\n"
    assert json.loads((repository.path / "out/check.json").read_text())["format_version"] == 1


def test_annotations_by_themselves_only_in_a_workflow(repository: Repository) -> None:
    repository.write({"parts/bolts.toml": ONE_MAKER})
    assert ferrule("check", *TODAY, cwd=repository.path, GITHUB_ACTIONS="true").stdout.startswith(
        "::warning "
    )
    text = ferrule("check", *TODAY, "--format", "text", cwd=repository.path, GITHUB_ACTIONS="true").stdout
    assert text.startswith("parts/bolts.toml:")


def test_colour_is_asked_for(repository: Repository) -> None:
    repository.write({"parts/bolts.toml": ONE_MAKER})
    assert "\x1b[" not in ferrule("check", *TODAY, cwd=repository.path).stdout
    assert "\x1b[" in ferrule("check", *TODAY, "--color", "always", cwd=repository.path).stdout
    assert "\x1b[" in ferrule("check", *TODAY, cwd=repository.path, FORCE_COLOR="1").stdout
    assert "\x1b[" not in ferrule("check", *TODAY, cwd=repository.path, FORCE_COLOR="1", NO_COLOR="1").stdout


# --- what a change adds --------------------------------------------------------------------------------


def since(repository: Repository, revision: str = "HEAD", *more: str) -> str:
    return ferrule("check", *TODAY, "--since", revision, *more, cwd=repository.path).stdout


def test_losing_the_second_source_counts_as_added(repository: Repository) -> None:
    """The record that is now alone did not change; what makes it alone did."""
    repository.write({"parts/bolts.toml": ONE_MAKER})
    assert 'part "BOLT" comes from one maker only: boltrow, sold by norholt' in since(repository)
    assert (
        ferrule("check", *TODAY, "--since", "HEAD", "--fail-on", "warning", cwd=repository.path).returncode
        == 1
    )


def test_moving_a_sole_source_part_is_no_news(repository: Repository) -> None:
    repository.commit({"parts/bolts.toml": ONE_MAKER})
    (repository.path / "parts/bolts.toml").unlink()
    moved = (
        '# a comment that moves every line\n\n[part.AAA]\nname = "first now"\nclass = "mechanical"\nservice = true\nin_house = true\n\n'
        + ONE_MAKER
    )
    repository.write({"parts/a-new-name.toml": moved})
    assert since(repository) == "no findings added since HEAD in 4 files; 1 older, not shown\n"


def test_reordered_lines_are_no_news(repository: Repository) -> None:
    lines = [
        f'[[line]]\nitem = {item}\npart = "BOLT"\nqty = {count}\ndesignators = "H{item}"\n'
        for item, count in ((10, 2), (20, 3))
    ]
    head = '[assembly]\nid = "TOP"\nname = "Top"\n\n'
    repository.commit({"assemblies/top.toml": head + "\n".join(lines)})
    repository.write({"assemblies/top.toml": head + "\n".join(reversed(lines))})
    assert since(repository) == "no findings added since HEAD in 4 files; 2 older, not shown\n"
    repository.write({"assemblies/top.toml": head + "\n".join(reversed(lines)).replace("qty = 3", "qty = 4")})
    changed = since(repository)
    assert '1 designator for a quantity of 4 of "BOLT"' in changed
    assert changed.endswith("1 error added since HEAD in 4 files; 1 older, not shown\n")


def test_another_sole_maker_is_news(repository: Repository) -> None:
    repository.commit({"parts/bolts.toml": ONE_MAKER})
    repository.write({"parts/bolts.toml": ONE_MAKER.replace('maker = "boltrow"', 'maker = "hexby"')})
    assert "one maker only: hexby" in since(repository)


def test_since_a_revision_without_the_product(tmp_path: Path) -> None:
    repository = Repository(tmp_path / "repo")
    repository.commit({"readme": "x\n"})
    repository.write(GOOD | {"assemblies/top.toml": TOP.replace("BOLT", "NUT")})
    assert "NUT" in since(repository)


def test_since_works_between_two_revisions(repository: Repository) -> None:
    repository.git("tag", "one")
    repository.commit({"parts/bolts.toml": ONE_MAKER})
    repository.git("tag", "two")
    repository.commit(GOOD)
    assert "sole-source" in since(repository, "one", "--at", "two")
    assert since(repository, "two", "--at", "one") == "no findings added since two in 4 files\n"


# --- waivers -------------------------------------------------------------------------------------------

WAIVER = (
    '[[waiver]]\nrule = "sole-source"\nsubject = "part/BOLT"\nreason = "only maker"\nuntil = {until}\n'
    'risk = "a season"\nrisk_owner = "R. Alder"\naccepted_by = "M. Tarn"\naccepted = 2026-10-20\n'
    'corrective_action = "qualify a second maker"\n'
)


@pytest.mark.parametrize(
    ("until", "subject", "closing"),
    [
        ("2026-11-25", "part/BOLT", "no findings in 5 files; 1 waived\n"),
        ("2026-11-24", "part/BOLT", "1 error, 1 warning in 5 files\n"),
        ("2026-11-25", "part/BOL", "1 warning in 5 files\n"),
        ("2026-11-25", "part/BOLT/source/boltrow+norholt", "no findings in 5 files; 1 waived\n"),
        ("2026-11-25", "part", "no findings in 5 files; 1 waived\n"),
    ],
)
def test_a_waiver_covers_its_subject_until_its_day(
    repository: Repository, until: str, subject: str, closing: str
) -> None:
    waiver = WAIVER.format(until=until).replace("part/BOLT", subject)
    repository.write({"parts/bolts.toml": ONE_MAKER, "waivers/w.toml": waiver})
    assert ferrule("check", *TODAY, cwd=repository.path).stdout.endswith(closing)


def test_a_fault_that_nobody_may_accept_stays(repository: Repository) -> None:
    waiver = (
        WAIVER.format(until="2027-01-01")
        .replace("sole-source", "unknown-part")
        .replace("part/BOLT", "assembly/TOP")
    )
    repository.write({"assemblies/top.toml": TOP.replace("BOLT", "NUT"), "waivers/w.toml": waiver})
    done = ferrule("check", *TODAY, cwd=repository.path)
    assert 'part "NUT" is used here' in done.stdout
    assert "unknown-part cannot be waived" in done.stdout


def test_a_product_may_raise_and_lower_what_may_be_accepted(repository: Repository) -> None:
    repository.write(
        {
            "parts/bolts.toml": ONE_MAKER,
            "product.toml": GOOD["product.toml"] + '\n[rule.sole-source]\ndvt = "error"\n',
        }
    )
    assert ferrule("check", *TODAY, cwd=repository.path).returncode == 1
    repository.write({"product.toml": GOOD["product.toml"] + '\n[rule.sole-source]\ndvt = "off"\n'})
    assert ferrule("check", *TODAY, cwd=repository.path).stdout == "no findings in 4 files\n"
    lowered = '\n[rule.unknown-part]\ndvt = "off"\n'
    repository.write(
        {"product.toml": GOOD["product.toml"] + lowered, "assemblies/top.toml": TOP.replace("BOLT", "NUT")}
    )
    assert ferrule("check", *TODAY, cwd=repository.path).returncode == 1


# --- several products ----------------------------------------------------------------------------------


def test_several_products_in_one_run(tmp_path: Path) -> None:
    repository = Repository(tmp_path / "repo")
    broken = GOOD | {"assemblies/top.toml": TOP.replace("BOLT", "NUT")}
    repository.commit(
        {f"a/{path}": text for path, text in GOOD.items()}
        | {f"b/{path}": text for path, text in broken.items()}
    )
    done = ferrule("check", *TODAY, cwd=repository.path)
    assert done.stdout.startswith("b/assemblies/top.toml:7:8: error[unknown-part]")
    assert "in 8 files" in done.stdout
    assert (
        ferrule("check", *TODAY, "--product", "a", cwd=repository.path).stdout == "no findings in 4 files\n"
    )
    assert ferrule("check", *TODAY, cwd=repository.path / "a").stdout == "no findings in 4 files\n"
    other = ferrule("explode", cwd=repository.path)
    assert (other.returncode, other.stderr) == (
        2,
        "error: there are several products here: a, b\nhint: pass --product a\n",
    )


def test_same_bytes_whatever_the_hash_seed_or_file_order(repository: Repository) -> None:
    repository.write({f"parts/p{n}.toml": f"[part.P{n}]\n" for n in range(20)})
    answers = {
        ferrule(
            "check", *TODAY, "--format", "sarif", cwd=repository.path, PYTHONHASHSEED=seed, TZ=zone
        ).stdout
        for seed, zone in (("0", "UTC"), ("1", "Asia/Tokyo"), ("77", "America/New_York"))
    }
    assert len(answers) == 1
