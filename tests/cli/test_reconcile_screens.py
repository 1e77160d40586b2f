"""The screens of `reconcile` on the example, and what they must hold."""

from __future__ import annotations

import json

import pytest

from answers import EXAMPLE, answer, golden
from git_builders import ferrule


@pytest.mark.parametrize(
    ("name", "columns", "arguments"),
    [
        ("reconcile-120.txt", 120, ()),
        ("reconcile-80.txt", 80, ()),
        ("reconcile-why-120.txt", 120, ("harbour", "--why", "U-MCU")),
    ],
)
def test_screens(name: str, columns: int, arguments: tuple[str, ...], *, update: bool) -> None:
    golden(name, answer(columns, "reconcile", *arguments), update=update)


def test_machine_form_has_the_account_and_the_bound() -> None:
    found = json.loads(answer(0, "reconcile", "--format", "json"))
    chip = next(row for row in found["accounts_harbour"] if row["part"] == "U-MCU")
    assert (chip["issued"], chip["good"], chip["in_process"], chip["counted"], chip["unproven"]) == (
        "90",
        "58",
        "4",
        "24",
        "1",
    )
    owed = next(row for row in found["owed_harbour"] if row["part"] == "U-MCU")
    assert (owed["forgiven"], owed["chargeable"], owed["room"]) == (1, "0", "1 unit")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("harbor",), "nothing of ours was sent to harbor\nhint: did you mean harbour?"),
        (("--why", "R-10K-0603"), "R-10K-0603 was not sent to anybody"),
    ],
)
def test_what_is_not_there_is_said(arguments: tuple[str, ...], message: str) -> None:
    done = ferrule("reconcile", *arguments, cwd=EXAMPLE)
    assert done.returncode == 2
    assert message in done.stderr
