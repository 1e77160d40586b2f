"""Laws of a plan's money: rates move what is open, lines keep the floor."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from ferrule.compute.drawing import CreditLine, Drawn, draw
from ferrule.compute.exposure import rebuilt, restate, restated_weeks
from ferrule.compute.ledger import CashEvent, Ledger, daily, ledger
from ferrule.compute.rates import Rates
from ferrule.model.exchange import parse_exchange
from ferrule.model.records.firms import Rate

START = dt.date(2027, 1, 4)
WEEKS = 10
F = Fraction


def event(day: int, cents: int, currency: str = "EUR") -> CashEvent:
    own = F(cents, 100)
    amount = own if currency == "EUR" else own / F("1.08")
    return CashEvent(
        day=START + dt.timedelta(days=day), amount=amount, own=own, currency=currency, kind=f"k{cents % 3}",
        document=f"d{day}", payer="", payee="", words="", reason="",
    )  # fmt: skip


def book(events: list[CashEvent], opening: int = 100) -> Ledger:
    return ledger(events, START, START + dt.timedelta(days=7 * WEEKS - 1), F(opening))


cents = st.integers(-10_000, 10_000).filter(bool)
events = st.lists(
    st.builds(event, st.integers(-20, 7 * WEEKS + 20), cents, st.sampled_from(["EUR", "USD"])), max_size=15
)


@given(events)
def test_a_ledger_made_again_from_its_events_is_the_same(found: list[CashEvent]) -> None:
    made = book(found)
    assert rebuilt(made, [*made.events, *made.after, *made.unknown]) == made


RATE = parse_exchange("1 EUR = 1.08 USD")
RATES = Rates((Rate(rate=RATE),), {("EUR", "USD"): 0, ("USD", "EUR"): 0})


@given(events, st.integers(50, 200))
def test_another_rate_moves_the_ending_by_what_is_open_at_the_start(
    found: list[CashEvent], percent: int
) -> None:
    """Open in week 0 is what the plan pays and what comes after it; both together move by as much as their worth does."""
    made = book(found)
    other = parse_exchange(f"100 EUR = {percent} USD")
    moved = restate(made, [other], "EUR")
    late = sum((each.amount or F(0) for each in moved.after), F(0)) - sum(
        (each.amount or F(0) for each in made.after), F(0)
    )
    rows = restated_weeks(made, RATES, [other], "EUR")
    change = rows[0].change if rows else F(0)
    assert moved.ending - made.ending + late == change
    assert restate(made, [RATE], "EUR") == made
    assert moved.before == made.before


def line(index: int, limit: int, percent: int | None) -> CreditLine:
    return CreditLine(
        index=index, name=f"line {index}", lender="bank", limit=F(limit), first=START,
        interest=None if percent is None else F(percent, 100), last=START + dt.timedelta(days=7 * WEEKS + 30),
    )  # fmt: skip


def drawn(found: Ledger, floor: int, *lines: CreditLine) -> Drawn:
    return draw(found, lines, F(floor), plan="p", home="EUR", year_days=365)


in_euros = st.lists(st.builds(event, st.integers(0, 7 * WEEKS + 20), cents), max_size=15)


@given(in_euros, st.integers(-50, 150), st.integers(0, 30))
def test_lines_that_reach_keep_every_day_at_the_floor(
    found: list[CashEvent], floor: int, percent: int
) -> None:
    made = book(found)
    done = drawn(made, floor, line(0, 10**6, percent), line(1, 10**6, percent + 1))
    assert done.short == 0
    balances = [balance for _, _, balance in daily(done.after)]
    assert all(balance >= floor for balance in balances)
    assert done.after.trough.balance >= floor
    assert {each.line for each in done.draws} <= {"line 0"}  # the dearer one is not needed


@given(in_euros, st.integers(-50, 150), st.integers(0, 60), st.integers(0, 60))
def test_what_is_drawn_is_owed_and_never_above_the_limit(
    found: list[CashEvent], floor: int, one: int, two: int
) -> None:
    made = book(found)
    done = drawn(made, floor, line(0, one, 12), line(1, two, 8))
    limits = {"line 0": one, "line 1": two}
    assert all(0 <= each.open <= limits[each.line] for each in done.draws)
    assert sum((each.amount for each in done.draws), F(0)) == done.still_open
    assert done.after.ending == made.ending + done.still_open - done.interest
    assert done.after.profit == made.profit - done.interest
    assert done.most_drawn <= one + two


def test_the_cheapest_is_drawn_first_and_the_dearest_paid_back_first() -> None:
    made = book([event(0, -9000), event(7, 2000), event(14, 3000)])
    done = drawn(made, 40, line(0, 20, 12), line(1, 20, 8))
    assert [(each.day.isoformat(), each.line, each.amount) for each in done.draws if each.amount] == [
        ("2027-01-04", "line 1", F(20)),
        ("2027-01-04", "line 0", F(10)),
        ("2027-01-11", "line 1", F(-10)),
        ("2027-01-11", "line 0", F(-10)),
        ("2027-01-18", "line 1", F(-10)),
    ]


def test_a_line_is_paid_back_on_its_last_day_whatever_that_does() -> None:
    made = book([event(0, -9000)])
    ends = CreditLine(
        index=0, name="bridge", lender="bank", limit=F(50), interest=F(0), first=START,
        last=START + dt.timedelta(days=21),
    )  # fmt: skip
    done = drawn(made, 30, ends)
    assert [week.balance for week in done.after.weeks][:5] == [30, 30, 30, 10, 10]
    assert done.still_open == 0
    assert done.short == 20


def test_interest_that_is_not_stated_is_not_nothing() -> None:
    done = drawn(book([event(0, -9000)]), 30, line(0, 50, None))
    assert done.unknown == ("interest of line 0",)
    assert done.after.bound == "at most"
