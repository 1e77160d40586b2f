"""The screens of `leave` on the example."""

from __future__ import annotations

import json

import pytest

from answers import EXAMPLE, TODAY, answer, golden
from git_builders import ferrule


@pytest.mark.parametrize(
    ("name", "columns", "firm"), [("leave-100.txt", 100, "harbour"), ("leave-80.txt", 80, "saltreed")]
)
def test_screens(name: str, columns: int, firm: str, *, update: bool) -> None:
    golden(name, answer(columns, "leave", firm), update=update)


def test_machine_form_leads_to_the_records() -> None:
    found = json.loads(answer(0, "leave", "harbour", "--format", "json"))
    assert {row["place"].split(":")[0] for row in found["gaps"]} == {"tools/tools.toml"}
    assert [row["days"] for row in found["ways"]] == sorted(
        (row["days"] for row in found["ways"]), reverse=True
    )


def test_an_unknown_firm_is_said() -> None:
    done = ferrule("leave", "harbor", *TODAY, cwd=EXAMPLE)
    assert (done.returncode, "did you mean harbour?" in done.stderr) == (2, True)
