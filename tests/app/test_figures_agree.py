"""The figures of `diff` and `history` are those of `cost`, `schedule` and `cash`, on products with random prices and times."""

from __future__ import annotations

import random
import re

import pytest

from builders import TODAY
from ferrule.app.buying import open_plan
from ferrule.app.cashing import AS_AGREED, cash_of, open_cash
from ferrule.app.costing import costs, open_cost
from ferrule.app.diffing import diff
from ferrule.app.scheduling import dates_of
from ferrule.compute.buy import Ask
from ferrule.compute.figures import whole_cost
from ferrule.source.packaged import example_files
from ferrule.source.snapshot import Snapshot, SourceFile


def varied(seed: int) -> Snapshot:
    """Return the example with other prices, lead times, yields and quantities on lines."""
    chance = random.Random(seed)  # noqa: S311  a test's variety

    def text(path: str, data: bytes) -> bytes:
        found = data.decode()
        if path.startswith("parts/"):
            found = re.sub(
                r"each = ([0-9.]+)",
                lambda m: f"each = {m[1]}{chance.randint(1, 9)}" if "." in m[1] else m[0],
                found,
            )
            found = re.sub(
                r'lead_time = "([0-9]+) weeks',
                lambda m: f'lead_time = "{int(m[1]) + chance.randint(0, 3)} weeks',
                found,
            )
        if path.startswith("assemblies/"):
            found = re.sub(r'yield = "9[0-9.]+ %"', lambda _: f'yield = "{chance.randint(90, 99)} %"', found)
            found = re.sub(r"per = 24", lambda _: f"per = {chance.choice([12, 24, 30])}", found)
        return found.encode()

    files = (
        SourceFile(path, text(path, data)) for path, data in example_files().items() if path.endswith(".toml")
    )
    return Snapshot(label=f"seed {seed}", folder="", files=tuple(files), digests=lambda _: {})


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_every_figure_is_that_of_its_command(seed: int) -> None:
    before, after = varied(seed), varied(seed + 100)
    effects = diff(before, after, TODAY).effects
    assert effects is not None
    assert effects.failed == ()
    costed = {
        (side, row.plan, row.build): cost
        for row in effects.costs
        for side, cost in (("before", row.before), ("after", row.after))
        if cost is not None
    }
    for side, snapshot in (("before", before), ("after", after)):
        for plan, sku, builds in (
            ("first-season", "W20-SINGLE", ("spring", "summer")),
            ("second-season", "W20-SINGLE", ("autumn",)),
        ):
            asked = list(costs(open_cost(snapshot, sku, TODAY, plan=plan), []))
            assert [cost.total for cost in asked] == [costed[side, plan, build].total for build in builds]
        for cash in effects.cash:
            (found,) = cash_of(open_cash(snapshot, cash.plan, TODAY), [AS_AGREED])
            mine = cash.before if side == "before" else cash.after
            assert mine is not None
            assert found[0].ledger.trough == mine.ledger.trough
        dates = dates_of(open_plan(snapshot, "first-season"), Ask(today=TODAY), "worst", ())
        for row in effects.dates:
            one = row.before if side == "before" else row.after
            if row.plan == "first-season" and one is not None:
                (same,) = [each for each in dates.builds if each.build == row.build]
                assert (one.earliest, one.critical, one.kickoff) == (
                    same.earliest,
                    same.critical,
                    same.kickoff,
                )
    for moved in effects.costs:
        assert moved.split is not None
        assert moved.before is not None
        assert moved.after is not None
        assert moved.split.total == whole_cost(moved.after) - whole_cost(moved.before)
        assert moved.split.price != 0
        assert moved.split.yields != 0
