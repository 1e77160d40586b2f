"""When a plan's sales are paid, and what settings do to payments before its start: cases worked by hand.

A lamp is sold for 100 EUR, ten in one week; it costs nothing to deliver and none comes back, so a week brings
1,000 EUR. A week's sales are made on its Friday. Terms such as 2 % for paying within 10 days, else 30 days net,
are common practice.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from answers import EXAMPLE
from builders import HEAD, load
from ferrule.app.cashing import Cashing, cash_under, open_cash, setting
from ferrule.compute.ledger import CashEvent, Early
from ferrule.errors import FerruleError
from ferrule.source.snapshot import Snapshot, SourceFile
from ferrule.source.worktree import read_worktree

TODAY = dt.date(2026, 12, 1)
FILES = {
    "product.toml": HEAD
    + """
[calendar.shop-days]
weekend = ["saturday", "sunday"]
closures = [{ name = "stock-taking", from = 2027-01-18, to = 2027-01-22 }]
""",
    "firms.toml": """
[firm.own]
name = "Ourselves"
roles = ["us"]

[firm.maker]
name = "Maker"
roles = ["factory"]
payment = [{ share = "100 %", due = "shipment" }]

[firm.shop]
name = "Shop"
roles = ["customer"]

[channel.shop]
name = "Shop"
kind = "retail"
customer = "shop"
tax_included = false
margin = "0 %"
returns = "0 %"
warranty = "0 %"
delivery = 0
payment = [{ share = "100 %", due = "receipt + 30 days" }]

[channel.web]
name = "Web shop"
kind = "direct"
tax_included = false
returns = "0 %"
warranty = "0 %"
delivery = 0
settlement = { lag = "1 month" }

[lane.door]
name = "Over the counter"
mode = "road"
leg = [{ name = "handing over", owner = "us", likely = "0 days" }]
""",
    "lamp.toml": """
[assembly]
id = "LAMP"
factory = "maker"
lead_time = "5 days"
price = { tier = [{ from = 1, each = 40 }] }
sale = { shop = { list_price = 100 }, web = { list_price = 100 } }
""",
}
PLAN = """
[plan]
id = "p"
start = {start}
end = "week 12"
opening = 1000

[[build]]
name = "b"
sku = "LAMP"
qty = 10
ship = {ready}

