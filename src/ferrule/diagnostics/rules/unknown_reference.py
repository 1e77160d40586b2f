"""A firm, lane, calendar, tool, step or other record is named that does not exist.

## What it finds

Names of firms, channels, lanes, calendars, roles, tools, steps, builds, scenarios and rules that no file
defines. A line's step is one of its own assembly; the step at which a part is programmed, or before which
a leg must be finished, may be one of any assembly. Part numbers have a rule of their own.

## Why it matters

What a name should lead to (terms, days, a price) is missing from every answer without a word.

## Example

Bad:

```toml
[[part.BOLT.source]]
seller = "norhold"   # the firm is called norholt
```

Good:

```toml
[[part.BOLT.source]]
seller = "norholt"
```

## How to fix

Correct the name, or add the record.

## Who may accept it

Nobody: there is nothing to compute with.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from ferrule.diagnostics.finding import Fault, Path, Place, Related
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._graph import each_line
from ferrule.model.product import Product
from ferrule.model.records.assembly import Effectivity
from ferrule.model.records.part import Item
from ferrule.model.records.plan import PlanFile
from ferrule.model.text import nearest

__all__ = ["RULE"]


class _Mention(Struct, frozen=True):
    """A name of a record of kind ``wanted`` in the record ``kind``, ``number`` at ``path``."""

    wanted: str
    name: str | None
    kind: str
    number: str | int
    path: Path


def _sources(product: Product) -> Iterator[_Mention]:
    for kind, number, item in product.items():
        for i, source in enumerate(item.source):
            yield _Mention("firm", source.maker, kind, number, ("source", i, "maker"))
            yield _Mention("firm", source.seller, kind, number, ("source", i, "seller"))
            yield _Mention("calendar", source.lead_calendar, kind, number, ("source", i, "lead_calendar"))
            for j, leg in enumerate(source.leg):
                yield _Mention("calendar", leg.calendar, kind, number, ("source", i, "leg", j, "calendar"))
            for j, offer in enumerate(source.offer):
                yield _Mention("lane", offer.lane, kind, number, ("source", i, "offer", j, "lane"))
            for j, approval in enumerate(source.approval):
                yield _Mention("role", approval.role, kind, number, ("source", i, "approval", j, "role"))
        yield from _item(kind, number, item)


def _item(kind: str, number: str, item: Item) -> Iterator[_Mention]:
    for j, approval in enumerate(item.approval):
        yield _Mention("role", approval.role, kind, number, ("approval", j, "role"))
    if item.consigned is not None:
        yield _Mention("firm", item.consigned.custodian, kind, number, ("consigned", "custodian"))
    if item.battery is not None:
        yield _Mention("firm", item.battery.cell_maker, kind, number, ("battery", "cell_maker"))


def _assemblies(product: Product) -> Iterator[_Mention]:
    for number, assembly in product.assemblies.items():
        yield _Mention("firm", assembly.factory, "assembly", number, ("factory",))
        yield _Mention("calendar", assembly.calendar, "assembly", number, ("calendar",))
        for i, step in enumerate(assembly.steps):
            yield _Mention("tool", step.fixture, "assembly", number, ("steps", i, "fixture"))
            yield _Mention("firm", step.firm, "assembly", number, ("steps", i, "firm"))
        for channel in assembly.sale:
            yield _Mention("channel", channel, "assembly", number, ("sale", channel))


def _trade(product: Product) -> Iterator[_Mention]:
    for number, firm in product.firms.items():
        yield _Mention("calendar", firm.calendar, "firm", number, ("calendar",))
    for number, channel in product.channels.items():
        yield _Mention("firm", channel.customer, "channel", number, ("customer",))
    for number, lane in product.lanes.items():
        yield _Mention("firm", lane.carrier, "lane", number, ("carrier",))
        for i, leg in enumerate(lane.leg):
            yield _Mention("calendar", leg.calendar, "lane", number, ("leg", i, "calendar"))
    for number, tool in product.tools.items():
        for key, name in (("firm", tool.firm), ("owner", tool.owner), ("custodian", tool.custodian)):
            yield _Mention("firm", name, "tool", number, (key,))
        for i, leg in enumerate(tool.leg):
            yield _Mention("calendar", leg.calendar, "tool", number, ("leg", i, "calendar"))


def _counts(product: Product) -> Iterator[_Mention]:
    for i, stock in enumerate(product.stock):
        yield _Mention("firm", stock.place, "stock", i, ("place",))
    for i, order in enumerate(product.orders):
        yield _Mention("firm", order.seller, "order", i, ("seller",))
        yield _Mention("firm", order.place, "order", i, ("place",))
    for i, movement in enumerate(product.movements):
        yield _Mention("firm", movement.custodian, "movement", i, ("custodian",))
    for i, made in enumerate(product.made):
        yield _Mention("firm", made.factory, "made", i, ("factory",))


def _plans(product: Product) -> Iterator[_Mention]:
    for number, plan in product.plans.items():
        for i, build in enumerate(plan.build):
            yield _Mention("firm", build.factory, "plan", number, ("build", i, "factory"))
            yield _Mention("lane", build.lane, "plan", number, ("build", i, "lane"))
        for i, sales in enumerate(plan.sales):
            yield _Mention("channel", sales.channel, "plan", number, ("sales", i, "channel"))
        for i, funding in enumerate(plan.funding):
            yield _Mention("firm", funding.payer, "plan", number, ("funding", i, "payer"))
        for i, loan in enumerate(plan.loan):
            yield _Mention("firm", loan.lender, "plan", number, ("loan", i, "lender"))
        for i, one_off in enumerate(plan.one_off):
            yield _Mention("firm", one_off.payee, "plan", number, ("one_off", i, "payee"))
        for name, lever in plan.lever.items():
            yield _Mention("firm", lever.with_, "plan", number, ("lever", name, "with"))


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield every name that leads nowhere."""
    for gather in (_sources, _assemblies, _trade, _counts, _plans):
        for mention in gather(product):
            if mention.name is None or product.knows(mention.wanted, mention.name):
                continue
            known = sorted(str(number) for kind, number in product.homes if kind == mention.wanted)
            yield _fault(product, mention, known)
    for number, plan in product.plans.items():
        yield from _within_plan(product, number, plan)
    yield from _builds(product)
    yield from _steps(product)
    yield from _steps_anywhere(product)
    yield from _rules(product)


