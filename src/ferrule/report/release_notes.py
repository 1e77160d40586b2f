"""Release notes: a frozen build against an earlier one, with its builds, serial numbers and waivers in force."""

from __future__ import annotations

from msgspec import structs

from ferrule.compute.lock_form import Lock, LockedWaiver
from ferrule.report.document import Amount, Cell, Column, Document, Table

__all__ = ["describe_release"]


def describe_release(changes: Document, before: Lock, after: Lock, commits: tuple[str, str]) -> Document:
    """Return release notes made of the report on what changed; ``commits`` are the tagged ones."""
    facts: tuple[tuple[str, Cell], ...] = (
        ("product", f"{after.product} {after.product_name}"),
        ("from", f"{before.name}, frozen for {before.day.isoformat()} ({commits[0]})"),
        ("to", f"{after.name}, frozen for {after.day.isoformat()} ({commits[1]})"),
        ("stage", after.stage if before.stage == after.stage else f"{before.stage}, now {after.stage}"),
        ("checked by", f"Ferrule {after.ferrule}, rule set {after.rules}"),
    )
    held = tuple(table for table in (_builds(after), _waivers(after)) if table.rows)
    return structs.replace(
        changes,
        key="notes",
        title=f"Release notes {after.name}",
        facts=facts,
        tables=(*changes.tables, *held),
    )


def _builds(lock: Lock) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (name, build.sku, Amount(build.qty, 3, trim=True), build.factory, build.serials or "none given out")
        for name, build in sorted(lock.build.items())
    ]
    columns = (
        Column("build", "build"),
        Column("sku", "SKU"),
        Column("qty", "units", "number"),
        Column("factory", "factory"),
        Column("serials", "serial numbers"),
    )
    return Table(key="builds", title="Builds it was frozen for", columns=columns, rows=rows)


def _waivers(lock: Lock) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (waiver.kind, waiver.rule, waiver.subject, waiver.reason, _limit(waiver), waiver.accepted_by)
        for waiver in lock.waiver
    ]
    columns = (
        Column("kind", "kind"),
        Column("rule", "rule"),
        Column("subject", "of"),
        Column("reason", "reason"),
        Column("limit", "holds"),
        Column("accepted_by", "accepted by"),
    )
    return Table(key="waivers_in_force", title="Waivers in force", columns=columns, rows=rows)


def _limit(waiver: LockedWaiver) -> str:
    limits = [
        f"until {waiver.until.isoformat()}" if waiver.until is not None else "",
        f"for {waiver.quantity} units" if waiver.quantity is not None else "",
        f"for serials {waiver.serials}" if waiver.serials else "",
        f"renewed {waiver.renewals} times" if waiver.renewals else "",
    ]
    return ", ".join(limit for limit in limits if limit)
