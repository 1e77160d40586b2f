"""`history` in words: the course of each figure, the commits, those that moved a figure most, where one turned."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from fractions import Fraction

from ferrule.compute.conditions import Condition
from ferrule.compute.history import FIGURES, Moment, Mover, Turn, figure, spark
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.wording import CAUTION, counted

__all__ = ["describe_bisect", "describe_history"]

_WORDS = {
    "cost": "unit cost",
    "lead": "days from first order to arrival",
    "trough": "trough",
    "errors": "errors",
    "warnings": "warnings",
}
#: Marks for the course of a figure, lowest first, and those for where only ASCII is written.
_LEVELS, _PLAIN = "\u2581\u2582\u2583\u2584\u2585\u2586\u2587\u2588", "_.-=*#"
_COMMIT = (Column("commit", "commit"), Column("day", "day"), Column("subject", "subject"))


def describe_history(  # noqa: PLR0913  what was asked, what was found, and how it may be drawn
    product: Product,
    asked: tuple[str, str],
    moments: Sequence[Moment],
    movers: Sequence[Mover],
    *,
    today: date,
    older: int = 0,
    shallow: bool = False,
    ascii_only: bool = False,
) -> Document:
    """Return the history of a plan's figures; ``asked`` are the plan and the build."""
    return Document(
        key="history",
        title=f"History of {product.head.name}",
        facts=_facts(product, asked, today),
        tables=tuple(
            table
            for table in (
                _courses(moments, _PLAIN if ascii_only else _LEVELS),
                _commits(moments),
                _movers(movers),
            )
            if table.rows
        ),
        notes=(
            *(("no commit touches the product",) if not moments else ()),
            *((f"{counted(older, 'older commit')} not shown: --last N or --all",) if older else ()),
            *_shallow(shallow),
        ),
        cautions=(CAUTION,),
    )


def describe_bisect(  # noqa: PLR0913  as above
    product: Product,
    asked: tuple[str, str],
    condition: Condition,
    found: Sequence[Turn],
    looked: int,
    *,
    today: date,
    shallow: bool = False,
) -> Document:
    """Return the first commit where a condition holds, and every later one at which that turned."""
    first = next((turn for turn in found if turn.holds), None)
    places = _places(condition.name)
    columns = (
        *_COMMIT,
        Column("turn", condition.written),
        Column("before", "before", "number"),
        Column("after", "after", "number"),
    )
    rows: list[tuple[Cell, ...]] = [
        (
            turn.moment.commit,
            turn.moment.day,
            turn.moment.subject,
            "begins to hold" if turn.holds else "ceases to hold",
            "" if turn.before is None else Amount(turn.before, places),
            Amount(turn.after, places),
        )
        for turn in found
    ]
    answer = f"{first.moment.commit} {first.moment.subject}" if first is not None else "none"
    oldest = first is not None and first.before is None
    return Document(
        key="bisect",
        title=f"First commit of {product.head.name} where {condition.written}",
        facts=(*_facts(product, asked, today), ("commit", answer)),
        tables=(Table(key="turns", columns=columns, rows=rows),) if rows else (),
        notes=(
            f"{counted(looked, 'commit')} looked at, one by one: figures move in steps up and down, so halving would miss some",
            *(("it holds in none of them",) if first is None else ()),
            *(
                ("it holds already in the oldest commit at hand, so it may have begun before",)
                if oldest
                else ()
            ),
            *_shallow(shallow),
        ),
        cautions=(CAUTION,),
    )


def _facts(product: Product, asked: tuple[str, str], today: date) -> tuple[tuple[str, Cell], ...]:
    plan, build = asked
    return (
        ("product", product.head.id),
        ("plan", plan or "none"),
        ("build", build or "none"),
        ("currency", product.head.currency),
        ("all judged on", today.isoformat()),
    )


def _shallow(shallow: bool) -> Iterator[str]:  # noqa: FBT001  a fact of the repository
    if shallow:
        yield (
            "this clone is shallow and holds only part of the history: git fetch --unshallow (in a CI checkout: "
            "fetch-depth: 0)"
        )


def _places(name: str) -> int:
    return 2 if name in ("cost", "trough") else 0


def _courses(moments: Sequence[Moment], levels: str) -> Table:
    columns = (
        Column("figure", "figure"),
        Column("course", "course"),
        Column("first", "first", "number"),
        Column("last", "last", "number"),
        Column("lowest", "lowest", "number"),
        Column("highest", "highest", "number"),
    )
    rows: list[tuple[Cell, ...]] = []
    for name in FIGURES:
        values = [figure(moment, name) for moment in moments]
        known = [value for value in values if value is not None]
        if known:
            sides = (known[0], known[-1], min(known), max(known))
            amounts = (Amount(side, _places(name)) for side in sides)
            rows.append((_WORDS[name], spark(values, levels), *amounts))
    return Table(key="figures", columns=columns, rows=rows)


def _commits(moments: Sequence[Moment]) -> Table:
    columns = (
        *_COMMIT,
        Column("cost", "unit cost", "number"),
        Column("change", "change", "number"),
        Column("lead", "days", "number"),
        Column("trough", "trough", "number"),
        Column("errors", "errors", "number", rank=1),
        Column("warnings", "warnings", "number", rank=2),
        Column("bound", ""),
    )
    rows: list[tuple[Cell, ...]] = []
    before: Fraction | None = None
    for moment in moments:
        change = None if before is None or moment.cost is None else moment.cost - before
        rows.append(
            (
                moment.commit,
                moment.day,
                moment.subject,
                _cell("cost", moment.cost),
                "" if change is None else Amount(change, 4),
                _cell("lead", moment.lead),
                _cell("trough", moment.trough),
                int(moment.errors),
                int(moment.warnings),
                "at least" if moment.bound else "",
            )
        )
        before = moment.cost if moment.cost is not None else before
    return Table(key="commits", title="Commit by commit", columns=columns, rows=rows)


def _cell(name: str, value: Fraction | None) -> Cell:
    return None if value is None else Amount(value, _places(name))


def _movers(movers: Sequence[Mover]) -> Table:
    columns = (
        Column("figure", "figure"),
        *_COMMIT,
        Column("before", "before", "number"),
        Column("after", "after", "number"),
        Column("change", "change", "number"),
    )
    rows: list[tuple[Cell, ...]] = [
        (
            _WORDS[mover.figure],
            mover.moment.commit,
            mover.moment.day,
            mover.moment.subject,
            Amount(mover.before, _places(mover.figure)),
            Amount(mover.after, _places(mover.figure)),
            Amount(mover.change, 4 if mover.figure == "cost" else _places(mover.figure)),
        )
        for mover in movers
    ]
    return Table(key="movers", title="What moved them most", columns=columns, rows=rows)
