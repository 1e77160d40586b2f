"""A balance read: the curve it is drawn as, the weeks along it, and what comes in and goes out."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from fractions import Fraction

from msgspec import Struct

from ferrule.model.exact import Exact
from ferrule.model.when import iso_week
from ferrule.report.picture import Balance, Curve, Line, MoneyWeek

__all__ = ["Flow", "curve_of", "flows", "week_name"]

_NAMED = 7  # weeks named along the bottom, and the trough's
_STEPS = (1, 2, 4, 5, 10, 13, 20, 26, 52, 104, 520)


class Flow(Struct, frozen=True):
    """What comes in and goes out in the week at x; None where that is not known."""

    x: Fraction
    income: Exact | None
    outgo: Exact | None


def curve_of(balance: Balance) -> Curve:
    """Return the lines of a balance as a curve, x in weeks."""
    places = [_x(balance, week) for week in balance.weeks]
    whole = [(balance.name, [week.balance for week in balance.weeks])]
    whole += [(each.name, list(each.balances)) for each in balance.scenarios]
    lines = tuple(Line(name, tuple(zip(places, values, strict=False))) for name, values in whole)
    return Curve(
        title=balance.title,
        description=balance.description,
        unit_x="weeks",
        unit_y=balance.unit,
        lines=lines if places else (),
        floor=balance.floor,
        lowest=balance.trough,
        places=tuple(_named(balance)),
        rounding=balance.rounding,
    )


def flows(balance: Balance) -> list[Flow]:
    """Return what moves in each week."""
    return [Flow(_x(balance, week), week.income, week.outgo) for week in balance.weeks]


def week_name(week: MoneyWeek) -> str:
    """Return the name of a week: "week 12", or "2027-W12" if it is given by its first day."""
    return iso_week(week.at) if isinstance(week.at, dt.date) else f"week {week.at}"


def _x(balance: Balance, week: MoneyWeek) -> Fraction:
    first = balance.weeks[0].at
    if isinstance(week.at, dt.date) and isinstance(first, dt.date):
        return Fraction((week.at - first).days, 7)
    return Fraction(week.at if isinstance(week.at, int) else 0)


def _named(balance: Balance) -> Iterator[tuple[Fraction, str]]:
    """Yield the weeks named along the bottom: a few at equal distances, the last, and the lowest of the first line."""
    known = [week.balance for week in balance.weeks if week.balance is not None]
    lowest = next((week for week in balance.weeks if known and week.balance == min(known)), None)
    step = next((step for step in _STEPS if len(balance.weeks) <= step * _NAMED), _STEPS[-1])
    for index, week in enumerate(balance.weeks):
        number = week.at if isinstance(week.at, int) else index
        if number % step == 0 or week is balance.weeks[-1] or (balance.trough and week is lowest):
            yield _x(balance, week), week_name(week)
