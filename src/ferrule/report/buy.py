"""`buy` in words: the purchase list, its totals, and the working behind one part."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction

from ferrule.compute.buy import Bought, BuyRow, OrderLine
from ferrule.compute.combining import Combined
from ferrule.compute.lot_orders import Lotted
from ferrule.compute.lots import Lot
from ferrule.compute.order_totals import (
    Leftover,
    PlainSum,
    SellerTotal,
    StrategyTotal,
    by_seller,
    by_strategy,
    leftover,
    plain_sum,
)
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.evidence import evidence_of
from ferrule.report.wording import CAUTION, counted, listed, money, percent, quantity

__all__ = ["TABLES", "USUAL", "describe_buy", "describe_combined", "describe_lots", "describe_why"]

#: Tables one can ask for by name.
TABLES = ("parts", "builds", "sellers", "strategies")
#: Those a reader gets unasked.
USUAL = ("parts", "sellers", "strategies")
_ZERO = Fraction(0)
#: Parts named in a remark that holds for many.
_NAMED = 6
#: What a row may say is missing by its name alone; else it says so in a sentence.
_NOUNS = frozenset(("attrition", "set-up loss", "source", "price", "lead time", "day of need"))
#: In place of a total that too small an allocation forbids.
_RATIONED = "allocated too little"
_PAYS = "(together + carrying - first alone) / second alone"
#: Leads from a record and a path inside it to its file and line.
Where = Callable[..., str]


def describe_buy(
    product: Product, bought: Bought, label: str, names: Sequence[str] = USUAL, sort: str = "part"
) -> Document:
    """Return the purchase list with the named tables."""
    sellers = by_seller(product, bought.rows, bought.ask.strategy)
    total = sum((seller.total for seller in sellers), _ZERO)
    rest = leftover(bought, total)
    tables = {
        "parts": _parts(product, sorted(bought.rows, key=_sorter(sort))),
        "builds": _builds(bought),
        "sellers": _sellers(sellers),
        "strategies": _strategies(
            by_strategy(product, bought) if bought.rows else (), _bound(product, bought)
        ),
    }
    shown = [tables[name] for name in names]
    home = product.head.currency
    return Document(
        key="buy",
        title=f"What to buy for {bought.runs.title}",
        facts=(
            ("plan", bought.runs.plan),
            ("to make", _runs(bought)),
            ("state", label),
            ("day", bought.ask.today.isoformat()),
            ("strategy", bought.ask.strategy),
            ("source", bought.ask.choice),
            ("currency", home),
        ),
        tables=tuple(shown),
        notes=tuple(_notes(product, bought, sellers, rest)),
        cautions=(CAUTION,),
    )


def _runs(bought: Bought) -> str:
    return ", ".join(f"{run.name} {quantity(run.qty)} {run.sku}" for run in bought.runs.runs) or "none"


def _sorter(sort: str) -> Callable[[BuyRow], tuple[object, ...]]:
    def key(row: BuyRow) -> tuple[object, ...]:
        first = min((order.order_by for order in row.orders if order.order_by is not None), default=None)
        by = {
            "part": (),
            "date": (first is None, first.toordinal() if first is not None else 0),
            "spend": (-(row.spend or _ZERO),),
            "left": (-(row.left_value or _ZERO),),
        }[sort]
        return (*by, row.part, row.buyer or "")

    return key


def _parts(product: Product, rows: Sequence[BuyRow]) -> Table:
    columns = (
        Column("part", "part"),
        Column("name", "name", rank=9),
        Column("buyer", "buyer", rank=8),
        Column("seller", "seller", rank=2),
        Column("unit", "unit", rank=7),
        Column("demand", "demand", "number", rank=6),
        Column("attrition", "lost", "number", rank=12),
        Column("mounts", "mounts", "number", rank=14),
        Column("setup_loss", "at set-up", "number", rank=13),
        Column("gross", "gross", "number", rank=5),
        Column("stock", "stock", "number", rank=10),
        Column("receipts", "due in", "number", rank=11),
        Column("late", "late", "number", rank=15),
        Column("net", "net", "number"),
        Column("bound", ""),
        Column("order", "order", "number"),
        Column("each", "each", "number", rank=3),
        Column("spend", "spend", "number"),
        Column("left", "left", "number", rank=4),
        Column("left_value", "value left", "number"),
        Column("order_by", "order by"),
        Column("plain", "plain", "number", rank=16),
        Column("remark", "", in_text=False),
    )
    cells = [_part_row(product, row) for row in rows]
    return Table(key="parts", columns=columns, rows=cells, notes=tuple(_grouped_remarks(product, rows)))


def _grouped_remarks(product: Product, rows: Sequence[BuyRow]) -> Iterator[str]:
    """Yield each remark once with the parts it holds for, the first few by name."""
    parts: dict[str, list[str]] = {}
    for row in rows:
        for words in dict.fromkeys(_remarks(product, row)):
            parts.setdefault(words, []).append(row.part)
    for words, names in parts.items():
        yield f"{words}: {_named(names)}"


def _named(parts: Sequence[str]) -> str:
    """Return the first few of some parts by name, the others counted."""
    more = f" and {len(parts) - _NAMED} more" if len(parts) > _NAMED else ""
    return f"{', '.join(parts[:_NAMED])}{more}"


def _part_row(product: Product, row: BuyRow) -> tuple[Cell, ...]:
    item = product.item(row.part)
    gross = row.gross
    return (
        row.part,
        item.name if item is not None else None,
        row.buyer or "supplied free",
        _sellers_of(row),
        item.unit if item is not None else "each",
        Amount(gross.demand, 3, trim=True),
        Amount(gross.attrition + gross.offcut, 3, trim=True),
        gross.mounts,
        Amount(gross.setup, 3, trim=True),
        Amount(gross.total, 3, trim=True),
        Amount(row.netted.usable, 3, trim=True),
        Amount(row.netted.in_time, 3, trim=True),
        Amount(row.netted.late, 3, trim=True),
        Amount(row.netted.net, 3, trim=True),
        "at least" if row.gross.unknown else "",
        None if row.is_short else Amount(row.ordered, 3, trim=True),
        _each_cell(row),
        _spend_cell(row),
        *_left_cells(row),
        _order_by(row),
        None if row.plain is None else Amount(row.plain),
        "; ".join(_remarks(product, row)),
    )


def _sellers_of(row: BuyRow) -> Cell:
    if not row.orders:
        return "" if not row.is_short else None
    return ", ".join(order.quote.source.seller or f"source {order.quote.index + 1}" for order in row.orders)


def _each_cell(row: BuyRow) -> Cell:
    baskets = [order.basket for order in row.orders]
    if not baskets:
        return "" if not row.is_short else None
    if any(basket is None for basket in baskets):
        return None
    goods = sum((basket.goods for basket in baskets if basket is not None), _ZERO)
    return Amount(goods / row.ordered, 4) if row.ordered else ""


def _spend_cell(row: BuyRow) -> Cell:
    if row.is_short:
        return None
    return None if row.spend is None else Amount(row.spend)


def _left_cells(row: BuyRow) -> tuple[Cell, Cell]:
    """Return what is left over and its worth; both unknown where nobody can be asked for what is needed."""
    if row.is_short:
        return None, None
    return Amount(row.left, 3, trim=True), None if row.left_value is None else Amount(row.left_value)


def _order_by(row: BuyRow) -> Cell:
    if not row.orders:
        return "" if not row.is_short else None
    days = [order.order_by for order in row.orders]
    known = [day for day in days if day is not None]
    return min(known).isoformat() if len(known) == len(days) else None


def _remarks(product: Product, row: BuyRow) -> Iterator[str]:
    item = product.item(row.part)
    if item is not None and item.in_house:
        yield "made in house"
    missing = _NOUNS.union(*(order.quote.unknown for order in row.orders))
    yield from (f"{words} not known" if words in missing else words for words in row.unknown)
    if row.lacking and row.orders:
        yield f"{quantity(row.lacking)} of {quantity(row.netted.net)} ordered from nobody"
    for order in row.orders:
        yield from (doubt.words for doubt in order.doubts)
    if row.earlier:
        yield "stock and receipts serve earlier builds first"
    if row.netted.late:
        yield f"{quantity(row.netted.late)} on order come too late"
    for reason, qty in row.netted.unusable:
        yield f"{quantity(qty)} {reason}, not counted"


def _builds(bought: Bought) -> Table:
    columns = (
        Column("part", "part"),
        Column("buyer", "buyer"),
        Column("build", "build"),
        Column("sku", "SKU"),
        Column("day", "needed"),
        Column("demand", "demand", "number"),
        Column("gross", "gross", "number"),
        Column("net", "net", "number"),
    )
    skus = {run.name: run.sku for run in bought.runs.runs}
    rows: list[tuple[Cell, ...]] = []
    for row in bought.rows:
        for (build, wanted), net in zip(row.wanted, row.netted.nets, strict=True):
            demand = sum((use.quantity for use in row.uses if use.run == build), _ZERO)
            rows.append(
                (
                    row.part,
                    row.buyer or "supplied free",
                    build,
                    skus[build],
                    wanted.day.isoformat() if wanted.day is not None else None,
                    Amount(demand, 3, trim=True),
                    Amount(wanted.gross, 3, trim=True),
                    Amount(net, 3, trim=True),
                )
            )
    note = "what a build adds to the gross need of those before it: losses are pooled, rounded up once"
    return Table(key="builds", title="By build", columns=columns, rows=rows, notes=(note,))


def _sellers(sellers: Sequence[SellerTotal]) -> Table:
    columns = (
        Column("buyer", "buyer"),
        Column("seller", "seller"),
        Column("orders", "orders", "number"),
        Column("goods", "goods", "number"),
        Column("charges", "charges", "number"),
        Column("one_off", "one-off", "number", rank=2),
        Column("fee", "small-order fee", "number", rank=3),
        Column("filled", "to reach minimum", "number", rank=4),
        Column("bound", ""),
        Column("total", "total", "number"),
        Column("minimum", "least order", "number", rank=1),
    )
    rows = [
        (
            seller.buyer,
            seller.seller or "seller not known",
            seller.orders,
            Amount(seller.goods),
            Amount(seller.charges),
            Amount(seller.one_off),
            Amount(seller.fee),
            Amount(seller.filled),
            "at least" if seller.unpriced else "",
            Amount(seller.total),
            "" if seller.minimum is None else Amount(seller.minimum),
        )
        for seller in sellers
    ]
    return Table(key="sellers", title="By seller", columns=columns, rows=rows)


def _strategies(totals: Sequence[StrategyTotal], bound: str) -> Table:
    columns = (
        Column("strategy", "way to buy"),
        Column("spend", "spend", "number"),
        Column("fees", "fees, fill-ups", "number", rank=2),
        Column("bound", ""),
        Column("total", "total now", "number"),
        Column("more", "more", "number", rank=1),
        Column("value_left", "too much", "number"),
        Column("expected", "in the end", "number"),
    )
    least = min((total.total for total in totals), default=_ZERO)
    rows = [
        (
            total.strategy,
            *_way_cells(total, least, bound),
        )
        for total in totals
    ]
    used = any(total.expected != total.total for total in totals)
    notes = (
        "more: against the least; too much: bought beyond the need",
        "in the end: less the value of leftovers that firm later builds use, plus carrying them"
        if used
        else "in the end: no firm later build uses leftovers, so nothing comes off the total",
    )
    return Table(key="strategies", title="Ways to buy", columns=columns, rows=rows, notes=notes)


def _way_cells(total: StrategyTotal, least: Fraction, bound: str) -> tuple[Cell, ...]:
    """Return what a way to buy comes to; nothing of it is known where everything lacks a price."""
    if bound and not total.total:
        return None, None, "", None, None, None, None
    more, left = Amount(total.total - least), Amount(total.value_left)
    return (
        Amount(total.spend),
        Amount(total.fees),
        bound,
        Amount(total.total),
        more,
        left,
        Amount(total.expected),
    )


def _unpriced(rows: Iterable[BuyRow]) -> int:
    """Return how many orders have no known price; what nobody can be asked for is one."""
    return sum(bool(row.lacking) + sum(order.basket is None for order in row.orders) for row in rows)


def _without_record(product: Product, bought: Bought) -> list[str]:
    """Return in words the builds whose SKU no file defines: nothing is bought for them."""
    return [
        f"what {run.name} needs, for no file defines {run.sku}"
        for run in bought.runs.runs
        if run.sku not in product.assemblies
    ]


def _bound(product: Product, bought: Bought) -> str:
    """Return "at least" where something that has to be bought is not known in full."""
    losses = any(row.gross.unknown for row in bought.rows)
    open_ends = losses or bought.unknown or _unpriced(bought.rows) or _without_record(product, bought)
    return "at least" if open_ends else ""


def _notes(product: Product, bought: Bought, sellers: Sequence[SellerTotal], rest: Leftover) -> Iterator[str]:
    home = product.head.currency
    total = sum((seller.total for seller in sellers), _ZERO)
    if bought.rows:
        yield _total_note(bought, total, _bound(product, bought), home)
        yield from _buyer_notes(bought, sellers, home)
        short = any(row.is_short for row in bought.rows)
        yield from _leftover_notes(rest, home, "at least " if rest.unknown or short else "")
        plain = plain_sum(bought.rows, total)
        if plain.amount or not plain.unpriced:
            yield _plain_note(plain, home)
    elif not _without_record(product, bought):
        yield "nothing to buy"
    yield from _switch_notes(bought)
    yield from (f"not known: {words}" for words in (*_without_record(product, bought), *bought.unknown))


def _total_note(bought: Bought, total: Fraction, bound: str, home: str) -> str:
    unpriced = _unpriced(bought.rows)
    amount = f"{bound} {money(total)}".lstrip()
    return f"total {amount} {home} for {counted(len(bought.rows), 'part')}" + (
        f"; {counted(unpriced, 'order has', 'orders have')} no known price" if unpriced else ""
    )


def _buyer_notes(bought: Bought, sellers: Sequence[SellerTotal], home: str) -> Iterator[str]:
    for buyer in sorted({seller.buyer for seller in sellers}):
        own = sum((seller.total for seller in sellers if seller.buyer == buyer), _ZERO)
        rows = [row for row in bought.rows if row.buyer == buyer]
        least = "at least " if _unpriced(rows) or any(row.gross.unknown for row in rows) else ""
        yield f"{buyer} pays {least}{money(own)} {home}"


def _plain_note(plain: PlainSum, home: str) -> str:
    return (
        f"quantity times price alone adds up to {money(plain.amount)} {home}: stock and open orders cover"
        f" {money(plain.covered)}; losses, packs, least orders and charges add {money(plain.beside)}"
        + (f"; {counted(plain.unpriced, 'part has', 'parts have')} no price" if plain.unpriced else "")
    )


def _leftover_notes(rest: Leftover, home: str, bound: str) -> Iterator[str]:
    if bound and not rest.value:
        yield "what is left over is not known"
        return
    words = [f"left over {bound}{money(rest.value)} {home}, stock on hand included"]
    if rest.of_spend is not None:
        words.append(f"{percent(rest.of_spend)} of the spend")
    if rest.each is not None:
        words.append(f"{money(rest.each)} {home} for each of {quantity(rest.good)} good units")
    yield ", ".join(words)


def _switch_notes(bought: Bought) -> Iterator[str]:
    for switch in bought.switches:
        linked = f", set {switch.set_}" if switch.set_ else ""
        yield (
            f"{quantity(switch.units)} units of {switch.run} take {switch.alternate} for {switch.part}{linked}"
        )


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


def _left_out_notes(parts: Sequence[str]) -> Iterator[str]:
    if parts:
        yield f"not counted, no price is known: {_named(parts)}"


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


def describe_why(product: Product, bought: Bought, part: str, label: str, where: Where) -> Document:
    """Return the working of one part, step by step, with the place of every fact."""
    rows: list[tuple[Cell, ...]] = []
    for row in bought.rows:
        if row.part == part:
            rows += _working(product, bought, row, where)
    columns = (
        Column("step", "step"),
        Column("working", "working"),
        Column("result", "result", "number"),
        Column("place", "place", whole=True),
    )
    item = product.item(part)
    return Document(
        key="buy_why",
        title=f"Why {part} {item.name if item is not None and item.name else ''}".rstrip(),
        facts=(
            ("part", part),
            ("unit", item.unit if item is not None else "each"),
            ("state", label),
            ("currency", product.head.currency),
        ),
        tables=(Table(key="working", columns=columns, rows=rows),),
    )


def _working(product: Product, bought: Bought, row: BuyRow, where: Where) -> Iterator[tuple[Cell, ...]]:
    yield from _demand_steps(product, row, where)
    gross = row.gross
    kind = "part" if row.part in product.parts else "assembly"
    lost = Amount(gross.attrition, 3, trim=True)
    yield ("attrition", _attrition(product, row), lost, where(kind, row.part, "attrition"))
    if gross.setup:
        reels = counted(gross.mounts, "reel or strip", "reels or strips")
        working = f"{reels} mounted, {counted(gross.runs, 'set-up')}"
        yield ("set-up loss", working, Amount(gross.setup, 3, trim=True), where(kind, row.part, "setup_loss"))
    if gross.offcut:
        yield ("offcut", "what is too short for a piece", Amount(gross.offcut, 3, trim=True), "")
    yield ("gross", "pooled, rounded up once", Amount(gross.total, 3, trim=True), "")
    yield from _stock_steps(product, row, where)
    if row.earlier:
        yield ("earlier builds", "take of stock and receipts first", Amount(row.earlier, 3, trim=True), "")
    yield ("net", "need by need, in the order of their dates", Amount(row.netted.net, 3, trim=True), "")
    for order in row.orders:
        yield from _order_steps(product, row, order, bought.ask.strategy, where)
    if row.is_short:
        yield ("order", "no source can be asked", None, where(kind, row.part))
    left, value = _left_cells(row)
    yield ("left", "over when all is built", left, "")
    yield ("value left", "ordered pieces at the price paid, stock at its own", value, "")


def _attrition(product: Product, row: BuyRow) -> str:
    """Return the rates and floors of a row's uses, with the convention they are meant by."""
    rates = sorted({use.attrition for use in row.uses if use.attrition is not None})
    floors = sorted({use.floor for use in row.uses if use.floor})
    words = [
        f"{product.conventions.attrition} {', '.join(percent(rate, 2) for rate in rates) or 'not stated'}"
    ]
    words += [f"at least {quantity(floor)} a set-up" for floor in floors]
    return ", ".join(words)


