"""Orders over several builds in words: one order for two builds or two, and order lots over all builds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from ferrule.compute.combining import Combined
from ferrule.compute.lot_orders import Lotted
from ferrule.compute.lots import Lot
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile
from ferrule.report.buy_rows import named_parts
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.wording import CAUTION, counted, listed, money, percent, quantity

__all__ = ["describe_combined", "describe_lots"]

_ZERO = Fraction(0)
#: In place of a total that too small an allocation forbids.
_RATIONED = "allocated too little"
_PAYS = "(together + carrying - first alone) / second alone"


def describe_lots(
    product: Product, plan: PlanFile, label: str, rows: Iterable[Lotted], left_out: Sequence[str] = ()
) -> Document:
    """Return the order lots of each part over the builds, with the two simple ways beside them.

    ``left_out`` are the parts without a price.
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
    lotted = list(rows)
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
            ("currency", home),
        ),
        tables=(Table(key="parts", columns=columns, rows=cells),),
        notes=(
            *_left_out_notes(left_out),
            *_lots_notes(lotted, home),
            "exact: no other orders cost less at this carrying rate, whatever forms and packs each of them mixes",
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


def _left_out_notes(parts: Sequence[str]) -> Iterator[str]:
    if parts:
        yield f"not counted, no price is known: {named_parts(parts)}"


def describe_combined(  # noqa: PLR0913  one argument for each thing the comparison says
    product: Product,
    label: str,
    builds: tuple[Sequence[str], Sequence[str]],
    rows: Iterable[tuple[str, str | None, Combined]],
    *,
    chance: Fraction = Fraction(1),
    left_out: Sequence[str] = (),
) -> Document:
    """Return what ordering for two groups of builds at once saves and risks, part by part.

    ``chance`` is that of the second group, ``left_out`` are the parts without a price.
    """
    first, second = builds
    columns = (
        Column("part", "part"),
        Column("buyer", "buyer", rank=5),
        Column("first", "first alone", "number", rank=3),
        Column("second", "second alone", "number", rank=3),
        Column("together", "together", "number", rank=2),
        Column("saving", "saving", "number"),
        Column("carrying", "carrying", "number", rank=1),
        Column("net", "net", "number"),
        Column("extra_now", "more now", "number"),
        Column("stranded", "pieces stranded", "number", rank=4),
        Column("stranded_value", "stranded", "number"),
        Column("pays_above", "pays above", "number"),
        Column("split", "split total", "number", rank=6),
        Column("better", "better"),
    )
    cells: list[tuple[Cell, ...]] = []
    sums = [_ZERO] * 4
    for part, buyer, each in rows:
        pays = each.pays_above
        cells.append(
            (
                part,
                buyer or "",
                Amount(each.first.spend),
                Amount(each.second.spend),
                Amount(each.together.spend),
                Amount(each.gross_saving),
                Amount(each.carrying),
                Amount(each.net_saving),
                Amount(each.extra_now),
                Amount(each.stranded, 3, trim=True),
                Amount(each.stranded_value),
                "" if pays is None else "never" if pays > 1 else percent(pays),
                Amount(each.split.total),
                "" if pays is None else "one order" if pays < chance else "two orders",
            )
        )
        for place, amount in enumerate((each.net_saving, each.extra_now, each.stranded_value, _ZERO)):
            sums[place] += amount
    home = product.head.currency
    return Document(
        key="combine",
        title=f"One order for {listed(first)} together with {listed(second)}, or two",
        facts=(
            ("first", ", ".join(first)),
            ("second", ", ".join(second)),
            ("state", label),
            ("currency", home),
        ),
        tables=(Table(key="parts", columns=columns, rows=cells),),
        notes=(
            *_left_out_notes(left_out),
            f"all parts together: net saving {money(sums[0])} {home}; more cash now {money(sums[1])} {home}",
            f"stranded if the second is cancelled: {money(sums[2])} {home}",
            f"better: at a chance of {percent(chance)} that the second comes",
            f"pays above: probability of the second build from which one order is the better bet, {_PAYS}",
            "split total: the best of buying up for the first and only the remainder for the second",
        ),
        cautions=(CAUTION,),
    )
