"""`limits` in words: the largest build that can be paid, and how far each fact may move before something breaks."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from ferrule.compute.limits import Mark
from ferrule.compute.limits_answer import Limits, Solved
from ferrule.compute.limits_build import BuildLimit
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.picture import Curve, Floor, Line
from ferrule.report.wording import CAUTION, FINANCE, money, plan_title, quantity

__all__ = ["describe_limits"]

_ZERO = Fraction(0)


def describe_limits(found: Limits, label: str) -> Document:
    """Return the largest build with its working, and every other fact with its limit."""
    home = found.product.head.currency
    tables = [_facts_table(found)]
    if found.build is not None:
        tables = [
            _stops(found.build),
            *tables,
            _edge(found.build),
            _gaps(found.build),
            _working(found, found.build),
        ]
    return Document(
        key="limits",
        title=_title(found),
        facts=(
            ("plan", f"{found.cash.plan}, {plan_title(found.product, found.cash.plan)}"),
            ("scenario", found.cash.scenario),
            ("state", label),
            ("currency", home),
            ("opening", Amount(found.cash.ledger.opening) if found.cash.opening_known else None),
            ("floor", "none stated" if found.cash.floor is None else Amount(found.cash.floor)),
            *_build_facts(found.build),
        ),
        tables=tuple(table for table in tables if table.rows),
        notes=tuple(_notes(found)),
        cautions=(FINANCE, CAUTION),
        pictures=(_needed(found, found.build, home),) if found.build is not None else (),
    )


def _build_facts(build: BuildLimit | None) -> Iterator[tuple[str, Cell]]:
    """Yield the largest build with the limit that binds and the next one."""
    if build is None:
        return
    yield "largest build", build.most
    yield "binding limit", f"{build.stops[0].name}: {build.stops[0].words}"
    after = build.stops[1]
    words = f"{after.name}, {after.most or 'none'}: {after.words}"
    yield "next limit", f"none up to {build.ceiling:,}" if after.beyond else words


# --- the answer first ---------------------------------------------------------------------------------


def _title(found: Limits) -> str:
    if found.build is not None:
        return _build_title(found.build)
    if len(found.solved) == 1:
        return _fact_title(found.solved[0])
    broken = dict.fromkeys(each.binds for each in found.solved if _is_broken(each))
    if broken:
        return f"Not kept as it stands: {', '.join(broken)}"
    return f"What must be true: {plan_title(found.product, found.cash.plan)}"


def _is_broken(each: Solved) -> bool:
    """Return whether today's value of a fact is too much already."""
    return not each.why and (each.value is None or (each.room is not None and each.room < 0))


def _build_title(build: BuildLimit) -> str:
    stop = build.stops[0]
    name = f"{build.build} ({build.planned:,} planned)"
    why = stop.words if stop.name == "cash" else f"limited by {stop.name}"
    if build.most is None:
        return f"No quantity of {name} can be paid: {why}"
    if stop.beyond:
        return f"Up to {build.ceiling:,} of {name} can be paid and made; no more was tried"
    return f"Build at most {build.most:,} of {name}: {why}"


def _fact_title(each: Solved) -> str:
    if each.why:
        return f"{each.subject}: not solved, {each.why}"
    if each.value is None:
        return f"{each.subject}: no value tried keeps {each.binds}"
    if each.beyond:
        return f"{each.subject}: {each.value} and more; nothing breaks in what was tried"
    return f"{each.subject}: {each.value} at {_most(each)}, today {each.today}; then {each.binds} breaks"


def _most(each: Solved) -> str:
    return {"kick-off": "the latest", "opening": "least", "yield": "worst", "sell-through": "least"}.get(
        each.name, "most"
    )


# --- facts --------------------------------------------------------------------------------------------


def _facts_table(found: Limits) -> Table:
    columns = (
        Column("name", "name", rank=3),
        Column("subject", "what"),
        Column("today", "today"),
        Column("limit", "limit"),
        Column("room", "room", "number"),
        Column("unit", "in", rank=2),
        Column("binds", "what binds there"),
        Column("left", "left today", "number", rank=4),
        Column("left_unit", "in", rank=4),
        Column("next", "the next", rank=5),
        Column("next_limit", "at", rank=5),
    )
    return Table(
        key="unknowns",
        title="How far each may go",
        columns=columns,
        rows=[_row(each) for each in found.solved],
    )


def _row(each: Solved) -> tuple[Cell, ...]:
    if each.why:
        return (each.name, each.subject, each.today, "not solved", "", "", each.why, "", "", "", "")
    left = each.left
    return (
        each.name,
        each.subject,
        each.today,
        _limit_words(each),
        "" if each.room is None else Amount(each.room, 2, trim=True),
        "" if each.room is None else each.unit,
        each.binds or "nothing in what was tried",
        "" if left is None else Amount(left.room, 2, trim=left.unit == "days"),
        "" if left is None else left.unit,
        each.following,
        each.following_value or "",
    )


