"""Between two lines of one item there are units without either.

## What it finds

Items whose lines follow one another by serial or by day and leave a hole between the end of one and the
start of the next, and effectivities (of lines and of alternates) that end before they begin.

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

from ferrule.diagnostics.finding import Fault, Place, Related
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
        whose = f"item {line.item} of {assembly}"
        if line.effective is not None:
            items.setdefault((assembly, line.item), []).append(index)
            yield from _reversed(line.effective, whose, line_place(product, assembly, index, "effective"))
        for i, alternate in enumerate(line.alternates):
            if alternate.effective is not None:
                place = line_place(product, assembly, index, "alternates", i, "effective")
                yield from _reversed(
                    alternate.effective, f'the alternate "{alternate.part}" of {whose}', place
                )
    for (assembly, _item), indexes in items.items():
        for read, words in ((_by_serial, _serial), (_by_day, _day)):
            limits = [(product.lines[assembly][i].effective or Effectivity(), i) for i in indexes]
            ranges = [(read(each), i) for each, i in limits if read(each) != (None, None) or not each.builds]
            yield from _holes(product, assembly, ranges, words)


def _reversed(limits: Effectivity, whose: str, place: Place) -> Iterator[Fault]:
    for span, words in ((_by_serial(limits), _serial), (_by_day(limits), _day)):
        if _is_reversed(span):
            low, high = (words(end) for end in span if end is not None)
            yield Fault(message=f"{whose} ends at {high}, before it begins at {low}", place=place)


def _is_reversed(span: _Range) -> bool:
    low, high = span
    return low is not None and high is not None and low > high


def _holes(
    product: Product, assembly: str, ranges: list[tuple[_Range, int]], words: Callable[[int], str]
) -> Iterator[Fault]:
    if not ranges or any(span == (None, None) or _is_reversed(span) for span, _ in ranges):
        return  # a line limited in another way may fill the hole, or nobody can say what a line holds for
    ordered = sorted(ranges, key=lambda row: (row[0][0] is not None, row[0][0] or 0))
    (_, reached), before = ordered[0]
    for (low, high), index in ordered[1:]:
        if reached is None:
            return
        if low is not None and low > reached + 1:
            item = product.lines[assembly][index].item
            yield Fault(
                message=f"item {item} of {assembly} has nothing between {words(reached)} and {words(low)}",
                place=line_place(product, assembly, index, "effective"),
                related=(
                    Related(place=line_place(product, assembly, before, "effective"), note="the one before"),
                ),
                facts=(str(reached), str(low)),
            )
        if high is None or high > reached:
            reached, before = high, index


RULE = Rule(check=check, blocks_from="pvt", waivable=False)
