"""The cash of a plan under settings: whatever is kept from one question to the next changes no answer."""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ferrule.app.cashing import Cashing, cash_under, open_cash, plan_under, setting
from ferrule.app.reach import REACHES, Reach, reach_of
from ferrule.compute.cash import Cash, ground_of, plan_cash
from ferrule.errors import FerruleError
from ferrule.load.settings import apply_settings
from ferrule.model.product import Product
from ferrule.source.snapshot import Snapshot, SourceFile

EXAMPLE = Path(__file__).parents[2] / "example-product"
TODAY = dt.date(2026, 11, 25)
PLAN = "first-season"

#: Key paths and values on the example, at least one for every row of the table of reaches, and what it leaves out.
POOL: dict[str, Any] = {
    "firm.harbour.payment.0.share": "10 %",
    "firm.harbour.payment.1.due": "shipment + 90 days",
    "firm.mossgrove.payment.0.due": "receipt + 1 month",
    "lane.halden-sea.payment": [{"share": "100 %", "due": "arrival + 60 days"}],
    "channel.larkfield.payment.0.due": "receipt + 30 days",
    "channel.larkfield.margin": "47 %",
    "channel.larkfield.allowance": [{"name": "damage", "rate": "3 %"}],
    "channel.web.settlement.lag": "3 days",
    "channel.web.fee.0.percent": "2.2 %",
    "channel.web.delivery": "8 EUR",
    "channel.web.returns": "9 %",
    "channel.web.return_cost": "7 EUR",
    "channel.web.return_lag": "1 month",
    "channel.web.recovery": "10 %",
    "channel.web.warranty": "5 %",
    "tool.T-001.schedule": [{"share": "100 %", "due": "approval + 52 weeks"}],
    "part.U-MCU.source.0.payment": [{"share": "100 %", "due": "shipment + 30 days"}],
    "build.spring.payment": [{"share": "100 %", "due": "shipment"}],
    "plan.opening": "200000 EUR",
    "plan.floor": "1 EUR",
    "overhead.0.amount": "15000 EUR",
    "one_off.0.when": "week 30",
    "funding.0.amount": "31000 EUR",
    "loan.0.fee": "400 EUR",
    "sales.0.qty": 600,
    "sales.1.share": "50 %",
    "sales.4.curve": [{"week": "week 46", "qty": 400}],
    "sales.0.from": "week 30",
    "sales.0.lag": "3 weeks",
    "sales.0.over_weeks": 10,
    "firm.harbour.factory.markup.1.rate": "10 %",
    "firm.harbour.factory.handling": "40 USD",
    "duty.EU.rate": "12 %",
    "lane.halden-sea.per_m3": 150,
    "lane.halden-air.per_kg": 9,
    "lane.halden-sea.per_container": 4100,
    "lane.halden-sea.minimum": 900,
    "lane.halden-sea.charge": [{"name": "haul", "amount": 500, "per": "shipment"}],
    "lane.halden-sea.surcharge": [{"name": "peak", "percent": "20 %"}],
    "lane.halden-sea.insurance": {"rate": "2 %"},
    "part.U-MCU.source.0.price.0.each": 9,
    "part.U-MCU.source.0.moq": 20000,
    "part.U-MCU.source.0.multiple": 700,
    "part.U-MCU.source.0.charge": [{"name": "handling", "amount": 900, "per": "order"}],
    "part.C-100N-0603.source.0.pack": [{"form": "reel", "size": 5000, "price": [{"from": 1, "pack": 90}]}],
    "assembly.W20-SINGLE.markup": [{"name": "profit", "rate": "30 %", "base": ["all"]}],
    "assembly.W20-SINGLE.sale.web.list_price": "199 EUR",
    # whatever is not in the table
    "build.spring.qty": 960,
    "build.spring.lane": "halden-air",
    "build.spring.receive_by": "2027-06-25",
    "rate.EUR.USD": "1 EUR = 1.02 USD",
    "part.U-MCU.source.0.lead_time": "40 weeks",
    "part.U-MCU.attrition": "9 %",
    "firm.harbour.factory.covers_stock": "30 days",
    "firm.harbour.currency": "EUR",
    "channel.larkfield.customer": "norholt",
    "lane.halden-sea.leg": [{"name": "sea", "owner": "carrier", "likely": "60 days", "worst": "70 days"}],
    "assembly.W20-SINGLE.steps.0.yield": "80 %",
}


