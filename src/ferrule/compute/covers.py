"""From a purchase list to the builds to be dated: which parts need no order, and where the others are bought."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from msgspec.structs import replace

from ferrule.compute.activities import Cover, Job
from ferrule.compute.buy import Bought, BuyRow
from ferrule.compute.demand import us
from ferrule.compute.leads import Kind
from ferrule.compute.netting import Stores, Supplies, net_after
from ferrule.model.product import Product
from ferrule.model.records.counts import OpenOrder
from ferrule.model.records.plan import PlanFile

__all__ = ["chosen_of", "covers_of", "jobs_of"]


def jobs_of(product: Product, plan: PlanFile, bought: Bought, kind: Kind = "worst") -> tuple[Job, ...]:
    """Return the builds of a plan that a purchase list is about, in the plan's order, ready to be dated."""
    demands = {demand.run.name: demand for demand in bought.demands}
    covers, chosen = covers_of(product, bought), chosen_of(bought)
    return tuple(
        Job(
            product=product,
            plan=plan,
            build=build,
            demand=demands[build.name],
            kind=kind,
            chosen=chosen,
            covers=covers.get(build.name, {}),
        )
        for build in plan.build
        if build.name in demands
    )


def chosen_of(bought: Bought) -> dict[str, tuple[int, ...]]:
    """Return the indexes of the sources each part is ordered from."""
    found: dict[str, list[int]] = {}
    for row in bought.rows:
        for order in row.orders:
            kept = found.setdefault(row.part, [])
            if order.quote.index not in kept:
                kept.append(order.quote.index)
    return {part: tuple(indexes) for part, indexes in found.items()}


def covers_of(product: Product, bought: Bought) -> dict[str, dict[str, Cover]]:
    """Return by build the parts that stock or open orders cover in full, for every buyer of the part.

    Stock serves first, then receipts by their promised day; the last receipt a build needs is its cover.
    """
    found: dict[str, dict[str, Cover | None]] = {}
    stores, own = Stores(product), us(product)
    buyers: dict[str, list[str]] = {}
    for row in bought.rows:
        if row.buyer is not None:
            buyers.setdefault(row.part, []).append(row.buyer)
    for row in bought.rows:
        supplies = Supplies()
        if row.buyer is not None:
            supplies = stores.supplies(row.part, row.buyer, own, buyers[row.part])
        for name, cover in _of_row(row, supplies).items():
            known = found.setdefault(name, {})
            known[row.part] = _both(known[row.part], cover) if row.part in known else cover
    return {
        name: {part: cover for part, cover in covers.items() if cover is not None}
        for name, covers in found.items()
    }


def _of_row(row: BuyRow, supplies: Supplies) -> Mapping[str, Cover | None]:
    """Return what covers the need of each build, None where it is not covered: as few receipts as it takes."""
    covers: dict[str, Cover | None] = {name: None for name, _ in row.wanted}
    if row.buyer is None:
        return covers
    dated = sorted(
        (pair for pair in supplies.orders if pair[1].due is not None),
        key=lambda pair: (_due(pair[1]), pair[0]),
    )
    wanted = [each for _, each in row.wanted]
    open_ = [name for (name, _), net in zip(row.wanted, row.netted.nets, strict=True) if not net]
    for count in range(len(dated) + 1):
        if not open_:
            break
        netted, _ = net_after(row.before, wanted, replace(supplies, orders=tuple(dated[:count])))
        served = {name for (name, _), net in zip(row.wanted, netted.nets, strict=True) if not net}
        for name in served.intersection(open_):
            covers[name] = _cover(dated[count - 1][1]) if count else Cover()
        open_ = [name for name in open_ if name not in served]
    return covers


def _cover(order: OpenOrder) -> Cover:
    return Cover(due=order.due, ordered=order.ordered, order=order.id)


def _both(one: Cover | None, other: Cover | None) -> Cover | None:
    """Return the cover of a part that two buyers need: the later of both, none if one has none."""
    if one is None or other is None:
        return None
    return max(one, other, key=lambda cover: cover.due or dt.date.min)


def _due(order: OpenOrder) -> dt.date:
    return order.due or dt.date.max
