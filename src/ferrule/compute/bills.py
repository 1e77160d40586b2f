"""Every document of a plan that becomes money: who pays whom, how much, on which events, and why.

Amounts come from the purchase list, the unit cost and the schedule, never typed twice; terms decide only when
they are paid. What is not known stays in the list, so that the balance can say what it leaves out.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from ferrule.compute.billing import Bill, BuildEvents, Purse
from ferrule.compute.bills_builds import build_bills, way_bills
from ferrule.compute.bills_outlays import funding_bills, loan_fee_bills, one_off_bills, overhead_bills
from ferrule.compute.bills_purchases import leftover_bills, open_order_bills, purchase_bills
from ferrule.compute.bills_tools import tool_bills
from ferrule.compute.buy import Bought
from ferrule.compute.cost import UnitCost
from ferrule.compute.memory import Memory
from ferrule.compute.owners import Book
from ferrule.compute.schedule import PlanDates
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile

__all__ = ["Facts", "bills_of"]


class Facts(Struct, frozen=True, kw_only=True):
    """What a plan's bills are made from: purchases (stock netted), the cost of each build's unit, dates.

    ``days`` are those of each build that terms can name.
    """

    product: Product
    plan: PlanFile
    purse: Purse
    book: Book
    bought: Bought
    costs: Mapping[str, UnitCost]
    dates: PlanDates
    days: BuildEvents


def bills_of(facts: Facts, memory: Memory) -> tuple[tuple[Bill, ...], ...]:
    """Return all bills of a plan but its sales, group by group: tools, purchases, builds, ways home, the rest.

    A group of which nothing changed since ``memory`` was last asked is the very same object. Raises NoSuchDay.
    """
    of, product, plan, purse = memory.of, facts.product, facts.plan, facts.purse
    firms, items, bought = product.firms, (product.parts, product.assemblies), facts.bought
    first = facts.days.get(plan.build[0].name) if plan.build else None
    builds = (memory, purse, product, plan, facts.costs, facts.days)
    return (
        of(tool_bills, memory, purse, product.tools, firms, bought, facts.dates, facts.days),
        of(purchase_bills, memory, purse, bought, *items, firms, facts.book),
        of(leftover_bills, memory, purse, bought, firms),
        of(open_order_bills, purse, product.orders, *items, firms),
        memory.tuple_of(build_bills(*builds)),
        memory.tuple_of(way_bills(*builds)),
        of(overhead_bills, purse, plan.plan, plan.overhead),
        of(one_off_bills, purse, plan.plan, plan.one_off, first, firms),
        of(loan_fee_bills, purse, plan.plan, plan.loan, firms),
        of(funding_bills, purse, plan.plan, plan.funding, product.conventions),
    )
