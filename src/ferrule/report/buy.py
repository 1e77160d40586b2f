"""`buy` in words: the purchase list, put together from its tables and notes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction

from ferrule.compute.buy import Bought, BuyRow
from ferrule.compute.order_totals import by_seller, by_strategy, leftover
from ferrule.model.product import Product
from ferrule.report.buy_rows import builds_table, parts_table
from ferrule.report.buy_totals import bound_of, sellers_table, strategies_table, total_notes, totals_table
from ferrule.report.document import Document
from ferrule.report.wording import CAUTION, quantity

__all__ = ["TABLES", "USUAL", "describe_buy"]

#: Tables one can ask for by name.
TABLES = ("parts", "builds", "sellers", "strategies", "totals")
#: Those a reader gets unasked.
USUAL = ("parts", "sellers", "strategies")
_ZERO = Fraction(0)


def describe_buy(
    product: Product, bought: Bought, label: str, names: Sequence[str] = USUAL, sort: str = "part"
) -> Document:
    """Return the purchase list with the named tables."""
    sellers = by_seller(product, bought.rows, bought.ask.strategy)
    total = sum((seller.total for seller in sellers), _ZERO)
    rest = leftover(bought, total)
    tables = {
        "parts": parts_table(product, sorted(bought.rows, key=_sorter(sort))),
        "builds": builds_table(bought),
        "sellers": sellers_table(sellers),
        "strategies": strategies_table(
            by_strategy(product, bought) if bought.rows else (), bound_of(product, bought)
        ),
        "totals": totals_table(product, bought, sellers, rest),
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
        notes=tuple(total_notes(product, bought, sellers, rest)),
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
