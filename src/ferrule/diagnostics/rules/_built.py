"""What the plans of a product build, for rules about everything that goes into a build."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from ferrule.compute.explode import explode
from ferrule.compute.outlays import last_day
from ferrule.compute.structure import Context, structure_of
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile

__all__ = ["built_items"]


def built_items(product: Product, today: dt.date) -> Mapping[str, tuple[str, ...]]:
    """Return what is below each SKU that a plan not yet over builds, by SKU; nothing where assemblies form a ring."""
    structure = structure_of(product, Context(day=today))
    if structure.order is None:
        return {}
    built = {
        build.sku
        for plan in product.plans.values()
        if not _is_over(plan, today)
        for build in plan.build
        if build.sku in product.assemblies
    }
    return {sku: tuple(explode(product, structure, sku).quantities) for sku in sorted(built)}


def _is_over(plan: PlanFile, today: dt.date) -> bool:
    try:
        return last_day(plan.plan) < today
    except OverflowError:  # its days lie beyond the calendar
        return False
