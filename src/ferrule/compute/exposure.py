"""What is open in other currencies by week, at the rate a product states and at another one, and the balance then.

The amounts in their own currency stay what they are; only their worth at home moves.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from fractions import Fraction

from msgspec import Struct, structs

from ferrule.compute.ledger import CashEvent, Ledger, OpenWeek, ledger, open_weeks, restated
from ferrule.compute.rates import Rates
from ferrule.model.exchange import Exchange

__all__ = ["AtRates", "RestatedWeek", "other_currency", "rebuilt", "restate", "restated_weeks"]

_ZERO = Fraction(0)


class RestatedWeek(Struct, frozen=True, kw_only=True):
    """What is open in a currency when a week begins, and its worth at home at the stated and the other rate.

    ``stated`` and ``restated`` are net, what is to be paid negative; ``stated`` is None where no rate is known.
    """

    open: OpenWeek
    stated: Fraction | None
    restated: Fraction

    @property
    def change(self) -> Fraction | None:
        """Return what the other rate gains; negative is lost."""
        return None if self.stated is None else self.restated - self.stated


class AtRates(Struct, frozen=True, kw_only=True):
    """A plan at other exchange rates: the rates, what is open by week valued twice, and the ledger then."""

    exchanges: tuple[Exchange, ...]
    weeks: tuple[RestatedWeek, ...]
    ledger: Ledger


def other_currency(exchange: Exchange, home: str) -> str | None:
    """Return the currency that a rate sets against the home currency; None where neither of its two is that."""
    pair = (exchange.base, exchange.quote)
    return next((code for code in pair if code != home), None) if home in pair else None


def restated_weeks(
    found: Ledger, rates: Rates, exchanges: Sequence[Exchange], home: str
) -> tuple[RestatedWeek, ...]:
    """Return what is open week by week in the currencies of some rates, exact, valued twice.

    What receipts and payments set off against each other is not exposed. Of two rates for one currency the
    later counts.
    """
    named = {other_currency(exchange, home): exchange for exchange in exchanges}
    rows = []
    for week in open_weeks(found, home):
        exchange = named.get(week.currency)
        if exchange is not None:
            rows.append(
                RestatedWeek(
                    open=week,
                    stated=rates.convert(week.net, week.currency, home),
                    restated=_at(week.net, exchange, home),
                )
            )
    return tuple(rows)


def _at(amount: Fraction, exchange: Exchange, home: str) -> Fraction:
    price = Fraction(exchange.buys) / Fraction(exchange.of)
    return amount * price if exchange.quote == home else amount / price


def restate(found: Ledger, exchanges: Iterable[Exchange], home: str) -> Ledger:
    """Return the same plan with what is paid in the currencies of some rates valued by them; past payments stay."""
    events: tuple[CashEvent, ...] = (*found.events, *found.after, *found.unknown)
    for exchange in exchanges:
        events = restated(events, exchange, home)
    return rebuilt(found, events)


def rebuilt(found: Ledger, events: Iterable[CashEvent]) -> Ledger:
    """Return the weeks of a ledger with other events in and after them; what lies before the plan is kept."""
    first, last = found.weeks[0].monday, found.weeks[-1].monday + dt.timedelta(days=6)
    made = ledger(events, first, last, found.opening)
    return structs.replace(made, before=found.before)
