"""Laws of comparison: on generated lines, and on the example product with any one of its facts changed."""

from __future__ import annotations

import datetime as dt
import random
from collections import Counter
from collections.abc import Callable, Hashable, Iterator
from decimal import Decimal
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from builders import TODAY
from ferrule.compute.compare import Comparison, compare
from ferrule.compute.compare_lines import LineChange
from ferrule.compute.fields import Change, Differing, entry_name, written
from ferrule.compute.meaning import IN_ORDER, meaning
from ferrule.load.build import load_product
from ferrule.model.designators import Designators
from ferrule.model.due import Due
from ferrule.model.duration import Duration
from ferrule.model.exchange import Exchange
from ferrule.model.incoterms import Incoterm
from ferrule.model.money import Money
from ferrule.model.natural_keys import keys_of
from ferrule.model.percent import Percent
from ferrule.model.product import Product
from ferrule.model.quantity import Quantity
from ferrule.model.records.about import Record
from ferrule.model.records.assembly import Alternate, Assembly, Effectivity, Line
from ferrule.model.records.part import Part
from ferrule.model.records.product import Head
from ferrule.model.shares import Share
from ferrule.model.value import Value
from ferrule.model.when import When
from ferrule.source.packaged import example_files

pytestmark = pytest.mark.property

DAYS = (TODAY, TODAY)
EXAMPLE = load_product(
    (path, data) for path, data in example_files().items() if path.endswith(".toml")
).product

# --- generated products -------------------------------------------------------------------------------

PARTS = ["P1", "P2", "P3", "P4"]
EFFECTIVE = st.sampled_from(
    [None, Effectivity(to_serial=1500), Effectivity(from_serial=1501), Effectivity(until_used_up=True)]
)
ALTERNATES = st.lists(st.sampled_from(PARTS), max_size=2, unique=True).map(
    lambda parts: tuple(Alternate(part=part, approved=TODAY) for part in sorted(parts))
)
SEEDS = st.integers(0, 10**6).map(random.Random)
LINES = st.builds(
    Line,
    item=st.integers(1, 6).map(lambda number: number * 10),
    part=st.sampled_from(PARTS),
    qty=st.sampled_from(
        [
            None,
            Quantity(Decimal(1)),
            Quantity(Decimal("1.0")),
            Quantity(Decimal(3)),
            Quantity(Decimal(2), "each"),
        ]
    ),
    designators=st.lists(st.sampled_from(["R1", "R2", "R3", "C1"]), min_size=1, max_size=4).map(
        lambda n: Designators(tuple(n))
    )
    | st.none(),
    fitted=st.booleans(),
    attrition=st.sampled_from([None, Percent(Decimal(2))]),
    effective=EFFECTIVE,
    alternates=ALTERNATES,
    step=st.sampled_from([None, "place", "test"]),
)


@st.composite
def products(draw: st.DrawFn) -> Product:
    numbers = draw(st.lists(st.sampled_from(["A", "B", "C"]), unique=True))
    return Product(
        head=Head(id="T", name="Test", currency="EUR", stage="dvt"),
        parts={part: Part(rev=draw(st.sampled_from(["A", "B"]))) for part in PARTS},
        assemblies={number: Assembly(id=number) for number in numbers},
        lines={number: tuple(draw(st.lists(LINES, max_size=7))) for number in numbers},
    )


def patched(record: Record, change: Change, path: tuple[Any, ...]) -> Any:
    """Return the record with one change of its fields carried out."""
    fields = {name: field for field, name in written(type(record)).items()}
    field = fields[path[0]]
    value: Any = getattr(record, field)
    if len(path) == 1:
        value = value if change.sort == "order" else change.after
    elif isinstance(path[1], str):
        value = patched(value, change, path[1:])
    else:
        rest = [entry for entry in value if entry_name(path[0], entry) != path[1]]
        here = [entry for entry in value if entry_name(path[0], entry) == path[1]]
        new = [change.after] if change.after is not None else []
        entries = [*rest, *(new if len(path) == 2 else [patched(here[0], change, path[2:])])]
        value = tuple(sorted(entries, key=lambda entry: entry_name(path[0], entry)))
    made: Record = msgspec.structs.replace(record, **{field: value})
    return made


