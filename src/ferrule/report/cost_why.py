"""`cost --why`: what an element or a part's cost is made of, with its workings and what they rest on."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction

from ferrule.compute.cost import LANDING_ORDER, UnitCost
from ferrule.compute.factory import CONSIGNED, Contribution
from ferrule.compute.rates import rates_of
from ferrule.model.product import Product
from ferrule.report.document import Amount, Column, Document, Table
from ferrule.report.evidence import evidence_of
from ferrule.report.wording import counted, money

__all__ = ["describe_why"]

_ZERO = Fraction(0)
_CURRENCY = re.compile(r"\b[A-Z]{3}\b")
#: Shows the place of a record.
Where = Callable[..., str]


def describe_why(product: Product, cost: UnitCost, asked: str, label: str, where: Where) -> Document | None:
    """Return what an element (or a part) is made of, largest first; None where nothing is called so."""
    wanted, home = asked.removeprefix("= ").casefold(), product.head.currency
    kept = [
        each
        for each in cost.contributions
        if wanted in _sums_with(each)
        or wanted in (each.element.casefold(), each.name.casefold(), each.element.split(", ")[0].casefold())
        or each.name.casefold().startswith(f"{wanted},")
    ]
    if not kept:
        return None
    rows = [
        (
            each.element,
            each.name,
            each.words,
            None if each.amount is None else Amount(each.amount, 4),
            ", ".join(each.weak),
            evidence_of(product, each.home) if each.home else "",
            where(*each.home) if each.home else "",
        )
        for each in sorted(kept, key=lambda each: (-(each.amount or _ZERO), each.name, each.element))
    ]
    return Document(
        key="cost_why",
        title=_why_title(cost, asked, kept, home),
        facts=(
            ("sku", cost.ask.sku),
            ("quantity", Amount(cost.ask.qty, 3, trim=True)),
            ("state", label),
            ("currency", home),
        ),
        tables=(
            Table(
                key="contributions",
                columns=(
                    Column("element", "element"),
                    Column("name", "name"),
                    Column("working", "working"),
                    Column("amount", "amount", "number"),
                    Column("weak", ""),
                    Column("evidence", "rests on", rank=1),
                    Column("place", "place", whole=True),
                ),
                rows=rows,
            ),
        ),
        notes=(
            f"{counted(len(kept), 'amount')}, {_known(kept, home, 4) or 'none known'} in one unit",
            *_value_notes(cost, kept, home),
            *_rate_notes(product, kept),
        ),
    )


def _sums_with(cost: Contribution) -> tuple[str, ...]:
    """Return the names of the sums that an amount is in."""
    factory = cost.element != CONSIGNED and cost.element not in LANDING_ORDER
    return ("landed", "cost", *(["factory price"] if factory else []))


def _value_notes(cost: UnitCost, kept: Sequence[Contribution], home: str) -> Iterator[str]:
    """Yield what the customs value is made of, and the duty that help to the factory causes, where duty is asked."""
    way = cost.landed
    if way is None or not any(each.element == "duty" for each in kept):
        return
    parts = " + ".join(f"{each.name} {money(each.amount)}" for each in way.value if each.amount is not None)
    yield f"customs value of {counted(way.units, 'unit')}: {parts} = {money(way.customs_value)} {home}"
    for each in (way.duty_on_tools, way.duty_on_consigned):
        if each.per_unit:
            yield f"of it {each.name}: {money(each.per_unit, 4)} {home} a unit"


def _rate_notes(product: Product, kept: Sequence[Contribution]) -> Iterator[str]:
    """Yield the exchange rates of the currencies that the workings name."""
    rates, home = rates_of(product), product.head.currency
    named = {code for each in kept for code in _CURRENCY.findall(each.words)} - {home}
    used = sorted({index for code in named for index in rates.chain(code, home) or ()})
    for rate in (product.rates[index] for index in used):
        day = f" of {rate.date}" if rate.date is not None else ", no day stated"
        yield f"exchange rate {rate.rate}{'' if rate.pegged else day}"


def _known(kept: Sequence[Contribution], home: str, places: int) -> str:
    """Return what some amounts add up to, "at least" where one is not known; empty where none is."""
    known = [each.amount for each in kept if each.amount is not None]
    bound = "at least " if len(known) < len(kept) else ""
    return f"{bound}{money(sum(known, _ZERO), places)} {home}" if known else ""


def _why_title(cost: UnitCost, asked: str, kept: Sequence[Contribution], home: str) -> str:
    known, unit = _known(kept, home, 3), f"in one {cost.ask.sku} at {cost.ask.name}"
    return f"Why {asked} costs {known} {unit}" if known else f"Why the cost of {asked} {unit} is not known"
