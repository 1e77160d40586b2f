"""An approval by the author of the change, told from git: lines, blanks, trailers, what is not committed yet."""

from __future__ import annotations

from pathlib import Path

import pytest

from git_builders import PRODUCT, Repository, ferrule

ROLES = """
[role.supply]
people = ["r.alder@wrenfield.example", "k.reed@wrenfield.example"]
approves = ["supplier", "money"]
"""
BY_ALDER = 'approval = [{ role = "supply", by = "r.alder@wrenfield.example", date = 2026-11-20 }]\n'
HEAD = PRODUCT["product.toml"].replace('"evt"', '"dvt"') + ROLES
TOLD = 'r.alder@wrenfield.example approved source 1 of "BOLT" as supply, and is the one who last changed it'


def by(
    repository: Repository, person: str, files: dict[str, str], message: str = "change", day: int = 1
) -> None:
    """Commit as a person; later days count as later changes."""
    name = person.partition("@")[0]
    who = ("-c", f"user.name={name}", "-c", f"user.email={person}")
    repository.write(files)
    repository.git("add", "-A")
    repository.git(
        *who,
        "commit",
        "-q",
        f"--author={name} <{person}>",
        f"--date=2026-11-{day:02}T09:00:00Z",
        "-m",
        message,
    )


@pytest.fixture
def repository(tmp_path: Path) -> Repository:
    """Return a product whose source was written by one person and approved by another."""
    made = Repository(tmp_path / "r")
    by(made, "eng@wrenfield.example", PRODUCT | {"product.toml": HEAD})
    by(made, "r.alder@wrenfield.example", {"parts/bolts.toml": PRODUCT["parts/bolts.toml"] + BY_ALDER}, day=2)
    return made


def told(repository: Repository, *options: str) -> bool:
    done = ferrule(
        "check", "--rule", "approver-is-author", "--today", "2026-11-25", *options, cwd=repository.path
    )
    assert done.stderr == ""
    assert (done.returncode == 1) == (TOLD in done.stdout)
    return TOLD in done.stdout


def test_one_who_only_wrote_the_approval_is_not_the_author(repository: Repository) -> None:
    assert not told(repository)
    assert not told(repository, "--at", "HEAD")
    assert not told(repository, "--index")


def test_one_who_changed_the_price_is(repository: Repository) -> None:
    text = (repository.path / "parts/bolts.toml").read_text()
    by(repository, "r.alder@wrenfield.example", {"parts/bolts.toml": text.replace("0.03", "0.02")}, day=3)
    assert told(repository)
    assert told(repository, "--at", "HEAD")
    assert told(repository, "--index")
    assert not told(repository, "--at", "HEAD~1")
    by(repository, "eng@wrenfield.example", {"parts/bolts.toml": text.replace("0.03", "0.025")}, day=4)
    assert not told(repository)


def test_blanks_and_other_parts_are_no_change(repository: Repository) -> None:
    text = (repository.path / "parts/bolts.toml").read_text()
    blanks = text.replace("lead_time = ", "lead_time    =    ")
    by(repository, "r.alder@wrenfield.example", {"parts/bolts.toml": blanks}, day=3)
    assert not told(repository)
    other = blanks.replace(BY_ALDER, BY_ALDER + '\n[part.NUT]\nname = "Nut"\n')
    by(repository, "r.alder@wrenfield.example", {"parts/bolts.toml": other}, day=4)
    assert not told(repository)


@pytest.mark.parametrize(
    ("approver", "heals"),
    [
        ("K. Reed <k.reed@wrenfield.example>", True),
        ("r.alder@wrenfield.example", False),
        ("S. Penn <s.penn@wrenfield.example>", False),
    ],
)
def test_a_trailer_of_the_commit(repository: Repository, approver: str, *, heals: bool) -> None:
    text = (repository.path / "parts/bolts.toml").read_text().replace("0.03", "0.02")
    message = f"a better price\n\nApproved-by: {approver}\n"
    by(repository, "r.alder@wrenfield.example", {"parts/bolts.toml": text}, message, day=3)
    assert told(repository) is not heals


def test_what_is_not_committed_yet_is_the_present_users(
    repository: Repository, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = (repository.path / "parts/bolts.toml").read_text()
    repository.write({"parts/bolts.toml": text.replace("0.03", "0.02")})
    assert not told(repository)
    monkeypatch.setenv("GIT_AUTHOR_EMAIL", "r.alder@wrenfield.example")
    assert told(repository)
    assert not told(repository, "--index")
    repository.git("add", "-A")
    assert told(repository, "--index")


def test_without_git_nothing_is_known(tmp_path: Path) -> None:
    plain = tmp_path / "plain"
    for name, text in (
        PRODUCT | {"product.toml": HEAD, "parts/bolts.toml": PRODUCT["parts/bolts.toml"] + BY_ALDER}
    ).items():
        (plain / name).parent.mkdir(parents=True, exist_ok=True)
        (plain / name).write_text(text)
    done = ferrule("check", "--rule", "approver-is-author", "--today", "2026-11-25", cwd=plain)
    assert (done.returncode, done.stderr) == (0, "")


def test_a_frozen_build_of_a_company_of_one_says_so(tmp_path: Path) -> None:
    made = Repository(tmp_path / "r")
    alone = HEAD.replace('stage = "dvt"\n', 'stage = "evt"\npeople = 1\n')
    files = PRODUCT | {"product.toml": alone, "parts/bolts.toml": PRODUCT["parts/bolts.toml"] + BY_ALDER}
    by(made, "r.alder@wrenfield.example", files)
    done = ferrule("freeze", "alone", "--today", "2026-11-25", cwd=made.path)
    assert done.returncode == 0
    assert "self_approved = true\n" in (made.path / "frozen/alone.lock").read_text()
