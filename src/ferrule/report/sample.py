"""`sample` in words: how many to inspect, what is refused, what the plan lets pass, and the verdict."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from ferrule.compute.lot_plan import LotPlan, Precedence
from ferrule.compute.sampling import SamplePlan, Verdict, chance_of_acceptance, curve
from ferrule.report.document import Amount, Cell, Column, Document, Share, Table
from ferrule.report.picture import Curve, Line
from ferrule.report.wording import counted, listed, percent

__all__ = ["describe_sample", "lot_facts"]

_CAUTION = (
    "Passing a sample is not conformity: a limit is what a producer may usually get away with, not a promise to the "
    "buyer. No defect that can hurt somebody is acceptable at any limit. A qualified person decides on the lot."
)
#: Shares of bad units for which the chance to pass is shown.
_SHARES = tuple(Fraction(part, 1000) for part in (5, 10, 20, 40, 65, 100))
_CURVE = tuple(Fraction(part, 1000) for part in range(0, 205, 5))


def describe_sample(
    plan: LotPlan,
    label: str,
    *,
    found: Mapping[str, int] | None = None,
    verdict: Verdict | None = None,
    before: Precedence | None = None,
) -> Document:
    """Return the inspection sheet of a lot; ``found`` are the defects of each class, judged in ``verdict``."""
    facts: list[tuple[str, Cell]] = []
    if verdict is not None:
        facts.append(("verdict", _verdict_words(plan, found or {}, verdict)))
    facts += [
        (
            "lot",
            f"{plan.lot:,} of {plan.number}; {plan.quality.lot or 'the plan does not say what a lot is'}",
        ),
        ("draw", f"{plan.sample:,} at random; the classes with smaller samples take theirs from it"),
        ("level", f"{plan.level}, {plan.severity} inspection"),
    ]
    if before is not None:
        facts.append(("plan before lot", _before_words(before)))
    return Document(
        key="sample",
        title=f"Inspection of a lot of {plan.number}",
        facts=(*facts, ("state", label)),
        tables=(_plans(plan, found or {}), _chances(plan)),
        notes=tuple(_notes(plan)),
        cautions=(_CAUTION,),
        pictures=(_picture(plan),),
    )


def lot_facts(
    plan: LotPlan, found: Mapping[str, int], verdict: Verdict | None, before: Precedence | None
) -> list[tuple[tuple[str, ...], dict[str, object]]]:
    """Return the tables of a lot sheet: the lot, then each class with plan and result; unknown ones left out."""
    lot: dict[str, object] = {
        "format": 1,
        "of": plan.number,
        "units": plan.lot,
        "level": plan.level,
        "severity": plan.severity,
        "plan_rev": plan.quality.rev,
        "plan_file": plan.quality.file,
        "plan_sha256": plan.quality.sha256,
        "plan_signed": plan.quality.signed,
        "made": before.made if before is not None else None,
        "plan_commit": before.commit if before is not None else None,
        "plan_before_lot": before.proven if before is not None else None,
        "accepted": verdict.accepted if verdict is not None else None,
    }
    tables: list[tuple[tuple[str, ...], dict[str, object]]] = [(("lot",), lot)]
    for kind, each in plan.plans.items():
        row: dict[str, object] = {
            "limit": each.limit or "0",
            "letter": each.used or None,
            "sample": each.sample,
            "accept": each.accept,
            "refuse": each.refuse,
            "found": found.get(kind),
        }
        tables.append((("class", kind), row))
    return [
        (path, {key: value for key, value in row.items() if value not in (None, "")}) for path, row in tables
    ]


def _verdict_words(plan: LotPlan, found: Mapping[str, int], verdict: Verdict) -> str:
    if verdict.over:
        words = [f"{found[kind]} {kind} where {plan.plans[kind].refuse} refuse" for kind in verdict.over]
        return f"refused: {listed(words)}"
    if verdict.missing:
        return f"open: {listed(verdict.missing)} not reported"
    return "passed the sample"


def _before_words(before: Precedence) -> str:
    signed = f"signed {before.signed.isoformat()}" if before.signed is not None else "not signed"
    if before.committed is not None:
        content = f"{before.file} committed {before.committed.isoformat()} ({before.commit})"
    else:
        content = f"{before.file or 'no file'}, its present content not committed"
    verdict = "yes" if before.proven else "not proven"
    return f"{verdict}: {signed}; {content}; lot made {before.made.isoformat()}"


def _plans(plan: LotPlan, found: Mapping[str, int]) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (
            kind,
            each.limit or "0",
            each.started or "none",
            each.used or "none",
            each.sample,
            each.accept,
            each.refuse,
            found.get(kind, ""),
            _remark(plan, each),
        )
        for kind, each in plan.plans.items()
    ]
    columns = (
        Column("class", "defects"),
        Column("limit", "limit", "number"),
        Column("started", "letter"),
        Column("used", "used"),
        Column("sample", "sample", "number"),
        Column("accept", "accept", "number"),
        Column("refuse", "refuse", "number"),
        Column("found", "found" if found else ""),
        Column("remark", ""),
    )
    return Table(key="plans", title="What to inspect", columns=columns, rows=rows)


def _remark(plan: LotPlan, each: SamplePlan) -> str:
    if not each.limit:
        wanted = plan.protection
        return f"{percent(wanted.bad)} bad passes in {percent(wanted.risk)} at most"
    words = []
    if each.used != each.started:
        words.append(f"the arrow leads from {each.started} to {each.used}")
    if each.everything:
        words.append("inspect all: the sample reaches the lot")
    return "; ".join(words)


def _chances(plan: LotPlan) -> Table:
    found = {kind: curve(each, _SHARES) for kind, each in plan.plans.items()}
    rows: list[tuple[Cell, ...]] = [
        (Share(share), bad, *(Amount(chances[at][1] * 100, 2) for chances in found.values()))
        for at, (share, (bad, _)) in enumerate(zip(_SHARES, next(iter(found.values())), strict=True))
    ]
    columns = (
        Column("bad_percent", "bad in the lot", "number"),
        Column("units", "units", "number"),
        *(Column(f"{kind}_percent", kind, "number") for kind in found),
    )
    return Table(key="chances", title="How often such a lot passes, in percent", columns=columns, rows=rows)


def _notes(plan: LotPlan) -> Sequence[str]:
    notes = [
        "Plans: MIL-STD-105E, single sampling, the same as ANSI/ASQ Z1.4 and ISO 2859-1. Chances are exact."
    ]
    major = plan.plans.get("major")
    if major is not None and plan.lot >= 50:
        bad = plan.lot // 50
        chance = chance_of_acceptance(plan.lot, bad, major.sample, major.accept)
        notes.append(
            f"A lot with 2 % major defects ({counted(bad, 'unit')}) passes in {percent(chance, 0)} of the cases."
        )
    if plan.severity == "normal":
        notes.append("After two of five lots in a row refused, common practice is --tightened.")
    return notes


def _picture(plan: LotPlan) -> Curve:
    lines = []
    for kind, each in plan.plans.items():
        points = {bad: chance * 100 for bad, chance in curve(each, _CURVE)}
        lines.append(
            Line(
                kind, tuple((Fraction(bad * 100, plan.lot), chance) for bad, chance in sorted(points.items()))
            )
        )
    return Curve(
        title="Operating curves",
        description="Chance that the lot passes, by the share of bad units in it, for each class of defect.",
        unit_x="% bad",
        unit_y="% of lots that pass",
        lines=tuple(lines),
    )