def applied(lines: tuple[Line, ...], changes: list[LineChange]) -> Counter[Hashable]:
    """Return what lines say once the changes are carried out, order aside."""
    kept = list(lines)
    for change in changes:
        if change.before is not None:
            kept.remove(change.before)
    kept += [change.after for change in changes if change.sign == "added" and change.after is not None]
    for change in changes:
        if change.sign == "changed" and change.before is not None:
            line: Any = change.before
            for fact in change.fields:
                line = patched(line, fact, fact.path)
            names = Counter(line.designators.names if line.designators else ())
            names.subtract(change.lost)
            names.update(change.gained)
            left = tuple(names.elements())
            kept.append(msgspec.structs.replace(line, designators=Designators(left) if left else None))
    return said(kept)


def said(lines: Any) -> Counter[Hashable]:
    return Counter(meaning(msgspec.structs.replace(line, qty=whole(line.qty))) for line in lines)


def whole(qty: Quantity | None) -> Quantity | None:
    """Return the quantity with the unit that a bare one has here: every part is counted by the piece."""
    return None if qty is None else Quantity(qty.number, qty.unit or "each")


@settings(max_examples=200)
@given(products(), products())
def test_changes_of_lines_carried_out_give_the_lines_after(before: Product, after: Product) -> None:
    found = compare(before, after, DAYS).lines
    for assembly in {*before.lines, *after.lines}:
        here = [change for change in found if change.assembly == assembly]
        assert applied(before.lines.get(assembly, ()), here) == said(after.lines.get(assembly, ()))


@settings(max_examples=100)
@given(products(), products())
def test_designators_that_moved_are_lost_there_and_gained_here(before: Product, after: Product) -> None:
    found = compare(before, after, DAYS)
    for assembly in {*before.lines, *after.lines}:
        lost, gained, moved = Counter[str](), Counter[str](), Counter[str]()
        for change in (change for change in found.lines if change.assembly == assembly):
            lost.update(change.lost)
            gained.update(change.gained)
        for move in (move for move in found.moves if move.assembly == assembly):
            moved.update(move.names)
        assert moved == lost & gained


@settings(max_examples=100)
@given(products())
def test_same_is_empty(one: Product) -> None:
    assert compare(one, one, DAYS).is_empty


@settings(max_examples=100)
@given(products(), products(), SEEDS)
def test_order_and_writing_change_nothing(before: Product, after: Product, chance: random.Random) -> None:
    assert compare(before, shuffled(before, chance), DAYS).is_empty
    assert told(compare(shuffled(before, chance), shuffled(after, chance), DAYS)) == told(
        compare(before, after, DAYS)
    )


@settings(max_examples=100)
@given(products(), products())
def test_read_the_other_way_round_it_is_the_same_with_signs_swapped(before: Product, after: Product) -> None:
    there, back = compare(before, after, DAYS), compare(after, before, DAYS)
    assert told(there, turned=True) == told(back)
    assert [(row.number, row.after, row.before) for row in there.supply if row.news] == [
        (row.number, row.before, row.after) for row in back.supply if row.news
    ]
    assert there.reach == back.reach


# --- the example, mutated -----------------------------------------------------------------------------


def told(found: Comparison, *, turned: bool = False) -> Counter[Hashable]:
    """Return every fact a comparison tells, by what it means; ``turned`` swaps before and after."""
    rows: Counter[Hashable] = Counter()
    groups: list[tuple[str, tuple[Differing[Any], ...]]] = [
        ("item", found.items), ("line", found.lines), ("source", found.sources), ("record", found.records), ("waiver", found.waivers),
    ]  # fmt: skip
    for kind, group in groups:
        for one in group:
            rows.update((kind, *fact) for fact in _facts(one, turned=turned))
    for move in found.moves:
        sides = (move.before, move.after)
        rows["move", move.assembly, sides[::-1] if turned else sides, move.names] += 1
    return rows


def _facts(one: Differing[Any], *, turned: bool) -> Iterator[tuple[Hashable, ...]]:
    def pair(before: Any, after: Any) -> tuple[Hashable, Hashable]:
        sides = (meaning(before), meaning(after))
        return sides[::-1] if turned else sides

    yield ("whole", *pair(one.before, one.after))
    for change in one.fields:
        if change.sort == "order":
            yield (
                "order",
                change.path,
                *((change.after, change.before) if turned else (change.before, change.after)),
            )
        else:
            yield (change.path, *pair(change.before, change.after))
    if isinstance(one, LineChange):
        names = (tuple(sorted(one.lost)), tuple(sorted(one.gained)))
        yield names[::-1] if turned else names


