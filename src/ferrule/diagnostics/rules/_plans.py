"""What the plans of a product buy and when, worked out once for all rules that ask."""

from __future__ import annotations

import datetime as dt
import functools
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.ages import is_older
from ferrule.compute.buy import Ask, Bought, BuyRow, OrderLine, buy
from ferrule.compute.calendars import NoSuchDay
from ferrule.compute.covers import jobs_of
from ferrule.compute.outlays import last_day
from ferrule.compute.runs import runs_of
from ferrule.compute.schedule import PlanDates, books_of, schedule
from ferrule.diagnostics.finding import Path, Place
from ferrule.diagnostics.rule import place_of
from ferrule.diagnostics.rules._use import Same
from ferrule.model.exact import shown_amount
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile

__all__ = ["Planned", "money", "place_of_source", "planned", "quantity", "soon"]


class Planned(Struct, frozen=True):
    """A plan that is not over, its purchase list, and its dates (None where a calendar never opens)."""

    file: PlanFile
    bought: Bought
    dates: PlanDates | None


def planned(product: Product, today: dt.date) -> tuple[Planned, ...]:
    """Return the plans that can be worked out, by id; a ring of assemblies forbids all of them."""
    return _planned(Same(product), today)


@functools.lru_cache(maxsize=1)
def _planned(key: Same, today: dt.date) -> tuple[Planned, ...]:
    product = key.product
    found = []
    for _, plan in sorted(product.plans.items()):
        try:
            if not plan.build or last_day(plan.plan) < today:
                continue
            bought = buy(product, runs_of(product, plan), Ask(today=today))
        except OverflowError:  # its days lie beyond the calendar
            continue
        except ValueError:  # a ring: its own rule speaks
            return ()
        found.append(Planned(plan, bought, _dates(product, plan, bought, today)))
    return tuple(found)


def _dates(product: Product, plan: PlanFile, bought: Bought, today: dt.date) -> PlanDates | None:
    try:
        return schedule(jobs_of(product, plan, bought), books_of(product), today)
    except NoSuchDay:
        return None


def soon(product: Product, order: OrderLine, today: dt.date) -> bool:
    """Return whether a quote of today would still count on the order's day: what is later is asked anew."""
    return not is_older(today, product.policy.quote_max_age, order.order_day)


def place_of_source(product: Product, row: BuyRow, order: OrderLine, *path: str | int) -> Place:
    """Return the place of a fact of the source an order goes to; of its name where it is not stated."""
    kind = "part" if row.part in product.parts else "assembly"
    where: Path = ("source", order.quote.index, *path)
    stated = path and getattr(order.quote.source, str(path[0]), None) is None
    return place_of(product, kind, row.part, *where, key=bool(stated))


def money(product: Product, amount: Fraction) -> str:
    """Return an amount in the home currency, in words."""
    return f"{shown_amount(amount, 2)} {product.head.currency}"


def quantity(product: Product, part: str, number: Fraction) -> str:
    """Return a quantity of a part, to three places at most, with its unit where that is not pieces."""
    item = product.item(part)
    unit = "" if item is None or item.unit == "each" else f" {item.unit}"
    return shown_amount(number, 3).rstrip("0").rstrip(".") + unit
