"""`cost --why` on what stands beside the cost: what a channel leaves, a tool's numbers, the breakeven."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction

from ferrule.compute.cost import UnitCost
from ferrule.compute.economics import Breakeven, margins_of
from ferrule.compute.margin import ChannelMargin
from ferrule.compute.tooling import ToolCost
from ferrule.compute.workings import figure_of, measured, per_unit, units_of
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.wording import money

__all__ = ["describe_breakeven", "describe_why_beside"]

Where = Callable[..., str]
_Row = tuple[Cell, ...]


def describe_why_beside(
    product: Product, cost: UnitCost, asked: str, label: str, where: Where
) -> Document | None:
    """Return how a channel's margin or a tool's numbers come about; None where neither is called so."""
    wanted = asked.casefold()
    for margin in margins_of(product, cost):
        if margin.channel.casefold() == wanted:
            return _document(product, cost, f"What {asked} leaves of one", label, _channel(margin, where))
    for tool in cost.tools:
        if tool.number.casefold() == wanted:
            table = _tool(product, cost, tool, where)
            return _document(product, cost, f"What tool {tool.number} costs one", label, table)
    return None


def describe_breakeven(
    product: Product, cost: UnitCost, even: Breakeven, label: str, where: Where
) -> Document:
    """Return what a plan spends whatever it sells, and what each of its sales leaves."""
    home = product.head.currency
    rows: list[_Row] = [
        (
            outlay.name,
            "" if outlay.amount is None else f"{outlay.times} x {money(outlay.amount / outlay.times)} {home}",
            None if outlay.amount is None else Amount(outlay.amount),
            where(*outlay.home),
        )
        for outlay in even.outlays
        if outlay.times or outlay.amount is None
    ]
    rows.append(("= spent whatever it sells", "", Amount(even.fixed), ""))
    for sold in even.mix:
        left = "nobody knows what" if sold.margin is None else per_unit(sold.margin, home)
        most = "at most " if sold.at_most else ""
        amount = None if sold.margin is None else Amount(sold.margin * sold.units)
        rows.append(
            (f"{sold.sku} in {sold.channel}", f"{units_of(Fraction(sold.units))} x {most}{left}", amount, "")
        )
    if even.contribution is not None:
        total = f"over {units_of(Fraction(even.units))}: {per_unit(even.contribution, home)}"
        rows.append(("= left by all sales", total, Amount(even.contribution * even.units), ""))
    return _document(
        product,
        cost,
        "What the plan spends and what its sales leave, beside",
        label,
        _table(rows, even.unknown),
    )


def _document(product: Product, cost: UnitCost, title: str, label: str, table: Table) -> Document:
    return Document(
        key="cost_why",
        title=f"{title} {cost.ask.sku} at {cost.ask.name}",
        facts=(
            ("sku", cost.ask.sku),
            ("quantity", Amount(cost.ask.qty, 3, trim=True)),
            ("state", label),
            ("currency", product.head.currency),
        ),
        tables=(table,),
    )


def _table(rows: Sequence[_Row], unknown: Sequence[str] = (), notes: Sequence[str] = ()) -> Table:
    return Table(
        key="working",
        columns=(
            Column("what", "what"),
            Column("working", "working"),
            Column("amount", "amount", "number"),
            Column("place", "place", whole=True),
        ),
        rows=rows,
        notes=(*notes, *(f"not known: {words}" for words in unknown)),
    )


def _channel(margin: ChannelMargin, where: Where) -> Table:
    place = where("assembly", margin.sku, "sale", margin.channel)
    rows: list[_Row] = [(words, "", Amount(amount, 4), "") for words, amount in margin.working]
    bound = "at most" if margin.at_most else ""
    rows.append(("= margin", bound, None if margin.margin is None else Amount(margin.margin, 4), place))
    notes = [f"naive: {margin.naive_words}"] if margin.naive_words else []
    return _table(rows, margin.unknown, notes)


def _tool(product: Product, cost: UnitCost, tool: ToolCost, where: Where) -> Table:
    home = product.head.currency
    rows = [(*row, where("tool", tool.number)) for row in _tool_rows(product, cost, tool, home)]
    return _table(rows)


def _tool_rows(product: Product, cost: UnitCost, tool: ToolCost, home: str) -> Iterator[_Row]:
    def cell(amount: Fraction | None, places: int) -> Cell:
        return None if amount is None else Amount(amount, places)

    cash = "its amount" if tool.cash is None else f"{money(tool.cash)} {home}"
    each = tool.made / cost.ask.qty
    pieces = measured(each, "piece in a unit" if each == 1 else "pieces in a unit")
    spread = f"{cash} / {figure_of(tool.over)} pieces x {pieces}" if tool.over else "not spread over pieces"
    yield "cash", "", cell(tool.cash, 2)
    yield "share in a unit", spread, cell(tool.each, 4)
    yield "if stopped here", f"{cash} / {units_of(cost.ask.qty)}", cell(tool.true_each, 4)
    scrap = product.tools[tool.number].scrap_value
    worth = f", less {scrap} it is still worth" if scrap is not None and scrap.number else ""
    over = f" less {figure_of(tool.made)} of {figure_of(tool.over)} pieces made" if tool.over else ""
    yield "open if stopped here", f"{cash}{over}{worth}", cell(tool.open, 2)
    if tool.in_customs_value != 0:
        words = "share in a unit" if tool.over else "spread over the units planned"
        yield "in the customs value of a unit", words, cell(tool.in_customs_value, 4)
