"""Lines of credit drawn on: as much as keeps the balance at the floor, paid back as soon as there is more.

Day by day. The cheapest line is drawn on first and the dearest paid back first. Interest runs by the day on what is
drawn overnight, simple, and is paid on the last day of each month and of the line, as overdrafts commonly are; paying
it may itself be drawn. On its last day a line is paid back whatever that does to the balance.
"""

from __future__ import annotations

import calendar
import datetime as dt
from collections.abc import Iterator, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.exposure import rebuilt
from ferrule.compute.ledger import CashEvent, Ledger
from ferrule.compute.outlays import last_day
from ferrule.compute.rates import Rates
from ferrule.compute.terms import to_coin
from ferrule.model.records.plan import PlanFile

__all__ = ["CreditLine", "Draw", "Drawn", "credit_lines", "draw"]

_ZERO = Fraction(0)
_DAY = dt.timedelta(days=1)


class CreditLine(Struct, frozen=True, kw_only=True):
    """A line of credit in the home currency: its limit, its yearly interest (None: not stated), its first and last day."""

    index: int
    name: str
    lender: str
    limit: Fraction
    interest: Fraction | None
    first: dt.date
    last: dt.date


class Draw(Struct, frozen=True, kw_only=True):
    """One day's movement of a line: drawn (paid back if negative), interest paid, and what is drawn after it."""

    day: dt.date
    line: str
    amount: Fraction
    interest: Fraction
    open: Fraction


class Drawn(Struct, frozen=True, kw_only=True):
    """A plan with its lines drawn on: the ledger before and after, every movement, and what is left open.

    ``short`` is by how much the balance still falls below the floor at worst; ``unknown`` says what is missing.
    """

    before: Ledger
    after: Ledger
    draws: tuple[Draw, ...]
    short: Fraction
    unknown: tuple[str, ...]

    @property
    def most_drawn(self) -> Fraction:
        """Return the most that is drawn on all lines together."""
        opens: dict[str, Fraction] = {}
        best = _ZERO
        for each in self.draws:
            opens[each.line] = each.open
            best = max(best, sum(opens.values(), _ZERO))
        return best

    @property
    def still_open(self) -> Fraction:
        """Return what is drawn when the plan ends."""
        return sum({each.line: each.open for each in self.draws}.values(), _ZERO)

    @property
    def interest(self) -> Fraction:
        """Return the interest paid within the plan."""
        return sum((each.interest for each in self.draws), _ZERO)


def credit_lines(plan: PlanFile, rates: Rates, home: str) -> tuple[CreditLine, ...]:
    """Return the plan's lines of credit; one whose limit no rate leads home from has none and is not drawn on."""
    start, found = plan.plan.start, []
    for index, loan in enumerate(plan.loan):
        last = last_day(plan.plan)
        if loan.to is not None:
            end = loan.to.on(start)
            last = end if loan.to.day is not None else end + 6 * _DAY
        found.append(
            CreditLine(
                index=index,
                name=loan.name,
                lender=loan.lender or loan.name,
                limit=rates.money(loan.limit, home, home) or _ZERO,
                interest=Fraction(loan.interest.fraction) if loan.interest is not None else None,
                first=loan.from_.on(start) if loan.from_ is not None else start,
                last=last,
            )
        )
    return tuple(found)


def draw(  # noqa: PLR0913  a ledger, its lines, and what a payment needs to be told
    found: Ledger,
    lines: Sequence[CreditLine],
    floor: Fraction,
    *,
    plan: str,
    home: str,
    year_days: int,
) -> Drawn:
    """Return a ledger with its lines drawn on so that no day ends below the floor while they last.

    A line whose interest is not stated is drawn on all the same; that its interest is missing, is told.
    """
    drawing = _Drawing(found, lines, floor, home, year_days)
    drawing.run()
    events = [*found.events, *found.after, *found.unknown, *drawing.events(plan)]
    after = rebuilt(found, events)
    return Drawn(
        before=found,
        after=after,
        draws=tuple(drawing.moves),
        short=max(_ZERO, floor - (floor if drawing.lowest is None else drawing.lowest)),
        unknown=tuple(f"interest of {line.name}" for line in lines if line.interest is None),
    )