def _fault(product: Product, mention: _Mention, known: list[str]) -> Fault:
    best = nearest(mention.name or "", known)
    related: tuple[Related, ...] = ()
    if best and (mention.wanted, best) in product.homes:
        home = product.homes[mention.wanted, best]
        related = (
            Related(place=Place(file=home.file, path=home.path, on="key"), note=f"{best} is defined here"),
        )
    return Fault(
        message=f'no {mention.wanted} is called "{mention.name}"',
        place=place_of(product, mention.kind, mention.number, *mention.path),
        related=related,
        hint=f'did you mean "{best}"?' if best else f"add [{mention.wanted}.{mention.name}]",
        facts=(mention.wanted, mention.name or ""),
    )


def _within_plan(product: Product, number: str, plan: PlanFile) -> Iterator[Fault]:
    """Yield names of builds and scenarios that this plan does not have; not where part of it is unreadable."""
    if number in product.declared.get("plan", ()):
        return
    builds = [build.name for build in plan.build]
    for i, sales in enumerate(plan.sales):
        if sales.build is not None and sales.build not in builds:
            yield _local(product, ("plan", number, ("sales", i, "build")), "build", sales.build, builds)
    for name, scenario in plan.scenario.items():
        base = scenario.base
        if base is not None and base != "as-agreed" and base not in plan.scenario:
            yield _local(
                product, ("plan", number, ("scenario", name, "base")), "scenario", base, list(plan.scenario)
            )


def _builds(product: Product) -> Iterator[Fault]:
    """Yield names of builds that no plan has, where a record may speak of any plan."""
    if product.declared.get("plan"):
        return
    builds = sorted({build.name for plan in product.plans.values() for build in plan.build})
    for kind, number, path, name in _build_mentions(product):
        if name not in builds:
            yield _local(product, (kind, number, path), "build", name, builds)


def _build_mentions(product: Product) -> Iterator[tuple[str, str | int, Path, str]]:
    for assembly, index, line in each_line(product):
        limited: list[tuple[Path, Effectivity | None]] = [(("line", index, "effective"), line.effective)]
        limited += [
            (("line", index, "alternates", i, "effective"), alternate.effective)
            for i, alternate in enumerate(line.alternates)
        ]
        for path, limits in limited:
            for i, name in enumerate(limits.builds if limits is not None else ()):
                yield "assembly", assembly, (*path, "builds", i), name
    for i, made in enumerate(product.made):
        if made.build is not None:
            yield "made", i, ("build",), made.build


def _steps(product: Product) -> Iterator[Fault]:
    for assembly, lines in product.lines.items():
        if assembly in product.declared.get("assembly", ()):
            continue
        names = [step.name for step in product.assemblies[assembly].steps]
        for i, line in enumerate(lines):
            if line.step is not None and line.step not in names:
                yield _local(product, ("assembly", assembly, ("line", i, "step")), "step", line.step, names)


def _steps_anywhere(product: Product) -> Iterator[Fault]:
    """Yield names of steps that no assembly has, where a record may speak of any assembly."""
    if product.declared.get("assembly"):
        return
    steps = sorted({step.name for assembly in product.assemblies.values() for step in assembly.steps})
    for kind, number, path, name in _step_mentions(product):
        if name is not None and name not in steps:
            yield _local(product, (kind, number, path), "step", name, steps)


def _step_mentions(product: Product) -> Iterator[tuple[str, str | int, Path, str | None]]:
    for number, part in product.parts.items():
        if part.programmed is not None:
            yield "part", number, ("programmed", "at"), part.programmed.at
            yield "part", number, ("programmed", "blank_until"), part.programmed.blank_until
    for kind, number, item in product.items():
        for i, source in enumerate(item.source):
            for j, leg in enumerate(source.leg):
                yield kind, number, ("source", i, "leg", j, "step"), leg.step
    for number, tool in product.tools.items():
        yield from (("tool", number, ("leg", j, "step"), leg.step) for j, leg in enumerate(tool.leg))


def _rules(product: Product) -> Iterator[Fault]:
    from ferrule.diagnostics.registry import all_rules  # noqa: PLC0415  the registry imports this module

    for name in product.severities:
        if name not in all_rules():
            yield _local(product, ("rule", name, ()), "rule", name, list(all_rules()))


def _local(
    product: Product, at: tuple[str, str | int, Path], wanted: str, name: str, known: list[str]
) -> Fault:
    best = nearest(name, known)
    listed = f"known here: {', '.join(known)}" if known else ""
    return Fault(
        message=f'no {wanted} is called "{name}"',
        place=place_of(product, at[0], at[1], *at[2], key=not at[2]),
        hint=f'did you mean "{best}"?' if best else listed,
        facts=(wanted, name),
    )


RULE = Rule(check=check, waivable=False)
