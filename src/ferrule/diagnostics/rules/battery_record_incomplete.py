"""A battery lacks what a carrier asks for.

## What it finds

Cells and batteries inside a SKU (class battery, or with a `battery` table) without test summary, UN number,
hazard class, state-of-charge limit or marks, and test summaries that are named by a path (one with a `/`)
and that the product's folder does not hold. Chemistries other than lithium are asked for nothing.

## Why it matters

Lithium cells and batteries must be of a type proven to pass the tests of the UN Manual of Tests and
Criteria, subsection 38.3, and a test summary must be available. Cargo without it is refused; a wrong cell
can burn. Limits differ by mode, carrier and year of the rules, so they are dated data here.

Ferrule shows whether the facts are recorded. The shipper's trained dangerous-goods person signs. Another
cell maker is a safety change and a transport change.

## Example

Bad:

```toml
[part.PACK]
class = "battery"
battery = { chemistry = "lithium ion", un_number = "UN3481" }
```

Good:

```toml
[part.PACK]
class = "battery"
[part.PACK.battery]
chemistry = "lithium ion"
watt_hours = 18.7
un_number = "UN3481"
hazard_class = "9"
test_summary = "docs/un383.txt"
state_of_charge = "30 %"
marks = ["lithium battery mark"]
```

## How to fix

Ask the maker for the test summary and the pack's facts, and have the person who signs check them.

## Who may accept it

Nobody.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._use import use_of
from ferrule.diagnostics.rules._wording import none_of
from ferrule.model.product import Product
from ferrule.model.records.part import Battery, Item, Part

__all__ = ["RULE"]


_LITHIUM = ("lithium ion", "lithium metal")


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield shipped batteries with what is not recorded."""
    shipped = use_of(product).shipped
    for kind, number, item in sorted(product.items(), key=lambda row: row[1]):
        if number not in shipped or not _is_battery(item):
            continue
        if item.battery is None:
            place = place_of(product, kind, number, "battery", key=True)
            yield Fault(
                message=f'the battery "{number}" has no transport facts',
                place=place,
                hint="add battery = { ... }",
            )
        elif item.battery.chemistry in _LITHIUM:
            yield from _facts(product, (kind, number), item.battery)


def _is_battery(item: Item) -> bool:
    return item.battery is not None or (isinstance(item, Part) and item.class_ == "battery")


def _facts(product: Product, at: tuple[str, str], battery: Battery) -> Iterator[Fault]:
    kind, number = at
    states = {
        "test_summary": battery.test_summary,
        "un_number": battery.un_number,
        "hazard_class": battery.hazard_class,
        "state_of_charge": battery.state_of_charge,
        "marks": battery.marks,
        "watt_hours": battery.watt_hours,
    }
    missing = [key for key, value in states.items() if not value]
    if missing:
        yield Fault(
            message=f'the battery "{number}" states {none_of(missing)}',
            place=place_of(product, kind, number, "battery", missing[0], key=True),
            facts=tuple(missing),
        )
    summary = battery.test_summary
    if summary and "/" in summary and summary not in product.digests:
        place = place_of(product, kind, number, "battery", "test_summary")
        yield Fault(
            message=f'the test summary "{summary}" of "{number}" is not in the product',
            place=place,
            facts=(summary,),
        )


RULE = Rule(check=check, blocks_from="dvt", waivable=False)