def shuffled(value: Any, chance: random.Random) -> Any:
    """Return the same said in another order and in other units."""
    if isinstance(value, Product):
        fields = {
            name: getattr(value, name)
            for name in value.__struct_fields__
            if name not in {"homes", "declared", "digests"}
        }
        return msgspec.structs.replace(
            value, **{name: shuffled(part, chance) for name, part in fields.items()}
        )
    if isinstance(value, Record):
        fields = {name: getattr(value, name) for name in value.__struct_fields__}
        made = {name: part if name in IN_ORDER else shuffled(part, chance) for name, part in fields.items()}
        return msgspec.structs.replace(value, **made)
    if isinstance(value, tuple):
        entries = [shuffled(entry, chance) for entry in value]
        chance.shuffle(entries)
        return tuple(entries)
    if isinstance(value, dict):
        return {key: shuffled(part, chance) for key, part in reversed(value.items())}
    return rewritten(value, chance)


def rewritten(value: Any, chance: random.Random) -> Any:
    if isinstance(value, Quantity) and value.unit == "m":
        return Quantity(value.number * 1000, "mm")
    if isinstance(value, Duration) and value.unit == "weeks":
        return Duration(value.count * 7, "days")
    if isinstance(value, Percent):
        return Percent(value.number * Decimal("1.00"))
    if isinstance(value, Designators):
        return Designators(tuple(chance.sample(value.names, len(value.names))))
    return value


@settings(max_examples=10)
@given(SEEDS)
def test_the_example_in_any_order_and_writing_is_no_change(chance: random.Random) -> None:
    found = compare(EXAMPLE, shuffled(EXAMPLE, chance), DAYS)
    assert told(found) == Counter()
    assert found.is_empty


