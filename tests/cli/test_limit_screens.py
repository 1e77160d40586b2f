"""The screens of `limits` and `regret` on the example, byte for byte.

Read a changed screen before accepting it: `pytest tests/cli/test_limit_screens.py --update` writes them.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from ferrule.model.columns import width
from git_builders import ferrule

EXAMPLE = Path(__file__).parents[2] / "example-product"
GOLDEN = Path(__file__).parent / "golden"
TODAY = ("--today", "2026-11-25")
#: A coarse search, so that the screens do not take long.
COARSE = ("--step", "240", "--search", "build=2160")
CHEAP = ("--only", "build", "--only", "opening", "--only", "term", "--only", "duty", "--only", "rate")

#: Name of the screen → columns (0: a pipe) and command.
SCREENS: dict[str, tuple[int, tuple[str, ...]]] = {
    "limits-80": (80, ("limits", "first-season", *CHEAP, *COARSE)),
    "limits-120": (120, ("limits", "first-season", "--only", "kick-off", "--only", "sell-through")),
    "regret-80": (80, ("regret", "first-season")),
    "regret-120": (120, ("regret", "second-season")),
    "regret-stop-120": (120, ("regret", "first-season", "--stop", "8")),
    "regret-cut-80": (80, ("regret", "first-season", "--cut", "600", "--stop", "7")),
    "regret-slip-100": (100, ("regret", "first-season", "--slip", "4", "--stop", "33")),
    "regret-until-80": (80, ("regret", "first-season", "--stop", "5", "--until", "7")),
    "regret-why-100": (100, ("regret", "first-season", "--why", "CELL-18650", "--stop", "10")),
}


@pytest.mark.parametrize("name", SCREENS)
def test_screen(name: str, *, update: bool) -> None:
    columns, arguments = SCREENS[name]
    named = {"COLUMNS": str(columns)} if columns else {}
    done = ferrule(*arguments, *TODAY, cwd=EXAMPLE, **named)
    assert (done.returncode, done.stderr) == (0, "")
    path = GOLDEN / f"{name}.txt"
    if update:
        path.write_text(done.stdout, encoding="utf-8")
    assert done.stdout == path.read_text(encoding="utf-8")
    assert all(width(line) <= columns for line in done.stdout.splitlines() if columns)
    assert "not a solvency opinion" in done.stdout