def _limit_words(each: Solved) -> str:
    if each.value is None:
        return "none"
    return f"beyond {each.value}" if each.beyond else each.value


# --- the build ----------------------------------------------------------------------------------------


def _stops(build: BuildLimit) -> Table:
    columns = (
        Column("limit", "limit"),
        Column("most", "most", "number"),
        Column("reason", "why"),
    )
    rows = [
        (
            stop.name,
            "none" if stop.most is None else stop.most,
            f"beyond: {stop.words}" if stop.beyond else stop.words,
        )
        for stop in build.stops
    ]
    return Table(
        key="build", title=f"How many of {build.build}, the tightest limit first", columns=columns, rows=rows
    )


def _edge(build: BuildLimit) -> Table:
    """Return the planned quantity, the largest that can be paid and the next one, side by side."""
    columns = (
        Column("quantity", "quantity", "number"),
        Column("needed", "needed at the start", "number"),
        Column("left", "left above the floor", "number"),
        Column("week", "week", "number"),
        Column("mark", ""),
    )
    marked: dict[int, list[str]] = {}
    for rung, words in ((build.largest, "the largest that can be paid"), (build.after, "the next")):
        if rung is not None:
            marked.setdefault(rung.qty, []).append(words)
    below = [rung for rung in build.rungs if rung.qty <= build.planned]
    if below:
        words = (
            "as planned"
            if below[-1].qty == build.planned
            else f"the last below the {build.planned:,} planned"
        )
        marked.setdefault(below[-1].qty, []).append(words)
    rows = [
        (rung.qty, Amount(rung.needed), Amount(rung.over), rung.week, "; ".join(marked[rung.qty]))
        for rung in build.rungs
        if rung.qty in marked
    ]
    notes = [f"{part} takes {money(rise)} more in the next quantity" for part, rise in build.causes[:3]]
    return Table(key="edge", title="At the edge", columns=columns, rows=rows, notes=tuple(notes))


def _gaps(build: BuildLimit) -> Table:
    columns = (
        Column("from", "from", "number"),
        Column("to", "to", "number"),
        Column("needed_from", "needed at the first", "number"),
        Column("needed_to", "needed at the last", "number"),
        Column("lacks", "lacks at the last", "number"),
    )
    rows = [
        (
            gap.first.qty,
            gap.last.qty,
            Amount(gap.first.needed),
            Amount(gap.last.needed),
            Amount(-gap.last.over),
        )
        for gap in build.gaps
    ]
    return Table(key="gaps", title="Smaller quantities that cannot be paid", columns=columns, rows=rows)


def _working(found: Limits, build: BuildLimit) -> Table:
    """Return what comes and goes until the lowest week at the largest quantity, down to the floor."""
    rung = build.largest or build.rungs[0]
    columns = (Column("kind", "what comes off"), Column("amount", "amount", "number"))
    rows: list[tuple[Cell, ...]] = [("opening", Amount(found.cash.ledger.opening))]
    rows += [(kind, Amount(amount)) for kind, amount in rung.kinds]
    if found.cash.floor is not None:
        rows.append(("floor to keep", Amount(-found.cash.floor)))
    rows.append(("left", Amount(rung.over)))
    title = f"Until the lowest week, with {rung.qty:,} built"
    return Table(key="working", title=title, columns=columns, rows=rows)


def _needed(found: Limits, build: BuildLimit, home: str) -> Curve:
    points = tuple((Fraction(rung.qty), rung.needed) for rung in build.rungs)
    return Curve(
        title=f"Money needed at the start for each quantity of {build.build}",
        description="A step line of the opening cash that keeps every week at the floor, with the opening cash there is.",
        unit_x=f"units of {build.build}",
        unit_y=home,
        lines=(Line("", points),),
        floor=Floor(found.cash.ledger.opening, "opening cash"),
    )


# --- notes --------------------------------------------------------------------------------------------


def _notes(found: Limits) -> Iterator[str]:
    yield from (f"not kept as it stands: {mark.words}, by {_by(mark)}" for mark in found.broken)
    build = found.build
    if build is not None:
        yield (
            f"every {build.step:,} units from {build.rungs[0].qty:,} to {build.ceiling:,} were bought for the "
            "least cash, costed and paid; its sales are cut where they exceed what is built"
        )
    if found.no_build:
        yield f"the largest build is not solved: {found.no_build}"
    for each in found.solved:
        if each.scanned:
            yield f"{each.subject}: tried value by value from today's, for the money does not only rise or fall with it"
        if each.again:
            yield f"{each.subject}: values beyond the limit were seen that keep {each.binds} again"
    yield from (f"margin at most, not known in full: {words}" for words in found.unjudged)
    yield from (f"not known, in no week: {words}" for words in found.cash.unknown)
    if found.cash.unknown:
        yield "with that unknown, each limit is one at best"
    if not found.cash.opening_known:
        yield "the plan states no opening cash: it counts as zero"


def _by(mark: Mark) -> str:
    if mark.unit == "days":
        return f"{quantity(-mark.room)} days"
    return f"{money(-mark.room)} {mark.unit}"