def _demand_steps(product: Product, row: BuyRow, where: Where) -> Iterator[tuple[Cell, ...]]:
    days = {name: wanted.day for name, wanted in row.wanted}
    for use in row.uses:
        line = product.lines[use.parent][use.index]
        cut = f" x {quantity(use.cut)}" if use.cut is not None else ""
        day = days.get(use.run)
        working = f"{quantity(use.units)} of {use.assembly} enter x {quantity(use.each)}{cut}" + (
            f", needed {day}" if day is not None else ""
        )
        place = where("assembly", use.parent, "line", use.index, "qty" if line.qty is not None else "part")
        yield (f"demand of {use.run}", working, Amount(use.quantity, 3, trim=True), place)


def _stock_steps(product: Product, row: BuyRow, where: Where) -> Iterator[tuple[Cell, ...]]:
    for index, stock in enumerate(product.stock):
        if stock.part == row.part:
            words = f"{stock.status} at {stock.place}, counted {stock.counted}"
            yield ("stock", words, Amount(Fraction(stock.qty), 3, trim=True), where("stock", index, "qty"))
    for index, order in enumerate(product.orders):
        if order.part == row.part:
            words = f"{order.id} from {order.seller}, due {order.due or 'on no stated day'}"
            yield ("on order", words, Amount(Fraction(order.qty), 3, trim=True), where("order", index, "qty"))
    net = row.netted
    yield ("usable stock", "counted, not blocked", Amount(net.usable, 3, trim=True), "")
    yield ("receipts in time", "due before a day of need", Amount(net.in_time, 3, trim=True), "")
    if net.safety:
        yield ("safety stock", "never planned away", Amount(net.safety, 3, trim=True), "")