@functools.cache
def snapshot() -> Snapshot:
    paths = (path for path in sorted(EXAMPLE.rglob("*.toml")))
    shown = [(path.relative_to(EXAMPLE), path) for path in paths]
    files = tuple(
        SourceFile(name.as_posix(), path.read_bytes())
        for name, path in shown
        if not any(part.startswith(".") for part in name.parts)
    )
    return Snapshot(label="", folder="", files=files, digests=lambda _: {})


@functools.cache
def shared() -> Cashing:
    return open_cash(snapshot(), PLAN, TODAY)


def scratch(product: Product, agreed: Cash | None) -> Cash:
    """Return the cash of a product, nothing kept from any other question."""
    plan = product.plans[PLAN]
    ground = ground_of(product, plan, TODAY, shared().holidays.days)
    return plan_cash(product, plan, ground, scenario="s", agreed=agreed)


@functools.cache
def agreed() -> Cash:
    return scratch(shared().product, None)


def from_scratch(written: Mapping[str, Any]) -> Cash:
    """Return the cash of the product with the settings in its files."""
    made = apply_settings(shared().loaded, PLAN, [setting(*pair) for pair in written.items()])
    assert made.loaded is not None, made.findings
    return scratch(made.loaded.product, agreed())


def test_every_row_of_the_table_of_reaches_is_tried() -> None:
    made = [apply_settings(shared().loaded, PLAN, [setting(*pair)]) for pair in POOL.items()]
    paths = [change.target.path for each in made for change in each.changes]
    untried = [
        start
        for start, _ in REACHES
        if not any(
            len(path) >= len(start)
            and all(name in (None, key) for name, key in zip(start, path, strict=False))
            for path in paths
        )
    ]
    assert untried == []


def test_what_the_table_does_not_name_reaches_everything() -> None:
    assert reach_of(("firm", "payment", "factory", "incoming")) is Reach.EVERYTHING
    assert reach_of(("part", "price", "moq")) is Reach.EVERYTHING
    assert reach_of(("firm", "payment", "payment", 0, "due")) is Reach.PAYMENT


@pytest.mark.parametrize("key", POOL)
def test_a_setting_alone_is_as_from_scratch(key: str) -> None:
    cash, _ = cash_under(shared(), [setting(key, POOL[key])], "s")
    assert cash == from_scratch({key: POOL[key]})


def test_terms_leave_the_ground_the_very_same() -> None:
    before = plan_under(shared()).ground
    terms = [setting("firm.harbour.payment.0.share", "10 %"), setting("channel.larkfield.margin", "47 %")]
    assert plan_under(shared(), terms).ground is before
    dearer = plan_under(shared(), [setting("part.U-MCU.source.0.price.0.each", 9)]).ground
    rows = [one is other for one, other in zip(before.bought.rows, dearer.bought.rows, strict=True)]
    assert rows.count(False) == 1
    assert dearer.dates is before.dates


def test_a_setting_that_cannot_be_set_is_told_in_words() -> None:
    with pytest.raises(FerruleError, match=r"s cannot be set: "):
        cash_under(shared(), [setting("firm.nobody.payment", [])], "s")


@given(
    groups=st.lists(
        st.lists(st.sampled_from(sorted(POOL)), min_size=2, max_size=4, unique=True), min_size=2, max_size=4
    )
)
@settings(max_examples=5, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_settings_together_are_as_from_scratch_whatever_was_asked_before(groups: list[list[str]]) -> None:
    for group in groups:
        written = {key: POOL[key] for key in group}
        cash, _ = cash_under(shared(), [setting(*pair) for pair in written.items()], "s")
        assert cash == from_scratch(written)
