"""What a unit leaves in each channel, and how many of them pay for what a plan spends whatever it sells."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from fractions import Fraction

from ferrule.compute.cost import UnitCost
from ferrule.compute.economics import Breakeven
from ferrule.compute.margin import ChannelMargin
from ferrule.model.product import Product
from ferrule.report.cost_elements import amount_cell, unless_nothing
from ferrule.report.document import Amount, Cell, Column, Table
from ferrule.report.wording import counted, money, quantity

__all__ = ["breakeven", "channels"]

_ZERO = Fraction(0)


def channels(product: Product, margins: Sequence[ChannelMargin], cost: UnitCost) -> Table:
    """Return what a unit leaves in each channel, beside revenue less landed cost."""
    rows = []
    for margin in margins:
        spent = [margin.returned, margin.return_cost, margin.warranty, margin.chargebacks]
        known = sum((each or _ZERO for each in spent), _ZERO)
        rows.append(
            (
                margin.channel,
                amount_cell(margin.list_price),
                amount_cell(margin.revenue),
                amount_cell(margin.fees),
                unless_nothing(cost.total, cost, 2),
                amount_cell(margin.delivery),
                Amount(known),
                "at most" if margin.at_most else "",
                amount_cell(margin.margin),
                amount_cell(margin.naive),
            )
        )
    notes = [f"{margin.channel}: {margin.naive_words}" for margin in margins if margin.naive_words]
    notes += [f"{margin.channel}, not known: {words}" for margin in margins for words in margin.unknown]
    notes += [
        f"{margin.channel} takes full cartons only: {quantity(Fraction(cost.load.part_units))} of the run fill none"
        for margin in margins
        if product.channels[margin.channel].cartons_only and cost.load.part_units
    ]
    return Table(
        key="channels",
        title=f"What a unit leaves, at {cost.ask.name}",
        columns=(
            Column("channel", "channel"),
            Column("list_price", "list", "number", rank=4),
            Column("revenue", "revenue", "number"),
            Column("fees", "fees", "number", rank=1),
            Column("landed", "landed", "number"),
            Column("delivery", "delivery", "number", rank=2),
            Column("returns_warranty", "after sale", "number", rank=3),
            Column("bound", ""),
            Column("margin", "margin", "number"),
            Column("naive", "naive", "number"),
        ),
        rows=rows,
        notes=tuple(notes),
    )


def breakeven(even: Breakeven, home: str) -> Table:
    """Return the quantity that pays for the plan beside the naive one, each with its formula."""
    rows = (
        _even_row(even, "blended contribution", home, naive=False),
        _even_row(even, "revenue less landed cost (naive)", home, naive=True),
    )
    sold = f"the plan sells {counted(even.units, 'unit')} in its mix of channels"
    return Table(
        key="breakeven",
        title="Breakeven of the plan: what is spent whatever it sells, over what a unit leaves",
        columns=(
            Column("by", "by"),
            Column("formula", "formula"),
            Column("spent", "spent", "number", in_text=False),
            Column("spent_bound", "", in_text=False),
            Column("left", "a unit leaves", "number", in_text=False),
            Column("left_bound", "", in_text=False),
            Column("bound", ""),
            Column("quantity", "units", "number"),
            Column("week", "week", in_text=False),
            Column("reached", "reached"),
        ),
        rows=rows,
        notes=(sold, *(f"left out of the breakeven: {words}" for words in even.unknown)),
    )


def _even_row(even: Breakeven, words: str, home: str, *, naive: bool) -> tuple[Cell, ...]:
    left = even.naive if naive else even.contribution
    qty, week = (even.naive_quantity, even.naive_week) if naive else (even.quantity, even.week)
    most = "at most" if (even.naive_at_most if naive else even.contribution_at_most) else ""
    least = "at least" if (even.naive_at_least if naive else even.at_least) else ""
    spent_least = "at least" if even.fixed_at_least else ""
    spent = f"{spent_least} {money(even.fixed)} {home}".strip()
    over = "what is not known" if left is None else f"{most} {money(left)} {home} a unit".strip()
    return (
        words,
        f"{spent} / {over}",
        Amount(even.fixed),
        spent_least,
        amount_cell(left),
        most,
        least if qty is not None else "",
        "never"
        if left is not None and qty is None
        else amount_cell(None if qty is None else Fraction(qty), 0),
        "" if week is None else week.isoformat(),
        _reached(left, qty, week, " at the earliest" if least else ""),
    )


def _reached(left: Fraction | None, qty: int | None, week: dt.date | None, earliest: str) -> str:
    if left is None:
        return "not known"
    if qty is None:
        return "a unit leaves nothing"
    return "not within the plan" if week is None else f"week of {week}{earliest}"
