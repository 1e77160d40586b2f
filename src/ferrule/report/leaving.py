"""`leave` in words: weeks on the longest way, money, and the list of what only the firm knows."""

from __future__ import annotations

from collections.abc import Callable

from ferrule.compute.leaving import Leaving, Way
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.wording import CAUTION, counted, money

__all__ = ["describe_leaving"]

_LAW = (
    "Who owns a tool depends on the written agreement, local law and language; payment alone is often not enough. "
    "Have counsel on the spot read the papers before you need them."
)

Where = Callable[..., str]


def describe_leaving(product: Product, found: Leaving, label: str, where: Where) -> Document:
    """Return the report on leaving one firm."""
    home = product.head.currency
    bound = "at least " if found.unknown else ""
    facts: tuple[tuple[str, Cell], ...] = (
        ("weeks", _weeks(found, bound)),
        ("money", f"{bound}{money(found.money)} {home}"),
        ("not ours to know", counted(len(found.gaps), "thing") if found.gaps else "nothing missing"),
        ("state", label),
        ("if begun on", found.start.isoformat()),
    )
    name = product.firms[found.firm].name
    notes = [f"Nothing is made at {name}, and it holds no tool of ours."] if not found.ways else []
    if found.unknown:
        notes.append(f"Not known: {'; '.join(found.unknown)}.")
    return Document(
        key="leave",
        title=f"Leaving {name}",
        facts=facts,
        tables=tuple(
            table for table in (_ways(found, where, home), _gaps(found, where)) if table is not None
        ),
        notes=tuple(notes),
        cautions=(_LAW, CAUTION),
    )


def _weeks(found: Leaving, bound: str) -> str:
    last, days = found.longest, found.days
    if last is None or days is None:
        return "not known"
    weeks = -(-days // 7)
    return f"{bound}{weeks}, until {last.finish}: {last.what}"


def _ways(found: Leaving, where: Where, home: str) -> Table | None:
    ways = sorted(
        found.ways, key=lambda way: (way.finish is None, -(way.finish or found.start).toordinal(), way.what)
    )
    rows: list[tuple[Cell, ...]] = [
        (
            way.what,
            ", ".join(f"{name} {time}" for name, time in way.legs),
            "at least" if way.at_least else "",
            way.finish.isoformat() if way.finish is not None else None,
            _days(found, way),
            None if way.money is None else Amount(way.money),
            _remark(way),
            where(*way.record),
        )
        for way in ways
    ]
    columns = (
        Column("what", "what"),
        Column("way", "way"),
        Column("bound", ""),
        Column("done", "done"),
        Column("days", "days", "number"),
        Column("money", f"money, {home}", "number"),
        Column("remark", ""),
        Column("place", "where", rank=1, whole=True),
    )
    title = "What has to be made elsewhere, the longest first"
    return Table(key="ways", title=title, columns=columns, rows=rows) if rows else None


def _remark(way: Way) -> str:
    words = [way.words] if way.words else []
    if way.money_at_least and way.money is not None:
        words.append("money at least")
    return "; ".join(words)


def _days(found: Leaving, way: Way) -> int | None:
    return None if way.finish is None else (way.finish - found.start).days + 1


def _gaps(found: Leaving, where: Where) -> Table | None:
    rows: list[tuple[Cell, ...]] = [(gap.kind, gap.words, where(*gap.record)) for gap in found.gaps]
    columns = (Column("kind", "missing"), Column("what", "of"), Column("place", "where", whole=True))
    title = "What we do not own"
    return Table(key="gaps", title=title, columns=columns, rows=rows) if rows else None
