"""`cost --offers`: what a unit costs landed under several terms, lanes and bases, side by side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from ferrule.compute.cost import Offered
from ferrule.compute.freight import STRETCHES
from ferrule.compute.landing import Kind, Landed
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.wording import CAUTION, counted, quantity

__all__ = ["describe_offers"]

_ZERO = Fraction(0)
#: Which elements of a landed cost come together in the columns of an offer.
_OFFER_GROUPS: tuple[tuple[Kind, ...], ...] = (
    ("origin haul", "export", "loading", "carriage", "arrival", "delivery"),
    ("insurance",),
    ("duty",),
    ("import", "entry fee", "import tax"),
    ("consigned",),
)


def describe_offers(
    product: Product, sku: str, offers: Sequence[Offered], qty: Fraction, label: str
) -> Document:
    """Return offers side by side: what is in the price, what comes on top, landed, the least marked."""
    home = product.head.currency
    least = min((offer.landed.per_unit for offer in offers if not offer.landed.unknown), default=None)
    rows = [_offer_row(offer, least) for offer in offers]
    notes = [
        *_shared(offers, [offer.landed.unknown for offer in offers]),
        *_shared(offers, [offer.landed.notes for offer in offers]),
    ]
    return Document(
        key="offers",
        title=f"{sku} under {counted(len(offers), 'offer')}, one unit of {quantity(qty)}",
        facts=(
            ("sku", sku),
            ("quantity", Amount(qty, 3, trim=True)),
            ("state", label),
            ("currency", home),
        ),
        tables=(
            Table(
                key="offers",
                columns=(
                    Column("term", "term"),
                    Column("lane", "lane"),
                    Column("price", "price", "number"),
                    Column("way", "way", "number", rank=2),
                    Column("insurance", "insurance", "number", rank=6),
                    Column("duty", "duty", "number", rank=3),
                    Column("entry", "entry", "number", rank=4),
                    Column("consigned", "consigned", "number", rank=7),
                    Column("bound", ""),
                    Column("landed", "landed", "number"),
                    Column("more", "more", "number", rank=1),
                    Column("basis", "value basis", rank=5),
                    Column("other_basis", "on the other", "number", rank=8),
                    Column("mark", ""),
                    Column("in_price", "the price pays for", rank=9),
                ),
                rows=rows,
            ),
        ),
        notes=(*notes, "on the other: landed if the destination's value were taken on the other basis"),
        cautions=(CAUTION,),
    )


def _offer_amount(home: Landed, *kinds: Kind) -> Cell:
    """Return what some kinds of elements add to a unit; unknown where there are some and none is known."""
    known = [each.per_unit for each in home.elements if each.kind in kinds]
    if known and all(each is None for each in known):
        return None
    return Amount(sum((home.of(kind) for kind in kinds), _ZERO) / home.units)


def _offer_row(offered: Offered, least: Fraction | None) -> tuple[Cell, ...]:
    home = offered.landed
    goods = next(element.per_unit for element in home.elements if element.kind == "goods")
    return (
        str(offered.offer.term),
        offered.offer.lane,
        None if goods is None else Amount(goods),
        *(_offer_amount(home, *kinds) for kinds in _OFFER_GROUPS),
        "at least" if home.unknown else "",
        Amount(home.per_unit),
        "" if least is None or goods is None else Amount(home.per_unit - least),
        offered.basis or "duty not known",
        "" if offered.other is None else Amount(offered.other.per_unit),
        "least" if home.per_unit == least and not home.unknown else "",
        ", ".join(stretch for stretch in STRETCHES if stretch in home.in_price) or "nothing of the way",
    )


def _shared(offers: Sequence[Offered], words: Sequence[Sequence[str]]) -> Iterator[str]:
    """Yield what is said of offers, each sentence once, with the offers it holds for unless that is all."""
    holds: dict[str, list[str]] = {}
    for offered, said in zip(offers, words, strict=True):
        for each in said:
            holds.setdefault(each, []).append(f"{offered.offer.term} via {offered.offer.lane}")
    for each, names in holds.items():
        where = "" if len(names) == len(offers) else f" ({'; '.join(dict.fromkeys(names))})"
        yield f"{each}{where}"
