"""`diff --cut-in`: when a part of a plan changes, use up the old one or switch."""

from __future__ import annotations

import datetime as dt
import re
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct

from ferrule.app.holidays import holidays_of
from ferrule.app.loading import load_snapshot
from ferrule.compute.cutin import CutIn, cut_in
from ferrule.compute.cutin_facts import CutInFacts, Spread, cut_in_facts
from ferrule.compute.figures import Figures, figures_of
from ferrule.compute.rates import rates_of
from ferrule.errors import FerruleError
from ferrule.model.bad_value import BadValue
from ferrule.model.money import parse_price
from ferrule.model.product import Product
from ferrule.model.text import nearest
from ferrule.source.snapshot import Snapshot

__all__ = ["Changeover", "changeover", "named_parts"]

_BARE = re.compile(r"[0-9]{1,12}(\.[0-9]{1,9})?")


class Changeover(Struct, frozen=True, kw_only=True):
    """The decision for one part of one plan, and what it rests on."""

    product: Product
    plan: str
    parts: tuple[str, str]
    sides: tuple[str, str]
    facts: CutInFacts
    found: CutIn


def named_parts(written: str) -> tuple[str, str]:
    """Return the old and the new part of ``OLD=NEW``; raises FerruleError."""
    old, sign, new = written.partition("=")
    if not sign or not old.strip() or not new.strip():
        raise FerruleError(f"{written!r} names no two parts", "write it as OLD=NEW")
    return old.strip(), new.strip()


def changeover(  # noqa: PLR0913  two states, and what is asked about them
    before: Snapshot,
    after: Snapshot,
    parts: tuple[str, str],
    today: dt.date,
    *,
    plan: str | None = None,
    weekly: int | None = None,
    warranty: str | None = None,
    salvage: str | None = None,
) -> Changeover:
    """Return the cost of changing over from one part to another, week by week; raises FerruleError."""
    one, other = (load_snapshot(each).product for each in (before, after))
    name = _plan(one, other, plan)
    sides = [figures_of(each, today, holidays_of(each).days, (name,)) for each in (one, other)]
    for figures in sides:
        if name not in figures.plans:
            raise FerruleError(f"the plan {name} cannot be worked out: {'; '.join(figures.failed)}")
    _refuse_unused(sides[0], name, parts[0], "before")
    _refuse_unused(sides[1], name, parts[1], "after")
    spread = Spread(weekly=weekly, warranty=_amount(warranty, other), salvage=_amount(salvage, other))
    facts = cut_in_facts(sides[0], sides[1], name, parts, spread)
    if facts.unknown:
        raise FerruleError(
            f"the cheapest way cannot be told while this is not known: {', '.join(facts.unknown)}",
            "state it in the files of the later side",
        )
    return Changeover(
        product=other,
        plan=name,
        parts=parts,
        sides=(before.label, after.label),
        facts=facts,
        found=cut_in(facts.ask),
    )


def _plan(before: Product, after: Product, plan: str | None) -> str:
    shared = sorted(
        (each for name, each in after.plans.items() if name in before.plans),
        key=lambda each: (each.plan.start, each.plan.id),
    )
    names = [each.plan.id for each in shared]
    if plan is None and names:
        return names[0]
    if plan is None or plan not in names:
        best = nearest(plan or "", names)
        hint = f"did you mean {best}?" if best else f"plans of both: {', '.join(names) or 'none'}"
        raise FerruleError(
            f"no plan of both states is called {plan}" if plan else "both states share no plan", hint
        )
    return plan


def _refuse_unused(figures: Figures, plan: str, part: str, when: str) -> None:
    known = sorted({row.part for row in figures.plans[plan].ground.bought.rows})
    if part not in known:
        best = nearest(part, known)
        raise FerruleError(
            f"the plan {plan} uses no {part} {when} the change",
            f"did you mean {best}?" if best else "`ferrule buy` lists what a plan uses",
        )


def _amount(written: str | None, product: Product) -> Fraction:
    """Return an amount in the home currency; raises FerruleError."""
    if written is None:
        return Fraction(0)
    home = product.head.currency
    try:
        bare = Decimal(written) if _BARE.fullmatch(written) else written
        amount = rates_of(product).money(parse_price(bare), home, home)
    except BadValue as error:
        raise FerruleError(error.message, f"write it as 0.50 or 0.50 {home}") from None
    if amount is None:
        raise FerruleError(f"no rate turns {written} into {home}", f"write it in {home}")
    return amount
