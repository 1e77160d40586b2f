"""`invoice` from the outside: the revision in force on the day of the order, exit codes, refusals."""

from __future__ import annotations

import json
import re
import subprocess
from pathlib import Path
from typing import Any

import pytest

from answers import EXAMPLE, golden, small, source
from git_builders import Repository, ferrule

HEAD = "number,seller,date,ordered,currency,part,qty,each\n"
FIRMS = {"firms/f.toml": '[firm.s]\nname = "S"\n'}


@pytest.fixture
def repository(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Repository:
    """Return the small product, P at 1.00 from 2026-09-01 on and at 2.00 from 2026-11-01 on."""
    made = Repository(tmp_path / "r")
    small(made.path, FIRMS)
    for day, price in (("2026-09-01", "1"), ("2026-11-01", "2")):
        monkeypatch.setenv("GIT_COMMITTER_DATE", f"{day}T09:00:00Z")
        made.commit({"parts/p.toml": source("P", price)}, day)
    return made


def run(repository: Repository, text: str, *options: str) -> subprocess.CompletedProcess[str]:
    path = repository.path.parent / "invoice.csv"
    path.write_text(HEAD + text)
    return ferrule("invoice", str(path), *options, cwd=repository.path)


def answer(repository: Repository, text: str, *options: str) -> tuple[int, dict[str, Any]]:
    done = run(repository, text, *options, "--format", "json")
    assert done.stderr == ""
    return done.returncode, json.loads(done.stdout)


@pytest.mark.parametrize(
    ("ordered", "options", "agreed"),
    [
        ("2026-10-31", (), "1"),
        ("2026-11-01", (), "2"),
        ("2026-11-20", (), "2"),
        ("2026-11-20", ("--at", "HEAD~1"), "1"),
    ],
)
def test_the_quote_in_force_on_the_day_of_the_order(
    repository: Repository, ordered: str, options: tuple[str, ...], agreed: str
) -> None:
    code, found = answer(repository, f"1,s,2026-11-25,{ordered},EUR,P,10,2\n", *options)
    assert found["lines"][0]["agreed_each"] == agreed
    assert (code, found["asked_beyond_what_was_agreed"]) == ((0, "0") if agreed == "2" else (1, "10"))


def test_an_order_older_than_the_history_is_said(repository: Repository) -> None:
    _, found = answer(repository, "1,s,2026-11-25,2026-08-01,EUR,P,10,2\n")
    assert "no commit is as old as 2026-08-01: the quotes of today count" in found["notes"]


def test_without_a_day_its_own_counts(repository: Repository) -> None:
    _, found = answer(repository, "1,s,2026-10-05,,EUR,P,10,2\n")
    assert (found["ordered"], found["lines"][0]["agreed_each"]) == ("2026-10-05", "1")
    assert "the invoice names no day of the order: its own day counts" in found["notes"]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("1,t,2026-10-05,,EUR,P,10,2\n", "no firm is called t"),
        ("1,s,never,,EUR,P,10,2\n", "invoice.csv: date 'never' is no date; write it as 2026-10-01"),
    ],
)
def test_refusals(repository: Repository, text: str, told: str) -> None:
    done = run(repository, text)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith(f"error: {told}")


def test_a_file_that_is_not_there(repository: Repository) -> None:
    done = ferrule("invoice", "nope.csv", cwd=repository.path)
    assert done.returncode == 2
    assert done.stderr.startswith("error: nope.csv cannot be read: ")


@pytest.mark.parametrize(
    ("name", "columns"), [("invoice-80.txt", 80), ("invoice-120.txt", 120), ("invoice.json", 0)]
)
def test_the_example(tmp_path: Path, name: str, columns: int, *, update: bool) -> None:
    folder = tmp_path / "recorder"
    ferrule("demo", str(folder), cwd=tmp_path)
    form = ("--format", "json") if name.endswith("json") else ()
    named = {"COLUMNS": str(columns)} if columns else {}
    done = ferrule("invoice", str(EXAMPLE / "docs/invoices/NH-5531.csv"), *form, cwd=folder, **named)
    assert (done.returncode, done.stderr) == (1, "")
    golden(name, re.sub(r"commit [0-9a-f]{7}", "commit 0000000", done.stdout), update=update)