def leaves(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Yield the path of every stated fact of a product that does not identify the record it stands in."""
    parts = list(_inside(value, path))
    for step, part in parts:
        yield from leaves(part, (*path, step))
    # A list without entries has none that could be another one.
    if not parts and value is not None and value not in ((), {}) and not isinstance(value, Record | Product):
        yield path


def _inside(value: Any, path: tuple[Any, ...]) -> Iterator[tuple[Any, Any]]:
    if isinstance(value, Product):
        yield from (
            (n, getattr(value, n))
            for n in value.__struct_fields__
            if n not in {"homes", "declared", "digests"}
        )
    elif isinstance(value, Record):
        skip = {*_keys(path), *(("id",) if isinstance(value, Assembly | Head) else ())}
        names = written(type(value))
        yield from (
            (field, getattr(value, field)) for field in value.__struct_fields__ if names[field] not in skip
        )
    elif isinstance(value, dict):
        yield from value.items()
    elif isinstance(value, tuple) and value and isinstance(value[0], Record):
        yield from enumerate(value)


#: Field of Product → table, where their names differ.
TABLES = {"duties": "duty", "orders": "order", "movements": "movement", "waivers": "waiver"}


def _keys(path: tuple[Any, ...]) -> tuple[str, ...]:
    """Return the fields that identify an entry at a path in its list; a rate is known by its currencies."""
    if path and path[-2:-1] == ("plan",):
        return ()
    table = next((str(step) for step in reversed(path[:-1]) if isinstance(step, str)), "")
    if path and isinstance(path[-1], int):
        own = {
            "offer": ("incoterm",),
            "expedite": ("lead_time",),
            "cancellation": ("before",),
            "agreement": ("title",),
            "curve": ("week",),
        }
        top = path[0] == "lines" and len(path) == 3
        keys = ("item",) if top else own.get(table) or keys_of(TABLES.get(table, table))
        return () if table == "rates" else keys
    return ()


def other(value: Any) -> Any:
    """Return another value of the same type."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, Value):
        return _other_value(value)
    if isinstance(value, dt.date):
        return value + dt.timedelta(days=1)
    if isinstance(value, int | Decimal):
        return type(value)(value + 1)
    if isinstance(value, tuple):
        return (
            (*value, value[0] if value else "zz")
            if not value or not isinstance(value[0], str)
            else (*value, "zz")
        )
    return [*value, "zz"] if isinstance(value, list) else f"{value}x"


def _other_value(value: Value) -> Value:
    return next(make(value) for kind, make in OTHERS.items() if isinstance(value, kind))


OTHERS: dict[type[Value], Callable[[Any], Value]] = {
    Quantity: lambda v: Quantity(v.number + 1, v.unit),
    Money: lambda v: type(v)(v.number + 1, v.currency),
    Percent: lambda v: Percent(v.number + 1),
    Duration: lambda v: Duration(v.count + 1, v.unit),
    Designators: lambda v: Designators((*v.names, "ZZ99")),
    Incoterm: lambda v: Incoterm(v.rule, v.place + "x"),
    Exchange: lambda v: Exchange(v.of, v.base, v.buys + 1, v.quote),
    Share: lambda v: Share(Percent(Decimal(1) if v.percent is None else v.percent.number + 1)),
    Due: lambda v: Due(v.event + " x", v.month_end, v.lag, v.before),
    When: lambda v: When(day=other(v.day)) if v.day is not None else When(week=v.week + 1),
}


def mutated(value: Any, path: tuple[Any, ...]) -> tuple[Any, Any, Any]:
    """Return a product with the fact at a path changed, the old value and the new one."""
    if not path:
        return other(value), value, other(value)
    step, *rest = path
    if isinstance(value, dict):
        made, old, new = mutated(value[step], tuple(rest))
        return {**value, step: made}, old, new
    if isinstance(value, tuple):
        made, old, new = mutated(value[step], tuple(rest))
        return (*value[:step], made, *value[step + 1 :]), old, new
    made, old, new = mutated(getattr(value, step), tuple(rest))
    return msgspec.structs.replace(value, **{step: made}), old, new


LEAVES = list(leaves(EXAMPLE))


def test_the_example_has_facts_of_every_kind() -> None:
    assert len(LEAVES) > 3000
    assert {"parts", "lines", "firms", "duties", "rates", "tools", "plans", "stock", "waivers"} <= {
        path[0] for path in LEAVES
    }


@settings(max_examples=400)
@given(st.sampled_from(LEAVES))
def test_any_one_fact_that_changes_is_told_once(path: tuple[Any, ...]) -> None:
    product, old, new = mutated(EXAMPLE, path)
    found = compare(EXAMPLE, product, DAYS)
    groups: tuple[tuple[Differing[Any], ...], ...] = (
        found.items,
        found.lines,
        found.sources,
        found.records,
        found.waivers,
    )
    rows = [one for group in groups for one in group]
    assert [one.sign for one in rows] == ["changed"], path
    (row,) = rows
    if isinstance(old, Designators):
        assert isinstance(row, LineChange)
        assert (row.fields, row.gained, row.lost) == ((), ("ZZ99",), ())
        return
    (change,) = row.fields
    assert (change.before, change.after) == (old, new)


@settings(max_examples=100)
@given(st.lists(st.sampled_from(LEAVES), min_size=2, max_size=6, unique=True))
def test_facts_in_different_records_are_told_apart(paths: list[tuple[Any, ...]]) -> None:
    product = EXAMPLE
    for path in paths:
        product = mutated(product, path)[0]
    found = compare(EXAMPLE, product, DAYS)
    groups: tuple[tuple[Differing[Any], ...], ...] = (
        found.items,
        found.lines,
        found.sources,
        found.records,
        found.waivers,
    )
    count = sum(len(one.fields) for group in groups for one in group)
    count += sum(bool(one.gained or one.lost) for one in found.lines)
    assert count == len(paths)
    assert told(found, turned=True) == told(compare(product, EXAMPLE, DAYS))


# --- an independent judge -----------------------------------------------------------------------------


def keyed(value: Any, table: str = "") -> Any:
    """Return plain tables with our keys in place of list indexes, so that a judge without our rules can compare."""
    if isinstance(value, Product):
        kept = [name for name in value.__struct_fields__ if name not in {"homes", "declared", "digests"}]
        return {name: keyed(getattr(value, name), TABLES.get(name, name)) for name in kept}
    if isinstance(value, Record):
        return {name: keyed(getattr(value, name), name) for name in value.__struct_fields__}
    if isinstance(value, dict):
        return {key: keyed(part, table) for key, part in value.items()}
    if isinstance(value, tuple) and value and isinstance(value[0], Record):
        return {f"{entry_name(table, entry)} {index}": keyed(entry) for index, entry in enumerate(value)}
    return str(meaning(value, name=table))


@settings(max_examples=10)
@given(st.lists(st.sampled_from(LEAVES), min_size=1, max_size=4, unique=True))
def test_deepdiff_counts_the_same_facts(paths: list[tuple[Any, ...]]) -> None:
    from deepdiff import DeepDiff

    product = EXAMPLE
    for path in paths:
        product = mutated(product, path)[0]
    found = compare(EXAMPLE, product, DAYS)
    ours = sum(
        len(one.fields)
        for group in (found.items, found.lines, found.sources, found.records, found.waivers)
        for one in group
    ) + sum(bool(one.gained or one.lost) for one in found.lines)
    judged = DeepDiff(keyed(EXAMPLE), keyed(product))
    assert sum(len(group) for group in judged.values()) == ours == len(paths)
    assert DeepDiff(keyed(EXAMPLE), keyed(EXAMPLE)) == {}
