"""Bills of builds: the factory's price of the units, and freight, duty and import tax of their way home."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction

from ferrule.compute.billing import Bill, Purse, simple_bill, terms_of
from ferrule.compute.cost import LANDING_ORDER, UnitCost, duty_at
from ferrule.compute.demand import maker_of
from ferrule.compute.factory import CONSIGNED
from ferrule.compute.landing import Element
from ferrule.compute.memory import Memory
from ferrule.compute.terms import days_after
from ferrule.model.product import Product
from ferrule.model.records.assembly import Assembly
from ferrule.model.records.firms import Duty, Firm, Lane
from ferrule.model.records.plan import Build, PlanFile
from ferrule.model.records.product import Head

__all__ = ["build_bills", "way_bills"]

_ZERO = Fraction(0)
_Days = Mapping[str, dt.date | None]
_GOODS = ("goods", "consigned", "tools")
_CUSTOMS = ("duty", "entry fee", "import tax")


def build_bills(  # noqa: PLR0913, PLR0917  what the bills are made from
    memory: Memory,
    purse: Purse,
    product: Product,
    plan: PlanFile,
    costs: Mapping[str, UnitCost],
    days: Mapping[str, _Days],
) -> Iterator[Bill]:
    """Yield the factory's bill for each build: its price of a unit times the units."""
    for index, build in enumerate(plan.build):
        cost = costs.get(build.name)
        if cost is not None:
            assembly = product.assemblies.get(build.sku)
            name = maker_of(build, assembly)
            home = ("plan", plan.plan.id, "build", index)
            firm = product.firms.get(name or "")
            yield memory.of(_factory_bill, purse, build, cost, name, firm, days[build.name], *home)


def _factory_bill(  # noqa: PLR0913, PLR0917  what the bills are made from
    purse: Purse,
    build: Build,
    cost: UnitCost,
    factory: str | None,
    firm: Firm | None,
    days: _Days,
    *home: str | int,
) -> Bill:
    currency = purse.currency_of(firm)
    own = (each for each in cost.contributions if each.element not in (CONSIGNED, *LANDING_ORDER))
    unpriced = any(each.amount is None for each in own)
    qty = Fraction(build.qty)
    return Bill(
        name=f"factory, {build.name}",
        kind="factory",
        payer=purse.own,
        payee=factory or "factory not named",
        amount=None if unpriced else purse.amount_in(currency, cost.factory * qty),
        currency=currency,
        payments=terms_of(firm, build.payment),
        events=days,
        units=((days.get("shipment"), qty),),
        reason=f"{build.qty} {build.sku} at the pooled price of a unit",
        home=home,
    )


def way_bills(  # noqa: PLR0913, PLR0917  what the bills are made from
    memory: Memory,
    purse: Purse,
    product: Product,
    plan: PlanFile,
    costs: Mapping[str, UnitCost],
    days: Mapping[str, _Days],
) -> Iterator[Bill]:
    """Yield freight, duty and import tax of each build."""
    for build in plan.build:
        cost = costs.get(build.name)
        lane = product.lanes.get(build.lane or "")
        if cost is None or cost.landed is None or lane is None:
            continue
        carrier = product.firms.get(lane.carrier or "")
        yield from memory.of(_freight, purse, build, cost, lane, carrier, days[build.name])
        assembly = product.assemblies[build.sku]
        duty = memory.of(_duty, product.head, product.duties, assembly, lane)
        yield from memory.of(_customs, purse, build, cost, lane, duty, days[build.name])


def _duty(head: Head, duties: tuple[Duty, ...], assembly: Assembly, lane: Lane) -> Duty | None:
    return duty_at(Product(head=head, duties=duties, assemblies={assembly.id: assembly}), assembly.id, lane)


def _freight(  # noqa: PLR0913, PLR0917  what the bills are made from
    purse: Purse, build: Build, cost: UnitCost, lane: Lane, carrier: Firm | None, days: _Days
) -> tuple[Bill, ...]:
    landed = cost.landed.elements if cost.landed is not None else ()
    kept = [each for each in landed if each.kind not in (*_GOODS, *_CUSTOMS)]
    if not kept:
        return ()
    currency = lane.currency or purse.currency_of(carrier)
    bill = Bill(
        name=f"way home, {build.name}",
        kind="freight",
        payer=purse.own,
        payee=lane.carrier or "carrier not named",
        amount=purse.amount_in(currency, _sum(kept)),
        currency=currency,
        payments=terms_of(carrier, lane.payment),
        events=days,
        reason=f"{lane.name}: {', '.join(dict.fromkeys(each.name for each in kept))}",
        home=("lane", build.lane or ""),
    )
    return (bill,)


def _customs(  # noqa: PLR0913, PLR0917  what the bills are made from
    purse: Purse, build: Build, cost: UnitCost, lane: Lane, duty: Duty | None, days: _Days
) -> tuple[Bill, ...]:
    return tuple(_entries(purse, build, cost, lane, duty, days.get("entry")))


def _entries(  # noqa: PLR0913, PLR0917  what the bills are made from
    purse: Purse, build: Build, cost: UnitCost, lane: Lane, duty: Duty | None, entry: dt.date | None
) -> Iterator[Bill]:
    landed, home = cost.landed, ("lane", build.lane or "")
    customs = f"customs of {lane.destination or 'customs'}"
    if landed is None:
        return
    kept = [each for each in landed.elements if each.kind in _CUSTOMS]
    if kept:
        yield simple_bill(purse, f"duty, {build.name}", "duty", customs, _sum(kept), entry, home)
    tax = landed.recovered_tax
    if tax is None:
        return
    yield simple_bill(purse, f"import tax, {build.name}", "import tax", customs, tax.amount, entry, home)
    span = duty.import_tax_recovered if duty is not None else None
    back = None if entry is None or span is None else days_after(entry, span)
    name = f"import tax back, {build.name}"
    yield simple_bill(purse, name, "import tax", customs, tax.amount, back, home, incoming=True)


def _sum(elements: Iterable[Element]) -> Fraction | None:
    """Return what elements come to; None where one is not known."""
    total = _ZERO
    for each in elements:
        if each.amount is None:
            return None
        total += each.amount
    return total
