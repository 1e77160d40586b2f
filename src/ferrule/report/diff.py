"""`diff` in words: what changed between two revisions, in the order in which a reviewer asks.

Lines, parts, sources and supply, other records, effects in money and days, compliance, reach, documents,
approvals and waivers, cash, totals. A section without rows is left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from ferrule.compute.compare import Comparison
from ferrule.compute.compare_approvals import Need, needs
from ferrule.compute.compare_evidence import EvidenceChange
from ferrule.compute.compare_questions import Question
from ferrule.compute.compare_waivers import WaiverChange
from ferrule.compute.fields import Differing, Sign
from ferrule.model.percent import Percent
from ferrule.model.product import Product
from ferrule.report.change_words import change_sides, path_words, value_words
from ferrule.report.diff_records import CHANGE, SIDES, SIGNS, Row, content_tables, name_of, signed, sources_of
from ferrule.report.document import Column, Document, Table
from ferrule.report.wording import CAUTION, counted, listed

__all__ = ["SIGNS", "describe_diff"]


def describe_diff(
    found: Comparison,
    sides: tuple[str, str],
    effects: Sequence[Table] = (),
    notes: Sequence[str] = (),
    gate: Table | None = None,
) -> Document:
    """Return what changed from one revision to another; ``sides`` are their names.

    ``effects`` are tables of what it does to cost, dates and stock, in their order; those whose key starts
    with ``cash`` stand last before the gate and the totals.
    """
    cash = [table for table in effects if table.key.startswith("cash")]
    other = [table for table in effects if not table.key.startswith("cash")]
    last = (gate, _totals(found)) if gate is not None else (_totals(found),)
    tables = (*content_tables(found), *other, *_consequences(found), *cash, *last)
    nothing = ("nothing changed",) if found.is_empty else ()
    return Document(
        key="diff",
        title=f"Changes of {found.after.head.name}",
        facts=(("product", found.after.head.id), ("from", sides[0]), ("to", sides[1])),
        tables=tuple(table for table in tables if table.rows),
        notes=(*nothing, *_hidden(found), *notes),
        cautions=(CAUTION,) if effects or found.safety or found.evidence or found.duties else (),
    )


def _consequences(found: Comparison) -> Iterator[Table]:
    """Yield what follows for compliance, for what is above, for papers and for whoever approves."""
    yield from (_safety(found), _evidence(found), _duties(found), _questions(found))
    yield from (_reach(found), _documents(found), _approvals(found), _waivers(found))


# --- what follows --------------------------------------------------------------------------------------


def _safety(found: Comparison) -> Table:
    columns = (
        Column("number", "number"),
        Column("name", "name", rank=1),
        Column("before", "critical before"),
        Column("after", "after"),
        Column("where", "touched in"),
        Column("reason", "why it is critical", rank=2),
    )
    rows: list[Row] = [
        (
            row.number,
            name_of(found, row.number),
            "" if row.before is None else value_words(row.before),
            "" if row.after is None else value_words(row.after),
            ", ".join(row.where),
            row.reason,
        )
        for row in found.safety
    ]
    return Table(key="safety", title="Safety-critical items touched", columns=columns, rows=rows)


def _evidence(found: Comparison) -> Table:
    columns = (
        *CHANGE,
        Column("number", "number"),
        Column("source", "", rank=1),
        *SIDES,
    )
    return Table(
        key="evidence", title="Evidence", columns=columns, rows=[_evidence_row(row) for row in found.evidence]
    )


def _evidence_row(row: EvidenceChange) -> Row:
    signs: dict[str, Sign] = {"lost": "removed", "new": "added", "touched": "changed"}
    source = " from ".join(word for word in row.source if word)
    words = path_words(row.change.path)
    return (*signed(signs[row.state], row.state), row.number, source, words, *change_sides(row.change))


def _duties(found: Comparison) -> Table:
    columns = (
        Column("number", "number"),
        Column("destination", "into"),
        Column("code", "tariff number"),
        Column("origins_before", "origin before"),
        Column("origins_after", "after"),
        Column("rates_before", "duty before"),
        Column("rates_after", "after"),
    )
    rows: list[Row] = [
        (
            row.number,
            row.destination,
            " / ".join(dict.fromkeys(code or "?" for code in row.codes)),
            *(", ".join(origins) for origins in row.origins),
            *(_rates(rates) for rates in row.rates),
        )
        for row in found.duties
    ]
    return Table(key="duty_by_origin", title="Duty changed by origin", columns=columns, rows=rows)


def _rates(rates: Iterable[Percent | None]) -> str:
    return ", ".join("?" if rate is None else str(rate) for rate in rates)


def _questions(found: Comparison) -> Table:
    columns = (Column("kind", "about"), Column("subject", "of"), Column("question", "to be answered"))
    rows: list[Row] = [(one.kind, one.subject, _question(one)) for one in found.questions]
    return Table(key="questions", title="Questions", columns=columns, rows=rows)


def _question(one: Question) -> str:
    facts = listed([path_words((fact,)) for fact in one.facts])
    names = listed(one.facts)
    return {
        "form-fit-function": f"content changed ({facts}) under the same number and revision: can old and new be mixed"
        " in every use? If so raise the revision, else give a new number",
        "interchange": f"it replaces {names}: can both be mixed, both ways or new for old only? `interchange` does not say",
        "certificate": f"does it still hold? Inside changed: {names}",
        "battery tests": f"the cell changed ({facts}) and the test summary is the old one: must it be tested again?",
        "safety approval": f"touched in {names}, approvals as before: do they still hold?",
        "market": "a new market: which evidence does it ask for?",
    }[one.kind]


def _reach(found: Comparison) -> Table:
    columns = (
        Column("number", "number"),
        Column("name", "name", rank=1),
        Column("kind", "kind"),
        Column("affected", "affected"),
    )
    groups = (
        ("SKU", "affected", found.reach.skus),
        ("SKU", "not affected", found.reach.untouched_skus if found.reach.touched else ()),
        ("assembly", "affected", found.reach.assemblies),
    )
    rows: list[Row] = [
        (number, name_of(found, number), kind, affected)
        for kind, affected, group in groups
        for number in group
    ]
    return Table(key="reach", title="Where it is used", columns=columns, rows=rows)


def _documents(found: Comparison) -> Table:
    columns = (
        Column("file", "file"),
        Column("content", "content"),
        Column("of", "of"),
        Column("before", "before", in_text=False),
        Column("after", "after", in_text=False),
    )
    rows: list[Row] = [
        (
            row.file,
            "is gone" if row.after is None else "is there now" if row.before is None else "changed",
            ", ".join(f"{kind} {number}" for kind, number in row.owners),
            row.before or "",
            row.after or "",
        )
        for row in found.documents
    ]
    return Table(key="documents", title="Documents", columns=columns, rows=rows)


def _approvals(found: Comparison) -> Table:
    columns = (
        Column("kind", "kind of change"),
        Column("roles", "approved by"),
        Column("subjects", "because of"),
    )
    rows: list[Row] = [
        (need.kind, _people(found.after, need), ", ".join(need.subjects))
        for need in needs(found.after, found.kinds)
    ]
    return Table(key="approvals", title="Approvals this content needs", columns=columns, rows=rows)


def _people(product: Product, need: Need) -> str:
    if not need.roles:
        return "no role approves this"
    roles = [(name, product.roles[name].people) for name in need.roles]
    return "; ".join(f"{name} ({', '.join(people)})" if people else name for name, people in roles)


def _waivers(found: Comparison) -> Table:
    columns = (
        Column("sign", "", rank=1),
        Column("change", "change"),
        Column("rule", "rule"),
        Column("subject", "subject"),
        Column("until", "until"),
        Column("renewals", "renewals", "number"),
        Column("reason", "reason", rank=2),
    )
    return Table(
        key="waivers", title="Waivers", columns=columns, rows=[_waiver_row(row) for row in found.waivers]
    )


def _waiver_row(row: WaiverChange) -> Row:
    waiver = row.record
    limits = [str(limit) for limit in (waiver.until, waiver.serials) if limit is not None]
    limits += [f"{waiver.quantity} units"] if waiver.quantity is not None else []
    until = ", ".join(limits) or None
    return (
        *signed(row.sign, ", ".join(row.events)),
        waiver.rule,
        waiver.subject,
        until,
        waiver.renewals,
        waiver.reason,
    )


# --- totals --------------------------------------------------------------------------------------------


def _totals(found: Comparison) -> Table:
    columns = (
        Column("what", "what"),
        Column("added", "+ added", "number"),
        Column("removed", "\u2212 removed", "number"),
        Column("changed", "~ changed", "number"),
    )
    groups: tuple[tuple[str, Sequence[Differing[Any]]], ...] = (
        ("lines", found.lines),
        ("parts and assemblies", found.items),
        ("sources", [*found.sources, *sources_of(found.items)]),
        ("other records", found.records),
        ("waivers", found.waivers),
    )
    rows: list[Row] = [(what, *_count(changes)) for what, changes in groups if changes]
    if found.documents:
        states = [(row.before is None, row.after is None) for row in found.documents]
        rows.append(
            (
                "documents",
                states.count((True, False)),
                states.count((False, True)),
                states.count((False, False)),
            )
        )
    return Table(key="totals", title="Totals", columns=columns, rows=rows)


def _count(changes: Iterable[Differing[Any]]) -> tuple[int, int, int]:
    signs = [change.sign for change in changes]
    return signs.count("added"), signs.count("removed"), signs.count("changed")


def _hidden(found: Comparison) -> Iterator[str]:
    """Yield what is not shown because it is no change."""
    hidden = found.hidden
    if hidden.moved:
        yield f"{counted(len(hidden.moved), 'record')} moved to other files: no change"
    if hidden.reordered:
        yield f"lines of {counted(hidden.reordered, 'assembly', 'assemblies')} in another order: no change"
    if hidden.rewritten:
        yield f"{counted(hidden.rewritten, 'record')} written differently with the same meaning: no change"
