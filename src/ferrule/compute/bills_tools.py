"""Bills of tools: milestones of their own, instalments with each unit made on them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from fractions import Fraction

from ferrule.compute.billing import Bill, BuildEvents, Purse, order_day, terms_of
from ferrule.compute.buy import Bought
from ferrule.compute.memory import Memory
from ferrule.compute.schedule import PlanDates, Strip
from ferrule.model.records.firms import Firm
from ferrule.model.records.tool import Tool

__all__ = ["tool_bills"]

_OWN_KIND = ("certification", "engineering", "set-up")


def tool_bills(  # noqa: PLR0913, PLR0917  what a tool's bill is made from
    memory: Memory,
    purse: Purse,
    tools: Mapping[str, Tool],
    firms: Mapping[str, Firm],
    bought: Bought,
    dates: PlanDates,
    days: BuildEvents,
) -> tuple[Bill, ...]:
    """Return a bill for each tool that costs something."""
    return memory.tuple_of(
        memory.of(_tool_bill, purse, number, tool, firms.get(tool.firm or ""), bought, dates, days)
        for number, tool in sorted(tools.items())
        if tool.amount is None or tool.amount.number
    )


def _tool_bill(  # noqa: PLR0913, PLR0917  what a tool's bill is made from
    purse: Purse,
    number: str,
    tool: Tool,
    firm: Firm | None,
    bought: Bought,
    dates: PlanDates,
    days: BuildEvents,
) -> Bill:
    stated = tool.amount.currency if tool.amount is not None else ""
    return Bill(
        name=f"{number} {tool.name}",
        kind=tool.kind if tool.kind in _OWN_KIND else "tools",
        payer=purse.own,
        payee=tool.firm or "not named",
        amount=None if tool.amount is None else Fraction(tool.amount.number),
        currency=stated or purse.currency_of(firm),
        payments=terms_of(firm, tool.schedule),
        events=_events(number, tool, dates, days),
        units=_shipped(tool.makes, bought, days),
        reason=f"{tool.kind} {tool.name}",
        home=("tool", number, "amount"),
    )


def _shipped(
    made: Iterable[str], bought: Bought, days: BuildEvents
) -> tuple[tuple[dt.date | None, Fraction], ...]:
    """Return the units of the builds that use some parts, by the day they ship."""
    wanted = set(made)
    found = []
    for demand in bought.demands:
        here = {each.assembly for each in demand.made} | {use.part for use in demand.uses}
        if wanted & here:
            found.append((days[demand.run.name].get("shipment"), demand.run.qty))
    return tuple(found)


def _events(number: str, tool: Tool, dates: PlanDates, days: BuildEvents) -> dict[str, dt.date | None]:
    """Return the days of a tool: its order, the end of its first leg, its approval, the first build's days."""
    found = [(build, order) for build in dates.builds for order in build.orders if order.item == number]
    events: dict[str, dt.date | None] = {"order": tool.ordered, "kick-off": tool.ordered}
    events["approval"] = tool.approved
    if found:
        build, order = min(found, key=lambda pair: (pair[1].order_by or dt.date.max, pair[0].build))
        day = tool.ordered or order_day(order.order_by, order.planned)
        legs = [build.strips[index] for index in range(order.order.first, order.order.last + 1)]
        begun = tool.ordered is not None or (order.order_by is not None and order.order_by < build.today)
        ends = [_finish(leg, begun=begun) for leg in legs]
        events |= {"order": day, "kick-off": day, "first shots": ends[0] if ends else None}
        events["approval"] = tool.approved or (ends[-1] if ends else None)
        events["invoice"] = events["receipt"] = events["approval"]
        events |= {name: value for name, value in days[build.build].items() if name not in events}
    return events


def _finish(strip: Strip, *, begun: bool) -> dt.date:
    lies = strip.early if begun or strip.late is None else strip.late
    return lies.finish