def _order_steps(
    product: Product, row: BuyRow, order: OrderLine, strategy: str, where: Where
) -> Iterator[tuple[Cell, ...]]:
    source, index = order.quote.source, order.quote.index
    kind = "part" if row.part in product.parts else "assembly"
    rank = f"rank {source.rank}" if source.rank is not None else "no rank stated"
    firms = f"{source.maker or 'maker not known'} from {source.seller or 'seller not known'}"
    words = f"{firms}, {rank}; {evidence_of(product, (kind, row.part, 'source', index)) or 'no quote'}"
    yield ("source", words, "", where(kind, row.part, "source", index))
    for name, basket in order.purchase.baskets.items():
        chosen = " (chosen)" if name == strategy else ""
        for lot in basket.lots:
            form = lot.form.label or "loose"
            path = (*lot.form.path, lot.form.break_at(lot.qty))
            own = f"{quantity(lot.form.own[lot.form.break_at(lot.qty)], 6)} {order.quote.currency}"
            working = (
                f"{quantity(lot.qty)} as {form} at {own} = {quantity(lot.price, 6)} {product.head.currency}"
            )
            place = where(kind, row.part, "source", index, *path)
            yield (f"{name}{chosen}", working, Amount(lot.qty * lot.price), place)
        if basket.charges:
            yield (f"{name}{chosen}", "charges beside the price", Amount(basket.charges), "")
    if order.purchase.pays_from is not None:
        low, target = order.purchase.pays_from
        words = f"from {quantity(low)} on, ordering {quantity(target)} costs no more"
        yield ("buying up", words, "", "")
    if order.basket is None:
        yield ("order", f"{quantity(order.qty)} ordered, no price is known", None, "")
    if order.order_by is not None:
        lead = where(kind, row.part, "source", index, "lead_time")
        yield (
            "order by",
            f"lead time {source.lead_time or 'in legs'}, in the seller's calendar",
            order.order_by.isoformat(),
            lead,
        )
    else:
        yield ("order by", "lead time or day of need is not known", None, "")
    for doubt in order.doubts:
        yield ("doubt", doubt.words, "", where(kind, row.part, "source", index))
