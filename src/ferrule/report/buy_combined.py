"""One order for two builds or two, in words: what combining saves, costs and risks, part by part."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from ferrule.compute.buy import Ask
from ferrule.compute.combining import Combined, Combining, LeftOut
from ferrule.compute.order_split import Split
from ferrule.model.product import Product
from ferrule.report.buy_rows import named_parts
from ferrule.report.document import Amount, Cell, Column, Document, Share, Table
from ferrule.report.wording import CAUTION, listed, money, percent

__all__ = ["describe_combined"]

_ZERO = Fraction(0)
_PAYS = "(together + carrying - first alone) / second alone"
_RATIONED = "two orders would take more than is allocated, each counted as if the other did not"
_COLUMNS = (
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
    Column("pays_above_percent", "pays above", "number"),
    Column("split_now", "split now", "number", rank=8),
    Column("split_later", "split later", "number", rank=7),
    Column("split", "split total", "number", rank=6),
    Column("better", "better"),
    Column("remark", "", in_text=False),
)
_LEFT_OUT = (Column("why", "why"), Column("part", "part"), Column("buyer", "buyer", rank=1))


def describe_combined(  # noqa: PLR0913, PLR0917  one argument for each thing the comparison says
    product: Product,
    label: str,
    ask: Ask,
    builds: tuple[Sequence[str], Sequence[str]],
    combining: Combining,
    chance: Fraction,
) -> Document:
    """Return what ordering for two groups of builds at once saves and risks, part by part.

    ``chance`` is that of the second group.
    """
    first, second = builds
    home = product.head.currency
    rationed = [part for part, _, each in combining.rows if each.rationed]
    return Document(
        key="combine",
        title=f"One order for {listed(first)} together with {listed(second)}, or two",
        facts=(
            ("first", ", ".join(first)),
            ("second", ", ".join(second)),
            ("state", label),
            ("day", ask.today.isoformat()),
            ("strategy", ask.strategy),
            ("source", ask.choice),
            ("currency", home),
        ),
        tables=(
            Table(
                key="parts",
                columns=_COLUMNS,
                rows=[_cells(part, buyer, each, chance) for part, buyer, each in combining.rows],
                notes=(f"{_RATIONED}: {named_parts(rationed)}",) if rationed else (),
            ),
            *_left_out_tables(combining.left_out),
        ),
        notes=(
            *_total_notes(product, combining, home),
            f"better: what costs least at a chance of {percent(chance)} that the second comes, carrying counted",
            f"pays above: probability of the second build from which one order is the better bet, {_PAYS}",
            "split: the best of buying up for the first and only the remainder for the second, carrying counted",
        ),
        cautions=(CAUTION,),
    )


def _cells(part: str, buyer: str | None, each: Combined, chance: Fraction) -> tuple[Cell, ...]:
    return (
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
        _pays_cell(each),
        *_split_cells(each.split),
        each.better(chance) or "",
        _RATIONED if each.rationed else "",
    )


def _pays_cell(each: Combined) -> Cell:
    """Return the probability from which one order pays; nothing where it is not a matter of chance."""
    pays = each.pays_above
    if pays is None or each.rationed:
        return ""
    return "never" if pays > 1 else Share(pays)


def _split_cells(split: Split | None) -> tuple[Cell, Cell, Cell]:
    if split is None:
        return "", "", ""
    return Amount(split.now, 3, trim=True), Amount(split.later, 3, trim=True), Amount(split.total)


def _left_out_tables(left_out: Iterable[LeftOut]) -> Iterator[Table]:
    """Yield what is not compared, one reason after the other; nothing where all is."""
    rows = [(each.why, each.part, each.buyer or "") for each in left_out]
    if rows:
        yield Table(key="left_out", title="Not compared", columns=_LEFT_OUT, rows=sorted(rows))


def _total_notes(product: Product, combining: Combining, home: str) -> Iterator[str]:
    each = [each for _, _, each in combining.rows]
    net = sum((row.net_saving for row in each), _ZERO)
    now = sum((row.extra_now for row in each), _ZERO)
    stranded = sum((row.stranded_value for row in each), _ZERO)
    yield f"all parts together: net saving {money(net)} {home}; more cash now {money(now)} {home}"
    yield f"stranded if the second is cancelled: {money(stranded)} {home}"
    one, two, together = combining.fees
    if one or two or together:
        yield (
            f"small-order fees and fill-ups of the whole lists, not in the rows: {money(one)} for the first,"
            f" {money(two)} for the second, {money(together)} in one order: net saving with them"
            f" {money(net + one + two - together)} {home}"
        )
    if combining.one_off:
        yield "one-off charges come once either way and are left aside"
    if combining.interleaved:
        yield "the builds of one group do not all come before the other's: each alone may count the same stock"
    if product.policy.carrying_rate is None:
        yield "no carrying rate is stated: carrying is not counted"
