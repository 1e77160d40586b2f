"""What a frozen build holds, table by table: the record itself, for whoever audits it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from ferrule.compute.lock_form import Lock, LockedApproval, LockedDocument
from ferrule.report.document import Cell, Column, Document, Table
from ferrule.report.frozen import CAUTION

__all__ = ["SHOWN", "describe_locked"]

Rows = Iterable[tuple[Cell, ...]]
#: One-off costs that lie nowhere.
_NO_THINGS = ("certification", "engineering", "set-up")


def describe_locked(lock: Lock, what: str, label: str) -> Document:
    """Return one table of a frozen build by its name in SHOWN."""
    title, columns, rows = SHOWN[what]
    found = list(rows(lock))
    return Document(
        key=f"locked_{what}",
        title=f"Frozen build {lock.name}: {title}",
        facts=(("day", str(lock.day)), ("stage", lock.stage), ("tag", label)),
        tables=(Table(key=what, columns=columns, rows=found),),
        cautions=(CAUTION,),
    )


def _parts(lock: Lock) -> Iterator[tuple[Cell, ...]]:
    for number, part in lock.part.items():
        for each in part.each:
            bound = "at least" if each.at_least else ""
            yield number, part.rev, part.name or None, each.sku, bound, each.qty, part.unit


def _sources(lock: Lock) -> Iterator[tuple[Cell, ...]]:
    for number, part in lock.part.items():
        for source in part.source:
            use = "chosen" if source.chosen else source.status
            until = str(source.valid_until) if source.valid_until is not None else None
            price = "; ".join(f"{row.each or row.pack + ' a pack'} from {row.from_}" for row in source.price)
            yield (
                number,
                use,
                source.maker or None,
                source.maker_part,
                source.seller or None,
                source.quote,
                until,
                price,
            )


def _documents(lock: Lock) -> Iterator[tuple[Cell, ...]]:
    of: dict[str, list[tuple[str, str, str]]] = {}
    records = [(number, part.document) for number, part in lock.part.items()]
    records += [(number, assembly.document) for number, assembly in lock.assembly.items()]
    records += [(number, tool.document) for number, tool in lock.tool.items()]
    for number, papers in records:
        for row in papers:
            of.setdefault(row.file, []).append((number, row.kind, row.rev))
    for path, digest in lock.document.items():
        uses = of.get(path, [])
        yield (
            path,
            uses[0][1] if uses else "",
            uses[0][2] if uses else "",
            ", ".join(use[0] for use in uses),
            digest or None,
        )


def _approvals(lock: Lock) -> Iterator[tuple[Cell, ...]]:
    for number, part in lock.part.items():
        yield from _given(number, "part", part.approval)
        for source in part.source:
            yield from _given(
                number, f"source {source.maker or '?'} from {source.seller or '?'}", source.approval
            )
        yield from _papers(number, part.document)
    for number, assembly in lock.assembly.items():
        yield from _given(number, "assembly", assembly.approval)
        yield from _papers(number, assembly.document)
    for waiver in lock.waiver:
        day = str(waiver.accepted) if waiver.accepted is not None else None
        yield (
            waiver.subject,
            f"{waiver.kind} of {waiver.rule}",
            waiver.accepted_by or None,
            day,
            "",
            waiver.reason,
        )


def _given(number: str, what: str, approvals: Iterable[LockedApproval]) -> Iterator[tuple[Cell, ...]]:
    for row in approvals:
        yield number, what, row.by, str(row.date), row.role, row.evidence


def _papers(number: str, documents: Iterable[LockedDocument]) -> Iterator[tuple[Cell, ...]]:
    for row in documents:
        if row.approved_by:
            day = str(row.approved) if row.approved is not None else None
            yield number, f"{row.kind} {row.rev}".rstrip(), row.approved_by, day, "", row.file


def _waivers(lock: Lock) -> Iterator[tuple[Cell, ...]]:
    for row in lock.waiver:
        limits = [f"until {row.until}"] if row.until is not None else []
        limits += [f"{row.quantity} units"] if row.quantity is not None else []
        limits += [f"serials {row.serials}"] if row.serials else []
        yield (
            row.rule,
            row.subject,
            row.kind,
            ", ".join(limits),
            row.renewals,
            row.risk_owner or None,
            row.corrective_action or None,
        )


def _tools(lock: Lock) -> Iterator[tuple[Cell, ...]]:
    for number, tool in lock.tool.items():
        shots = f"{tool.used or '?'} of {tool.life}" if tool.life is not None else ""
        unsaid = "" if tool.kind in _NO_THINGS else None
        yield number, tool.name, tool.custodian or unsaid, tool.owner or unsaid, tool.mark, shots


#: Table → its title, columns and rows.
SHOWN: dict[str, tuple[str, tuple[Column, ...], Callable[[Lock], Rows]]] = {
    "parts": (
        "the expanded list",
        (
            Column("part", "part"),
            Column("rev", "rev"),
            Column("name", "name", rank=1),
            Column("sku", "in one"),
            Column("bound", ""),
            Column("quantity", "quantity", "number"),
            Column("unit", "unit"),
        ),
        _parts,
    ),
    "sources": (
        "sources and quotes in force",
        (
            Column("part", "part"),
            Column("use", "use"),
            Column("maker", "maker"),
            Column("maker_part", "maker's number", rank=2),
            Column("seller", "seller"),
            Column("quote", "quote"),
            Column("valid_until", "until"),
            Column("prices", "prices", rank=1),
        ),
        _sources,
    ),
    "documents": (
        "documents and programs by content",
        (
            Column("file", "file"),
            Column("kind", "kind"),
            Column("rev", "rev"),
            Column("of", "of", rank=1),
            Column("sha256", "SHA-256", rank=2),
        ),
        _documents,
    ),
    "approvals": (
        "what was approved, by whom, on which evidence",
        (
            Column("number", "of"),
            Column("what", "what"),
            Column("by", "by"),
            Column("date", "day"),
            Column("role", "as"),
            Column("evidence", "rests on"),
        ),
        _approvals,
    ),
    "waivers": (
        "waivers and deviations in force",
        (
            Column("rule", "rule"),
            Column("subject", "about"),
            Column("kind", "kind"),
            Column("limit", "limit"),
            Column("renewals", "renewals", "number"),
            Column("risk_owner", "risk owner"),
            Column("corrective_action", "ends by", rank=1),
        ),
        _waivers,
    ),
    "tools": (
        "tools and their condition",
        (
            Column("tool", "tool"),
            Column("name", "name"),
            Column("custodian", "lies with"),
            Column("owner", "owner"),
            Column("mark", "mark", rank=1),
            Column("shots", "shots"),
        ),
        _tools,
    ),
}