[[sales]]
sku = "LAMP"
channel = "{channel}"
qty = 10
from = "week {week}"
over_weeks = 1
"""


def cashing(
    channel: str = "shop", *, start: str = "2027-01-04", ready: str = "2027-02-26", week: int = 0
) -> Cashing:
    plan = PLAN.format(channel=channel, start=start, ready=ready, week=week)
    assert load({**FILES, "plan.toml": plan}).findings == ()
    files = tuple(SourceFile(name, text.encode()) for name, text in {**FILES, "plan.toml": plan}.items())
    snapshot = Snapshot(label="", folder="", files=files, digests=lambda _: {})
    return open_cash(snapshot, "p", TODAY)


def received(asked: Cashing, written: Mapping[str, Any]) -> list[tuple[dt.date | None, Fraction | None, str]]:
    cash, _ = cash_under(asked, [setting(*pair) for pair in written.items()])
    book = cash.ledger
    return [(e.day, e.amount, e.words) for e in (*book.events, *book.after) if e.kind == "sales"]


def day(written: str) -> dt.date:
    return dt.date.fromisoformat(written)


def test_a_retailer_pays_by_its_terms() -> None:
    words = "10 delivered, 100 %, receipt + 30 days"
    assert received(cashing(), {}) == [(day("2027-02-07"), Fraction(1000), words)]


def test_a_discount_for_paying_early_is_offered_and_not_counted_on() -> None:
    terms = [{"share": "100 %", "due": "receipt + 30 days", "discount": "2 %", "discount_within": "10 days"}]
    words = "10 delivered, 100 %, receipt + 30 days"
    assert received(cashing(), {"channel.shop.payment": terms}) == [
        (day("2027-02-07"), Fraction(1000), words)
    ]


def test_a_discount_is_paid_at_a_pay_run_too() -> None:
    terms = [{"share": "100 %", "due": "receipt + 40 days", "discount": "2 %", "discount_within": "9 days"}]
    runs = {"channel.shop.payment": terms, "channel.shop.settlement": {"pay_run_days": [28]}}
    asked = cashing()
    cash, _ = cash_under(asked, [setting(key, value) for key, value in runs.items()])
    (early,) = [event.early for event in cash.ledger.events if event.early is not None]
    assert early == Early(day("2027-01-28"), Fraction(980))


def test_a_customer_pays_on_no_day_that_its_calendar_closes() -> None:
    closed = {"firm.shop.calendar": "shop-days", "channel.shop.payment.0.due": "receipt + 10 days"}
    assert [found[0] for found in received(cashing(), closed)] == [day("2027-01-25")]
    del closed["firm.shop.calendar"]
    assert [found[0] for found in received(cashing(), closed)] == [day("2027-01-18")]


def test_a_month_after_the_28th_is_the_next_28th() -> None:
    asked = cashing("web", start="2028-01-03", ready="2028-02-25", week=3)
    assert [found[0] for found in received(asked, {})] == [day("2028-02-28")]


def test_who_pays_and_who_is_paid_have_their_names() -> None:
    cash, _ = cash_under(cashing())
    shown = {(event.kind, event.payer, event.payee, event.incoming) for event in cash.ledger.events}
    assert shown == {("factory", "own", "maker", False), ("sales", "shop", "own", True)}


def unknown_of(asked: Cashing, key: str, value: Any) -> CashEvent:
    cash, _ = cash_under(asked, [setting(key, value)])
    assert len(cash.ledger.unknown) == 1
    return cash.ledger.unknown[0]


def test_what_is_not_known_still_has_a_direction() -> None:
    asked = cashing()
    assert unknown_of(asked, "firm.maker.payment.0.due", "first shots").incoming is False
    found, _ = cash_under(asked, [setting("firm.maker.payment.0.due", "first shots")])
    assert found.ledger.bound == "at most"
    found, _ = cash_under(asked, [setting("channel.shop.payment.0.due", "first shots")])
    assert found.ledger.bound == "at least"


# --- payments before the start ------------------------------------------------------------------------

#: The build costs 400 EUR, all due when it ships on 26 February; ten lamps are paid with 1,000 EUR on 7 February.


def test_a_payment_that_a_setting_moves_before_the_start_is_taken_from_the_opening() -> None:
    asked = cashing()
    agreed, _ = cash_under(asked)
    early, _ = cash_under(asked, [setting("firm.maker.payment.0.due", "shipment - 80 days")])
    assert [event.day for event in early.ledger.before] == [day("2026-12-08")]
    assert (agreed.ledger.opening, early.ledger.opening, early.moved) == (
        Fraction(1000),
        Fraction(600),
        Fraction(-400),
    )
    assert agreed.ledger.trough.balance == Fraction(1000)
    assert early.ledger.trough.balance == Fraction(600)
    assert agreed.ledger.ending == early.ledger.ending == Fraction(1600)


def test_a_payment_that_a_setting_moves_into_the_plan_is_put_back_to_the_opening() -> None:
    asked = cashing(ready="2027-01-04")
    asked_early = [setting("firm.maker.payment.0.due", "shipment - 10 days")]
    early, _ = cash_under(asked, asked_early)
    assert (early.ledger.opening, early.ledger.ending) == (Fraction(600), Fraction(1600))
    assert early.ledger.trough.balance == Fraction(600)


def test_a_plan_that_settings_end_before_it_begins_is_refused_in_words() -> None:
    with pytest.raises(
        FerruleError, match="plan p has no week: it ends on 2026-12-31, before it begins on 2027-01-04"
    ):
        cash_under(cashing(), [setting("plan.end", day("2026-12-31"))])


def test_the_least_coin_counts() -> None:
    third = {"assembly.LAMP.sale.shop.list_price": Decimal("33.333")}
    assert [found[1] for found in received(cashing(), third)] == [Fraction("333.33")]


def test_freight_that_is_not_known_leaves_the_price_of_the_factory_known() -> None:
    cash, _ = cash_under(cashing(), [setting("build.b.lane", "door")])
    assert [(event.kind, event.amount) for event in cash.ledger.events if event.kind == "factory"] == [
        ("factory", Fraction(-400))
    ]
    assert [event.kind for event in cash.ledger.unknown] == ["freight"]


def test_what_was_paid_before_the_start_does_not_follow_a_rate_of_today() -> None:
    asked = open_cash(read_worktree(EXAMPLE, ""), "first-season", dt.date(2026, 11, 25))
    agreed, _ = cash_under(asked)
    dearer, _ = cash_under(asked, [setting("rate.EUR.USD", "1 EUR = 1.02 USD")])
    assert any(event.currency == "USD" for event in agreed.ledger.before)
    assert (dearer.moved, dearer.ledger.opening) == (Fraction(0), agreed.ledger.opening)
    assert dearer.ledger.trough.balance < agreed.ledger.trough.balance
