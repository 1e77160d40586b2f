"""The picture of a plan's money: five lines at most, the lowest ones, and what is left out is said."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

from ferrule.compute.cash import Cash
from ferrule.compute.ledger import CashEvent, ledger
from ferrule.report.cash_picture import balance_picture
from ferrule.report.picture import Floor, MoneyWeek

START = dt.date(2027, 1, 4)


def event(week: int, amount: int | None) -> CashEvent:
    number = None if amount is None else Fraction(amount)
    return CashEvent(
        day=START + dt.timedelta(weeks=week), amount=number, own=number, currency="EUR", kind="k",
        document=f"d{week}", payer="", payee="", words="", reason="", incoming=(amount or 0) > 0,
    )  # fmt: skip


def cash(name: str, *events: CashEvent, floor: int | None = 10) -> Cash:
    return Cash(
        plan="p", scenario=name, start=START, ledger=ledger(events, START, START + dt.timedelta(days=20), Fraction(100)),
        floor=None if floor is None else Fraction(floor), opening_known=True, unknown=(), hoped=Fraction(0),
    )  # fmt: skip


def test_one_line_by_hand() -> None:
    found = balance_picture([cash("as-agreed", event(0, -40), event(2, 25))], "EUR")
    assert found.weeks == (
        MoneyWeek(0, Fraction(0), Fraction(40), Fraction(60)),
        MoneyWeek(1, Fraction(0), Fraction(0), Fraction(60)),
        MoneyWeek(2, Fraction(25), Fraction(0), Fraction(85)),
    )
    assert (found.name, found.trough, found.floor) == ("", "trough", Floor(Fraction(10), "floor"))
    assert (found.scenarios, found.remark) == ((), "")


def test_of_many_scenarios_the_lowest_four_are_drawn_in_the_order_asked_for() -> None:
    many = [
        cash(name, event(1, -low)) for name, low in zip("abcdefg", (9, 70, 5, 80, 20, 90, 10), strict=True)
    ]
    found = balance_picture(many, "EUR")
    assert found.name == "a"
    assert [each.name for each in found.scenarios] == ["b", "d", "e", "f"]
    assert found.scenarios[0].balances == (Fraction(100), Fraction(30), Fraction(30))
    assert found.remark == "not drawn, as they stay highest: c and g"


def test_a_trough_that_may_be_lower_says_so() -> None:
    assert balance_picture([cash("a", event(0, -40), event(1, None))], "EUR").trough == "trough, at most"
    assert balance_picture([cash("a", floor=None)], "EUR").floor is None
