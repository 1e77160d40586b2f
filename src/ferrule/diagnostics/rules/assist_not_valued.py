"""What we give to the making of imported goods is not in their value.

## What it finds

Moulds, dies, fixtures, stencils, programming jigs and gauges that we pay, that stand at a firm abroad (the
custodian, else the firm that is paid) and that make something inside a SKU, without a word on whether they
are an `assist`. A firm is abroad if its country is not that of the firm with the role `us`, countries being
compared as written; where one of the two is not stated nothing can be decided.

Items inside a SKU that we send to the factory and that are valued at nothing; and free issue without a
value for customs (`customs_value`) and without a price. Products made at home only are left aside.

A consigned part without unit value is a matter of the rule `custody-record-incomplete`, a tool without
amount of `tool-record-incomplete`, and a free-issue part that could be bought of `source-missing` and
`price-missing`.

## Why it matters

Duty is due on the price paid and on what the buyer supplied free or cheap: tools, chips, some design work
(in the USA 19 CFR 152.102; alike elsewhere). Leaving these assists out is the commonest way to declare too
little, and it can come back years later with a penalty.

Ferrule adds up what is stated. What counts as an assist, and how it is spread over the units, is a matter
for a customs adviser.

## Example

Bad:

```toml
[tool.T-001]
name = "Mould, housing"
kind = "mould"
amount = "27500 USD"
owner = "wrenfield"
custodian = "saltreed"      # abroad
```

Good:

```toml
[tool.T-001]
name = "Mould, housing"
kind = "mould"
amount = "27500 USD"
owner = "wrenfield"
custodian = "saltreed"
amortise_over = 12000
assist = true
```

## How to fix

Say `assist = true`, or `assist = false` where an adviser found that it is none. State what a part would cost
in `consigned = { value = ... }` or `customs_value`.

## Who may accept it

Whoever answers for customs. Usual exception: an adviser's written opinion.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._home import our_countries
from ferrule.diagnostics.rules._prices import price_lists
from ferrule.diagnostics.rules._shipping import builds
from ferrule.diagnostics.rules._use import approved, bought, supplies, use_of
from ferrule.model.product import Product
from ferrule.model.records.assembly import Assembly
from ferrule.model.records.firms import Firm
from ferrule.model.records.part import Item, Part
from ferrule.model.records.tool import Tool

__all__ = ["RULE"]

_KINDS = ("mould", "die", "fixture", "stencil", "programming jig", "gauge")
_CONTENT = ("firmware", "document")


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield items sent without a value, then tools that do not say whether they are assists."""
    if not _made_at_home(product):
        yield from _items(product)
    for number, tool in sorted(product.tools.items()):
        name = tool.custodian or tool.firm or ""
        holder = product.firms.get(name)
        if holder is not None and _open(product, tool) and _is_abroad(product, holder):
            yield _silent_tool(product, number, tool, (name, holder))


def _made_at_home(product: Product) -> bool:
    """Return whether every factory named stands in our country, so that nothing finished is imported."""
    names = {assembly.factory for assembly in product.assemblies.values()}
    names |= {step.firm for assembly in product.assemblies.values() for step in assembly.steps}
    names |= {build.factory for _, _, build in builds(product)}
    factories = [product.firms[name] for name in names if name and name in product.firms]
    return bool(factories) and not any(_is_abroad(product, factory) for factory in factories)


def _is_abroad(product: Product, firm: Firm) -> bool:
    return "us" not in firm.roles and firm.country not in our_countries(product)


def _items(product: Product) -> Iterator[Fault]:
    asked = {number for _, number, _ in bought(product)}
    for kind, number, item in sorted(product.items(), key=lambda row: row[1]):
        if number not in use_of(product).shipped or (isinstance(item, Part) and item.class_ in _CONTENT):
            continue
        modes = supplies(product, number)
        mode = next((mode for mode in ("consigned", "free-issue") if mode in modes), None)
        own = item.consigned.value if item.consigned is not None else None
        if mode is None or (mode == "consigned" and own is None):
            continue
        values = [value for value in (own, item.customs_value) if value is not None]
        if values and not any(value.number for value in values):
            key = "consigned" if own is not None else "customs_value"
            yield Fault(
                message=f'the {mode} {kind} "{number}" is valued at nothing',
                place=place_of(product, kind, number, key, *(("value",) if own is not None else ())),
                hint="state what it would cost to buy or make it",
            )
        elif not values and number not in asked and not _has_price(item):
            yield Fault(
                message=f'the {mode} {kind} "{number}" has no value for customs',
                place=place_of(product, kind, number, "customs_value", key=True),
                hint='add customs_value = "2.90 USD", what it would cost to buy or make it',
            )


def _has_price(item: Item) -> bool:
    if isinstance(item, Assembly) and item.price is not None and item.price.tier:
        return True
    return any(prices.breaks for _, source in approved(item) for prices in price_lists(source))


def _open(product: Product, tool: Tool) -> bool:
    """Return whether a tool that we pay makes something of a SKU and leaves open whether it is an assist."""
    paid = tool.amount is not None and bool(tool.amount.number)
    used = not tool.makes or not use_of(product).shipped.isdisjoint(tool.makes)
    return tool.assist is None and tool.kind in _KINDS and paid and used


def _silent_tool(product: Product, number: str, tool: Tool, holder: tuple[str, Firm]) -> Fault:
    name, firm = holder
    words = f"{name} ({firm.country or 'country not stated'})"
    return Fault(
        message=f'the {tool.kind} "{number}" stands at {words}, and nothing says whether it is an assist',
        place=place_of(product, "tool", number, "assist", key=True),
        hint="add assist = true; assist = false only where a customs adviser found that it is none",
        facts=(name,),
        undecided=firm.country is None or not our_countries(product),
    )


RULE = Rule(check=check, blocks_from="pvt")
