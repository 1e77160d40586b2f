"""The picture of a plan's money: its balance week by week, the floor, the trough, and what comes in and goes out."""

from __future__ import annotations

from collections.abc import Sequence

from ferrule.compute.cash import Cash
from ferrule.report.picture import Balance, Floor, MoneyWeek, Scenario
from ferrule.report.wording import listed

__all__ = ["balance_picture"]

#: More lines than these cannot be told apart.
_MOST_LINES = 5
_TROUGH = {
    "exact": "trough",
    "at most": "trough, at most",
    "at least": "trough, at least",
    "open": "trough, as far as known,",
}


def balance_picture(found: Sequence[Cash], home: str) -> Balance:
    """Return the balance of the first scenario, the others as further lines; of many those with the lowest troughs."""
    first, others = found[0], found[1:]
    drawn = _drawn(others)
    left_out = [cash.scenario for cash in others if cash not in drawn]
    floor = "" if first.floor is None else ", with its floor"
    return Balance(
        title="Balance, and what comes in and goes out",
        description=f"The balance at the end of each week of the plan{floor} and its lowest point.",
        unit=home,
        weeks=tuple(
            MoneyWeek(week.number, week.income, week.outgo, week.balance) for week in first.ledger.weeks
        ),
        name=first.scenario if others else "",
        floor=None if first.floor is None else Floor(first.floor, "floor"),
        trough=_TROUGH[first.ledger.bound],
        scenarios=tuple(
            Scenario(cash.scenario, tuple(week.balance for week in cash.ledger.weeks)) for cash in drawn
        ),
        remark=f"not drawn, as they stay highest: {listed(left_out)}" if left_out else "",
    )


def _drawn(others: Sequence[Cash]) -> list[Cash]:
    """Return the scenarios that are drawn, in the order asked for."""
    lowest = sorted(range(len(others)), key=lambda index: (others[index].ledger.trough.balance, index))
    return [others[index] for index in sorted(lowest[: _MOST_LINES - 1])]
