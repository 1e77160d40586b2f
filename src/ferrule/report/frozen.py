"""`freeze` and `verify` in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ferrule.compute.lock_diff import Difference
from ferrule.compute.lock_form import Lock
from ferrule.report.document import Cell, Column, Document, Table

__all__ = ["CAUTION", "describe_all_verified", "describe_freeze", "describe_verified", "signature_words"]

CAUTION = (
    "A frozen build shows what was recorded and that it was not altered; it does not show that the record is "
    "right. How long technical files must be kept is for a qualified person to say."
)


def signature_words(signature: str, unproven: str) -> str:
    """Return what is known of a tag's signature."""
    if not signature:
        return "none"
    return f"{signature}, not vouched for here: {unproven}" if unproven else f"{signature}, good"


def describe_freeze(  # noqa: PLR0913  what a freeze is, in the order shown
    title: str,
    lock: Lock,
    *,
    tag: str,
    file: str,
    commit: str,
    lock_sha256: str,
    signature: str,
    counts: tuple[int, int],
    notes: Iterable[str],
) -> Document:
    """Return what was frozen; ``counts`` are warnings and waived findings that do not stand in the way."""
    facts: list[tuple[str, Cell]] = [
        ("build", lock.name),
        ("tag", tag),
        ("lock", file),
        ("commit", commit),
        ("signature", signature),
        ("supersedes", lock.supersedes or "none"),
        ("stage", lock.stage),
        ("day", str(lock.day)),
        ("warnings", counts[0]),
        ("waived", counts[1]),
    ]
    rows: list[tuple[Cell, ...]] = [
        ("source files", len(lock.file), lock.hashes.sources),
        ("documents", len(lock.document), lock.hashes.documents),
        ("parts in the expanded list", len(lock.part), lock.hashes.list_),
        ("assemblies", len(lock.assembly), ""),
        ("tools", len(lock.tool), ""),
        ("waivers in force", len(lock.waiver), ""),
        ("the lock itself", 1, lock_sha256),
    ]
    columns = (
        Column("what", "frozen"),
        Column("count", "count", "number"),
        Column("sha256", "SHA-256", rank=1),
    )
    return Document(
        key="freeze",
        title=title,
        facts=tuple(fact for fact in facts if fact[1] != ""),
        tables=(Table(key="frozen", columns=columns, rows=rows),),
        notes=tuple(notes),
        cautions=(CAUTION,),
    )


def _table(key: str, title: str, differences: Sequence[Difference], locked: str) -> Table:
    rows = [(each.where, each.locked or "not stated", each.now or "not there") for each in differences]
    columns = (Column("where", "where"), Column("locked", locked), Column("now", "found"))
    return Table(key=key, title=title, columns=columns, rows=rows)


def describe_verified(  # noqa: PLR0913  what verifying gave, in the order shown
    name: str,
    lock: Lock | None,
    *,
    tag: str,
    commit: str,
    tagger: str,
    signature: str,
    differences: Sequence[Difference],
    moved_on: Sequence[Difference],
    notes: Sequence[str] = (),
) -> Document:
    """Return whether a frozen build is what was frozen, with the first and every difference."""
    facts: list[tuple[str, Cell]] = [
        ("result", "altered" if differences else "unaltered"),
        ("tag", tag),
        ("commit", commit),
        ("frozen by", tagger or "not known"),
        ("signature", signature),
    ]
    if lock is not None:
        facts += [
            ("stage", lock.stage),
            ("day", str(lock.day)),
            ("checked by", f"Ferrule {lock.ferrule}, {lock.rules}"),
        ]
        facts += [("format", lock.format)]
    tables = []
    if differences:
        facts.insert(1, ("first difference", differences[0].where))
        tables.append(_table("differences", "Differences", differences, "locked"))
    elif lock is not None:
        counted = f"{len(lock.file)} files, {len(lock.document)} documents, {len(lock.part)} parts"
        notes = (f"computed again from its commit, byte for byte: {counted}", *notes)
    if moved_on:
        tables.append(
            _table("moved_on", "Documents with another content on the disk today", moved_on, "frozen")
        )
    return Document(
        key="verify",
        title=f"Frozen build {name}: {'ALTERED' if differences else 'unaltered'}",
        facts=tuple(facts),
        tables=tuple(tables),
        notes=tuple(notes),
        cautions=(CAUTION,),
    )


def describe_all_verified(rows: Sequence[tuple[Cell, ...]]) -> Document:
    """Return one row for each frozen build: name, day, commit, signature, what it supersedes, differences, the first."""
    columns = (
        Column("name", "build"),
        Column("day", "day"),
        Column("commit", "commit"),
        Column("signature", "signature"),
        Column("supersedes", "supersedes"),
        Column("differences", "differences", "number"),
        Column("first", "the first"),
    )
    altered = sum(1 for row in rows if row[5])
    counted = "1 frozen build" if len(rows) == 1 else f"{len(rows)} frozen builds"
    verdict = "all unaltered" if not altered else f"{altered} ALTERED"
    return Document(
        key="verify_all",
        title=f"{counted}, {verdict}",
        tables=(Table(key="builds", columns=columns, rows=list(rows)),),
        notes=("`ferrule verify NAME` shows every difference of one",) if altered else (),
        cautions=(CAUTION,),
    )