class _Drawing:
    """The state of all lines, taken from day to day."""

    def __init__(
        self, found: Ledger, lines: Sequence[CreditLine], floor: Fraction, home: str, year_days: int
    ) -> None:
        self.found, self.floor, self.home, self.year = found, floor, home, year_days
        self.lines = sorted(lines, key=lambda line: (line.interest or _ZERO, line.index))
        self.open = {line.index: _ZERO for line in lines}
        self.owed = {line.index: _ZERO for line in lines}
        self.balance = found.opening
        self.lowest: Fraction | None = None
        self.moves: list[Draw] = []

    def run(self) -> None:
        """Go through every day of the plan."""
        nets: dict[dt.date, Fraction] = {}
        for event in self.found.events:
            if event.day is not None:
                nets[event.day] = nets.get(event.day, _ZERO) + (event.amount or _ZERO)
        day, last = self.found.weeks[0].monday, self.found.weeks[-1].monday + 6 * _DAY
        while day <= last:
            self.balance += nets.get(day, _ZERO)
            paid = {line.index: self._interest(line, day) for line in self.lines}
            moved = {line.index: self._end(line, day) for line in self.lines}
            for line, amount in self._wanted(day):
                self._move(line, amount)
                moved[line.index] += amount
            for line in self.lines:
                if paid[line.index] or moved[line.index]:
                    self.moves.append(self._draw(line, day, moved[line.index], paid[line.index]))
            self.lowest = self.balance if self.lowest is None else min(self.lowest, self.balance)
            day += _DAY

    def _interest(self, line: CreditLine, day: dt.date) -> Fraction:
        """Return what interest is paid on a day, after adding that of the night before."""
        self.owed[line.index] += self.open[line.index] * (line.interest or _ZERO) / self.year
        month_end = day.day == calendar.monthrange(day.year, day.month)[1]
        if not (month_end or day == line.last):
            return _ZERO
        paid = to_coin(self.owed[line.index], self.home)
        self.owed[line.index] -= paid
        self.balance -= paid
        return paid

    def _end(self, line: CreditLine, day: dt.date) -> Fraction:
        """Return what is paid back because a line ends on this day."""
        back = -self.open[line.index] if day == line.last else _ZERO
        self._move(line, back)
        return back

    def _wanted(self, day: dt.date) -> Iterator[tuple[CreditLine, Fraction]]:
        """Yield what is drawn on or paid back on a day, line by line, by the balance as it then is."""
        usable = [line for line in self.lines if line.first <= day < line.last]
        if self.balance < self.floor:
            for line in usable:
                amount = min(self.floor - self.balance, line.limit - self.open[line.index])
                if amount > 0:
                    yield line, amount
        else:
            for line in reversed(usable):
                amount = min(self.open[line.index], self.balance - self.floor)
                if amount > 0:
                    yield line, -amount

    def _move(self, line: CreditLine, amount: Fraction) -> None:
        self.open[line.index] += amount
        self.balance += amount

    def _draw(self, line: CreditLine, day: dt.date, amount: Fraction, interest: Fraction) -> Draw:
        return Draw(day=day, line=line.name, amount=amount, interest=interest, open=self.open[line.index])

    def events(self, plan: str) -> Iterator[CashEvent]:
        """Yield the payments of all movements, and one that is not known for interest that is not stated."""
        named = {line.name: line for line in self.lines}
        for move in self.moves:
            line = named[move.line]
            if move.amount:
                words = "drawn" if move.amount > 0 else "paid back"
                yield self._event(plan, line, move.day, move.amount, "loan", words)
            if move.interest:
                yield self._event(plan, line, move.day, -move.interest, "interest", "interest by the day")
        for line in self.lines:
            if line.interest is None and any(move.line == line.name for move in self.moves):
                yield self._event(plan, line, None, None, "interest", "rate not stated")

    def _event(  # noqa: PLR0913, PLR0917  one payment with all that belongs to it
        self, plan: str, line: CreditLine, day: dt.date | None, amount: Fraction | None, kind: str, words: str
    ) -> CashEvent:
        incoming = amount is not None and amount > 0
        return CashEvent(
            day=day,
            amount=amount,
            own=amount,
            currency=self.home,
            kind=kind,
            document=line.name,
            payer=line.lender if incoming else "us",
            payee="us" if incoming else line.lender,
            words=words,
            reason=f"{line.name}, up to its limit",
            home=("plan", plan, "loan", line.index),
            financing=kind == "loan",
            incoming=incoming,
        )
