"""Order lots of each part over the builds, in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from ferrule.compute.lot_orders import Lotted
from ferrule.compute.lots import Lot
from ferrule.compute.sourcing import Choice
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile
from ferrule.report.buy_rows import named_parts
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.wording import CAUTION, counted, listed, money, quantity

__all__ = ["describe_lots"]

_ZERO = Fraction(0)
#: In place of a total that too small an allocation forbids.
_RATIONED = "allocated too little"


def describe_lots(
    product: Product,
    plan: PlanFile,
    label: str,
    choice: Choice,
    found: tuple[Iterable[Lotted], Sequence[str]],
) -> Document:
    """Return the order lots of each part over the builds, with the two simple ways beside them.

    ``found`` holds the lots and the parts without a price; ``choice`` says how sources were picked.
    """
    columns = (
        Column("part", "part"),
        Column("buyer", "buyer", rank=4),
        Column("seller", "seller", rank=3),
        Column("lots", "lots"),
        Column("total", "least total", "number"),
        Column("holding", "of it carrying", "number", rank=1),
        Column("each_build", "a lot a build", "number"),
        Column("once", "one lot", "number"),
        Column("once_spend", "one lot pays", "number", rank=5),
        Column("left", "left", "number", rank=2),
    )
    names = [build.name for build in plan.build]
    lotted, left_out = list(found[0]), found[1]
    cells = [_lot_cells(row) for row in lotted]
    home, rate = product.head.currency, product.policy.carrying_rate
    carrying = (
        f"{rate} a year"
        if rate is not None
        else "not stated: carrying is not counted, totals are lower bounds"
    )
    return Document(
        key="lots",
        title=f"Order lots over the builds of {plan.plan.name or plan.plan.id}",
        facts=(
            ("plan", plan.plan.id),
            ("builds", ", ".join(names)),
            ("carrying", carrying),
            ("state", label),
            ("source", choice),
            ("currency", home),
        ),
        tables=(Table(key="parts", columns=columns, rows=cells),),
        notes=(
            *_left_out_notes(left_out),
            *_lots_notes(lotted, home),
            *_proof_notes(lotted),
            "one lot pays: what the list without --lots pays at least cash now",
        ),
        cautions=(CAUTION,),
    )


def _lots_notes(rows: Sequence[Lotted], home: str) -> Iterator[str]:
    if rows:
        least, once = (
            sum(amounts, _ZERO) for amounts in zip(*((r.best.total, r.once.total) for r in rows), strict=True)
        )
        each = [row.each_build.total for row in rows if row.each_build is not None]
        rationed = len(rows) - len(each)
        apart = f"; {counted(rationed, 'order')} aside, of which too little is allocated" if rationed else ""
        yield f"all parts, least total: {money(least)} {home}"
        yield f"all parts, a lot for each build: {money(sum(each, _ZERO))} {home}{apart}; one lot for all: {money(once)} {home}"


def _lot_cells(row: Lotted) -> tuple[Cell, ...]:
    used = dict.fromkeys(row.sellers[lot.ladder] or "seller not known" for lot in row.best.lots)
    return (
        row.part,
        row.buyer or "",
        ", ".join(used),
        "; ".join(_lot_words(row, lot) for lot in row.best.lots),
        Amount(row.best.total),
        Amount(row.best.holding),
        _RATIONED if row.each_build is None else Amount(row.each_build.total),
        Amount(row.once.total),
        Amount(row.once.ordering),
        Amount(row.best.ending_stock, 3, trim=True),
    )


def _lot_words(row: Lotted, lot: Lot) -> str:
    """Return a lot with its build, the forms where it mixes several, the seller where lots go to several."""
    words = f"{quantity(lot.quantity)} for {row.runs[lot.period]}"
    if len(lot.mix) > 1:
        mix = listed([f"{quantity(qty)} as {form.label or 'loose'}" for form, qty in lot.mix])
        words += f" ({mix})"
    several = len({each.ladder for each in row.best.lots}) > 1
    return f"{words} from {row.sellers[lot.ladder] or 'seller not known'}" if several else words


def _proof_notes(rows: Sequence[Lotted]) -> Iterator[str]:
    """Yield what is proven least, and of what."""
    whole = [row for row in rows if not row.parted]
    parted = list(dict.fromkeys(row.part for row in rows if row.parted))
    if whole:
        yield (
            "exact: at the sources asked no other orders cost less at this carrying rate, whatever forms and packs"
            " each of them mixes"
        )
    if parted:
        yield (
            "planned source by source, each for its own part of the need and exact for that; another division"
            f" among the sources may cost less: {named_parts(parted)}"
        )


def _left_out_notes(parts: Sequence[str]) -> Iterator[str]:
    if parts:
        yield f"not counted, no price is known: {named_parts(parts)}"
