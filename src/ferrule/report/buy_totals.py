"""What a purchase list adds up to in words: by seller, by way to buy, left over, and against the plain sum."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from ferrule.compute.buy import Bought, BuyRow
from ferrule.compute.order_totals import Leftover, PlainSum, SellerTotal, StrategyTotal, plain_sum
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Share, Table
from ferrule.report.wording import counted, money, percent, quantity

__all__ = ["bound_of", "sellers_table", "strategies_table", "total_notes", "totals_table"]

_ZERO = Fraction(0)


def sellers_table(sellers: Sequence[SellerTotal]) -> Table:
    """Return what each seller gets from each buyer."""
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


def strategies_table(totals: Sequence[StrategyTotal], bound: str) -> Table:
    """Return the ways to buy side by side; ``bound`` stands where totals are lower bounds."""
    columns = (
        Column("strategy", "way to buy"),
        Column("spend", "spend", "number"),
        Column("one_off", "one-off", "number", rank=3),
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
        return None, None, None, "", None, None, None, None
    more, left = Amount(total.total - least), Amount(total.value_left)
    return (
        Amount(total.spend),
        Amount(total.one_off),
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


def bound_of(product: Product, bought: Bought) -> str:
    """Return "at least" where something that has to be bought is not known in full."""
    losses = any(row.gross.unknown for row in bought.rows)
    open_ends = losses or bought.unknown or _unpriced(bought.rows) or _without_record(product, bought)
    return "at least" if open_ends else ""


def total_notes(
    product: Product, bought: Bought, sellers: Sequence[SellerTotal], rest: Leftover
) -> Iterator[str]:
    """Yield the totals in words: spend, buyers, leftover, the plain sum, alternates, and what is not known."""
    home = product.head.currency
    total = sum((seller.total for seller in sellers), _ZERO)
    if bought.rows:
        yield _total_note(bought, total, bound_of(product, bought), home)
        yield from _buyer_notes(bought, sellers, home)
        yield from _leftover_notes(rest, home, _left_bound(bought, rest))
        plain = plain_sum(bought.rows, total)
        if plain.amount or not plain.unpriced:
            yield _plain_note(plain, home)
    elif not _without_record(product, bought):
        yield "nothing to buy"
    yield from _switch_notes(bought)
    yield from (f"not known: {words}" for words in (*_without_record(product, bought), *bought.unknown))


def totals_table(product: Product, bought: Bought, sellers: Sequence[SellerTotal], rest: Leftover) -> Table:
    """Return what the notes say in sentences, a figure in each row, with its unit."""
    columns = (
        Column("total", "total"),
        Column("of", "of"),
        Column("bound", ""),
        Column("amount", "amount", "number"),
        Column("unit", "unit"),
    )
    home = product.head.currency
    total = sum((seller.total for seller in sellers), _ZERO)
    bound = bound_of(product, bought)
    rows: list[tuple[Cell, ...]] = [("spend", bought.ask.strategy, bound, _known(total, bound), home)]
    for buyer, own_bound, own in _by_buyer(bought, sellers):
        rows.append(("spend of a buyer", buyer, own_bound, _known(own, own_bound), home))
    rows += _left_rows(rest, _left_bound(bought, rest), bound, home)
    plain = plain_sum(bought.rows, total)
    rows += _plain_rows(plain, "at least" if plain.unpriced else "", home)
    return Table(key="totals", title="Totals", columns=columns, rows=rows if bought.rows else ())


def _left_rows(rest: Leftover, bound: str, spend_bound: str, home: str) -> Iterator[tuple[Cell, ...]]:
    """Yield what is left over in money, as a share and for each good unit; no share of a spend not known in full."""
    share = None if spend_bound or bound or rest.of_spend is None else Share(rest.of_spend)
    each = None if rest.each is None else _known(rest.each, bound)
    yield ("left over", "stock on hand included", bound, _known(rest.value, bound), home)
    yield ("left over", "of the spend", "", share, "%")
    yield ("left over", "each good unit", bound, each, home)


def _plain_rows(plain: PlainSum, bound: str, home: str) -> Iterator[tuple[Cell, ...]]:
    yield ("plain sum", "quantity times price", bound, _known(plain.amount, bound), home)
    yield ("plain sum", "covered by stock and open orders", bound, _known(plain.covered, bound), home)
    yield (
        "plain sum",
        "losses, packs, least orders, charges",
        "",
        None if bound else Amount(plain.beside),
        home,
    )


def _known(amount: Fraction, bound: str) -> Cell:
    """Return an amount; nothing is known where all that there is of it is a lower bound of zero."""
    return None if bound and not amount else Amount(amount)


def _left_bound(bought: Bought, rest: Leftover) -> str:
    return "at least" if rest.unknown or any(row.is_short for row in bought.rows) else ""


def _total_note(bought: Bought, total: Fraction, bound: str, home: str) -> str:
    unpriced = _unpriced(bought.rows)
    amount = f"{bound} {money(total)}".lstrip()
    return f"total, {bought.ask.strategy}: {amount} {home} for {counted(len(bought.rows), 'part')}" + (
        f"; {counted(unpriced, 'order has', 'orders have')} no known price" if unpriced else ""
    )


def _buyer_notes(bought: Bought, sellers: Sequence[SellerTotal], home: str) -> Iterator[str]:
    for buyer, bound, own in _by_buyer(bought, sellers):
        yield f"{buyer} pays {bound} {money(own)} {home}".replace("  ", " ")


def _by_buyer(bought: Bought, sellers: Sequence[SellerTotal]) -> Iterator[tuple[str, str, Fraction]]:
    """Yield what each buyer pays, with "at least" where that is a lower bound."""
    for buyer in sorted({seller.buyer for seller in sellers}):
        own = sum((seller.total for seller in sellers if seller.buyer == buyer), _ZERO)
        rows = [row for row in bought.rows if row.buyer == buyer]
        bound = "at least" if _unpriced(rows) or any(row.gross.unknown for row in rows) else ""
        yield buyer, bound, own


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
    amount = f"{bound} {money(rest.value)}".lstrip()
    words = [f"left over {amount} {home}, stock on hand included"]
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
