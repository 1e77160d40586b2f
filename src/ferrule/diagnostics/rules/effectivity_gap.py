"""Between two lines of one item there are units without either.

## What it finds

Items whose lines follow one another by serial or by day and leave a hole between the end of one and the
start of the next, and effectivities that end before they begin.

## Why it matters

The units in the hole have no part at that place.

## Example

Bad:

```toml
[[line]]
item = 10
part = "OLD"
qty = 1
effective = { to_serial = 1500 }

[[line]]
item = 10
part = "NEW"
qty = 1
effective = { from_serial = 1601 }
```

Good:

```toml
[[line]]
item = 10
part = "OLD"
qty = 1
effective = { to_serial = 1500 }

[[line]]
item = 10
part = "NEW"
qty = 1
effective = { from_serial = 1501 }
```

## How to fix

Let the next line begin where the one before it ends, a day or a serial later.

## Who may accept it

Nobody.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from itertools import pairwise

from ferrule.diagnostics.finding import Fault, Related
from ferrule.diagnostics.rule import Rule, Setting
from ferrule.diagnostics.rules._graph import each_line, line_place
from ferrule.model.product import Product
from ferrule.model.records.assembly import Effectivity

__all__ = ["RULE"]

_Range = tuple[int | None, int | None]


def _by_serial(limits: Effectivity) -> _Range:
    return limits.from_serial, limits.to_serial


def _by_day(limits: Effectivity) -> _Range:
    low, high = limits.from_, limits.to
    return (low.toordinal() if low else None, high.toordinal() if high else None)


def _serial(number: int) -> str:
    return f"serial {number}"


def _day(number: int) -> str:
    return dt.date.fromordinal(number).isoformat()


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield reversed ranges, then holes between neighbours, by serial and by day."""
    items: dict[tuple[str, int], list[int]] = {}
    for assembly, index, line in each_line(product):
        if line.effective is None:
            continue
        items.setdefault((assembly, line.item), []).append(index)
        for (low, high), words in ((_by_serial(line.effective), _serial), (_by_day(line.effective), _day)):
            if low is not None and high is not None and low > high:
                message = (
                    f"item {line.item} of {assembly} ends at {words(high)}, before it begins at {words(low)}"
                )
                yield Fault(message=message, place=line_place(product, assembly, index, "effective"))
    for (assembly, _item), indexes in items.items():
        for read, words in ((_by_serial, _serial), (_by_day, _day)):
            ranges = [(read(product.lines[assembly][i].effective or Effectivity()), i) for i in indexes]
            yield from _holes(product, assembly, ranges, words)


def _holes(
    product: Product, assembly: str, ranges: list[tuple[_Range, int]], words: Callable[[int], str]
) -> Iterator[Fault]:
    known = [(span, index) for span, index in ranges if span != (None, None)]
    ordered = sorted(known, key=lambda row: (row[0][0] is not None, row[0][0] or 0))
    for ((_, high), first), ((low, _), second) in pairwise(ordered):
        if high is None or low is None or low <= high + 1:
            continue
        item = product.lines[assembly][first].item
        yield Fault(
            message=f"item {item} of {assembly} has nothing between {words(high)} and {words(low)}",
            place=line_place(product, assembly, second, "effective"),
            related=(
                Related(place=line_place(product, assembly, first, "effective"), note="the one before"),
            ),
            facts=(str(high), str(low)),
        )


RULE = Rule(check=check, blocks_from="pvt", waivable=False)
