"""A product as if an answer were agreed: its prices in place of the sources, its work in place of the steps' prices.

A line that was asked and has no price that counts, or another article than asked, leaves the cost unknown: it does
not fall back on what somebody else asks. Yields, structure, ways home and plans stay as they are.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from msgspec.structs import replace

from ferrule.model.answers import Answer, AnswerLine
from ferrule.model.exact import as_decimal, shown_amount
from ferrule.model.money import Money
from ferrule.model.number import Count
from ferrule.model.product import Product
from ferrule.model.records.assembly import Assembly, Step
from ferrule.model.records.common import Charge, Tier
from ferrule.model.records.part import Item, Part, PriceBreak, Source
from ferrule.model.records.plan import Build, PlanFile

__all__ = ["answered_product", "price_text"]

#: Decimals of a price that never ends, such as a third.
_PLACES = 8


def answered_product(product: Product, answer: Answer) -> Product:
    """Return the product with everything an answer was asked for taken from the answer."""
    parts, assemblies = dict(product.parts), dict(product.assemblies)
    for line in answer.asked:
        if line.part in parts:
            parts[line.part] = _bought_part(parts[line.part], answer, line)
        elif line.part in assemblies and product.lines.get(line.part):
            assemblies[line.part] = _made(assemblies[line.part], answer, line)
        elif line.part in assemblies:
            item = assemblies[line.part]
            assemblies[line.part] = replace(item, source=(_source(item, answer, line),))
    plans = {number: _built(plan, answer) for number, plan in product.plans.items()}
    return replace(product, parts=parts, assemblies=assemblies, plans=plans)


def price_text(price: Fraction) -> Decimal:
    """Return a price as a decimal: exactly, or to eight places where no decimal is exact."""
    ended = as_decimal(price)
    return ended if ended is not None else Decimal(shown_amount(price, _PLACES, separator=False))


def _bought_part(part: Part, answer: Answer, line: AnswerLine) -> Part:
    return replace(part, source=(_source(part, answer, line),))


def _source(item: Item, answer: Answer, line: AnswerLine) -> Source:
    """Return the one source that an answer leaves: priced as answered, without a price where that is a hole."""
    before = next((each for each in item.source if each.status != "denied"), None)
    charge = (Charge(name="one-off charge", amount=Money(line.charge), per="one-off"),) if line.charge else ()
    return Source(
        maker=before.maker if before is not None else None,
        maker_part=before.maker_part if before is not None else None,
        origin=before.origin if before is not None else None,
        seller=answer.recipient,
        status="approved",
        currency=line.currency or None,
        price=() if line.substituted else tuple(_breaks(line)),
        incoterm=line.incoterm,
        charge=charge,
        quoted=line.quoted,
        valid_until=line.valid_until,
        moq=None if line.moq is None else Count(line.moq),
        multiple=None if not line.multiple else Count(line.multiple),
        lead_time=line.lead_time,
    )


def _breaks(line: AnswerLine) -> Iterator[PriceBreak]:
    for amount, price in _priced(line):
        yield PriceBreak(from_=Count(amount), each=Money(price_text(price)))


def _priced(line: AnswerLine) -> list[tuple[Decimal, Fraction]]:
    pairs = zip(line.amounts, line.prices, strict=True)
    return sorted(
        {amount: price for amount, price in pairs if amount is not None and price is not None}.items()
    )


def _made(assembly: Assembly, answer: Answer, line: AnswerLine) -> Assembly:
    """Return an assembly made by the firm at its price of the work, the yields of the steps kept."""
    tiers = tuple(
        Tier(from_=Count(amount), each=Money(price_text(price), line.currency))
        for amount, price in _priced(line)
    )
    steps = assembly.steps or (Step(name="work as quoted"),)
    bare = [_unpriced(step) for step in steps]
    if (
        tiers and not line.substituted
    ):  # quoted for a good one, so on the last step; the others are part of it
        nothing = Money(Decimal(0), line.currency)
        last = replace(bare[-1], tier=tiers, per="good", kind="labour")
        bare = [*(replace(step, cost=nothing) for step in bare[:-1]), last]
    return replace(assembly, factory=answer.recipient, price=None, markup=(), steps=tuple(bare))


def _unpriced(step: Step) -> Step:
    return replace(step, cost=None, tier=(), minutes=None, hour_rate=None, firm=None, per="entering")


def _built(plan: PlanFile, answer: Answer) -> PlanFile:
    """Return a plan whose builds of what was asked are made by the firm, under its own terms."""
    return replace(plan, build=tuple(_build(build, answer) for build in plan.build))


def _build(build: Build, answer: Answer) -> Build:
    if build.sku != answer.assembly or all(line.part != build.sku for line in answer.asked):
        return build
    return replace(build, factory=answer.recipient, payment=())
