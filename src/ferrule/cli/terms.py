"""``ferrule terms``: one offer, and whether to take it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ferrule.cli.answer import print_document
from ferrule.cli.terms_options import (
    Asked,
    Length,
    Share,
    Sum,
    Sums,
    amount_option,
    asked_of,
    price_options,
    year_of,
)
from ferrule.model.duration import Duration
from ferrule.model.money import Money

if TYPE_CHECKING:
    from fractions import Fraction

    from ferrule.app.cashing import Cashing
    from ferrule.compute.bargains import Bargain
    from ferrule.compute.money_time import Every
    from ferrule.report.document import Document

__all__ = ["command"]


@click.group("terms", invoke_without_command=True)
@click.pass_context
def command(context: click.Context) -> None:
    """Say whether to take one offer of money for time, and what that gains; or every discount in a plan.

    An offer is stated in arguments and needs no product. What decides is what money costs you: --rate, and
    when cash binds what the next best source of it costs: --cash-binds, or --plan.
    """
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


@command.command("discount")
@click.argument("discount", type=Share())
@click.option("--within", type=Length(), required=True, help="Pay by then for the discount.")
@click.option("--net", "due", type=Length(), required=True, help="Pay by then in full.")
@click.option("--late", type=Length(), help="Or pay so much after the due day.")
@click.option("--penalty", type=Share(), default="0%", show_default=True, help="What paying late costs.")
@amount_option("The bill.")
@price_options
def _discount(
    discount: Fraction,
    within: Duration,
    due: Duration,
    late: Duration | None,
    penalty: Fraction,
    amount: Money,
    **given: Any,
) -> None:
    """Weigh a supplier's discount for paying early: `terms discount 2% --within 10 --net 30`."""
    from ferrule.app.stating_terms import a_discount, paid_late

    asked = asked_of(given)
    year, (by, then, *after) = year_of(asked, within, due, *([late] if late else []))
    bargain = a_discount("discount", amount, discount, (by, then), year)
    stretched = paid_late(discount, (by, then), after[0], penalty, year) if after else None
    _answer(asked, bargain, amount.currency, stretched=stretched)


@command.command("early")
@click.argument("discount", type=Share())
@click.option("--within", type=Length(), required=True, help="The customer pays by then for it.")
@click.option("--net", "due", type=Length(), required=True, help="Else by then, in full.")
@amount_option("The invoice.")
@price_options
def _early(discount: Fraction, within: Duration, due: Duration, amount: Money, **given: Any) -> None:
    """Weigh giving a customer a discount for paying early: `terms early 2% --within 14 --net 60`."""
    from ferrule.app.stating_terms import a_discount

    asked = asked_of(given)
    year, (by, then) = year_of(asked, within, due)
    _answer(asked, a_discount("early payment", amount, discount, (by, then), year), amount.currency)


@command.command("premium")
@click.argument("premium", type=Share())
@click.option("--for", "time", type=Length(), required=True, help="How much later it buys.")
@amount_option("The price without it.")
@price_options
def _premium(premium: Fraction, time: Duration, amount: Money, **given: Any) -> None:
    """Weigh paying a supplier more to pay later: `terms premium 3% --for 60`."""
    from ferrule.app.stating_terms import a_premium

    asked = asked_of(given)
    year, (span,) = year_of(asked, time)
    _answer(asked, a_premium(amount, premium, span, year), amount.currency)


@command.command("factoring")
@click.argument("fee", type=Share())
@click.option("--advance", type=Share(), required=True, help="Share of the invoice paid at once.")
@click.option("--for", "time", type=Length(), required=True, help="How much earlier that is.")
@click.option("--fee-first", is_flag=True, help="The fee comes off the advance, not off the rest.")
@amount_option("The invoice.")
@price_options
def _factoring(
    fee: Fraction, advance: Fraction, time: Duration, fee_first: bool, amount: Money, **given: Any
) -> None:
    """Weigh selling an unpaid invoice: `terms factoring 3% --advance 80% --for 45`."""
    from ferrule.app.stating_terms import a_receivable

    asked = asked_of(given)
    year, (span,) = year_of(asked, time)
    bargain = a_receivable(amount, advance, fee, span, year, fee_first=fee_first)
    _answer(asked, bargain, amount.currency)


@command.command("carrying")
@click.argument("amount", type=Sum())
@click.option("--for", "time", type=Length(), required=True, help="How long it is tied up.")
@click.option("--discount", type=Share(), default="0%", show_default=True, help="Taken off when it was paid.")
@price_options
def _carrying(amount: Money, time: Duration, discount: Fraction, **given: Any) -> None:
    """Say what money tied up costs, on what was really paid: `terms carrying 1530 --for "13 weeks"`."""
    from ferrule.app.stating_terms import tied_up
    from ferrule.report.terms_more import describe_carrying

    asked = asked_of(given)
    year, (span,) = year_of(asked, time)
    prices, _ = _prices(asked)
    found = tied_up(amount, discount, span, year, prices)
    _print(asked, describe_carrying(found, amount.currency))


@command.command("swap")
@click.option("--price", type=Sum(), required=True, help="The price as agreed.")
@click.option("--deposit", type=Share(), default="0%", show_default=True, help="Agreed, with the order.")
@click.option("--balance", type=Length(), required=True, help="When the rest is agreed for, after the order.")
@click.option("--asked-price", type=Sum(), help="The price they ask now [default: as agreed].")
@click.option("--asked-deposit", type=Share(), help="The deposit they ask now [default: as agreed].")
@click.option("--asked-balance", type=Length(), help="When they ask for the rest [default: as agreed].")
@price_options
def _swap(
    price: Money,
    deposit: Fraction,
    balance: Duration,
    asked_price: Money | None,
    asked_deposit: Fraction | None,
    asked_balance: Duration | None,
    **given: Any,
) -> None:
    """Say what to ask in return for other terms: `terms swap --price 10000 --balance 60 --asked-deposit 30%`."""
    from ferrule.app.stating_terms import in_return
    from ferrule.report.terms_more import describe_swap

    asked = asked_of(given)
    year, (agreed_lag, asked_lag) = year_of(asked, balance, asked_balance or balance)
    prices, _ = _prices(asked)
    found = in_return(
        (price, deposit, agreed_lag),
        (asked_price or price, deposit if asked_deposit is None else asked_deposit, asked_lag),
        year,
        prices,
    )
    _print(asked, describe_swap(found, price.currency))


@command.command("payback")
@click.option("--spend", type=Sum(), required=True, help="What is paid now.")
@click.option("--back", type=Sums(), required=True, help="What comes back in each period, parted by commas.")
@click.option(
    "--every",
    type=click.Choice(["year", "quarter", "month", "week"]),
    default="year",
    show_default=True,
    help="The period.",
)
@price_options
def _payback(spend: Money, back: tuple[Fraction, ...], every: Every, **given: Any) -> None:
    """Say when money spent is back, and what it earns: `terms payback --spend 95000 --back 20000,25000`."""
    from ferrule.app.stating_terms import paid_back
    from ferrule.report.terms_more import describe_payback

    asked = asked_of(given)
    prices, _ = _prices(asked)
    _print(asked, describe_payback(paid_back(spend, back, every, prices), spend.currency))


@command.command("cycle")
@click.option("--stock", type=Sum(), required=True, help="Stock, at cost.")
@click.option("--receivables", type=Sum(), required=True, help="What customers owe.")
@click.option("--payables", type=Sum(), required=True, help="What suppliers are owed.")
@click.option("--sales", type=Sum(), required=True, help="Sales of a year.")
@click.option("--cost-of-goods", type=Sum(), required=True, help="Cost of what was sold in a year.")
@price_options
def _cycle(
    stock: Money, receivables: Money, payables: Money, sales: Money, cost_of_goods: Money, **given: Any
) -> None:
    """Say how many days money is under way, from paying suppliers to being paid."""
    from ferrule.app.stating_terms import cycle_of
    from ferrule.report.terms_more import describe_cycle

    asked = asked_of(given)
    year, _ = year_of(asked)
    found = cycle_of(stock, receivables, payables, sales, cost_of_goods, year)
    _print(asked, describe_cycle(found, stock.currency))


@command.command("plan")
@click.argument("plan_name", metavar="[PLAN]", required=False)
@click.option(
    "--with", "party", metavar="NAME", help="Only the discounts of this firm, channel, part or tool."
)
@price_options
def _plan(plan_name: str | None, party: str | None, **given: Any) -> None:
    """Weigh every discount for paying early that a plan's own terms offer, and what it does to the trough."""
    from ferrule.app.cashing import AS_AGREED, cash_of
    from ferrule.app.pricing_terms import of_plan
    from ferrule.report.terms import describe_plan

    asked = asked_of({**given, "plan": plan_name or given["plan"]})
    if asked.year is not None:
        raise click.UsageError("a plan's year is stated by its product: conventions.year_days")
    cashing = _cashing(asked)
    cash = next(cash_of(cashing, (AS_AGREED,)))[0]
    found = of_plan(cashing, cash, _stated(asked), party)
    _print(asked, describe_plan(cashing.product, found, cashing.label), cashing.faults)


def _answer(asked: Asked, bargain: Bargain, currency: str, **more: Any) -> None:
    """Price a bargain and print whether to take it."""
    from ferrule.compute.bargains import price_bargain
    from ferrule.report.terms import describe_bargain

    prices, cashing = _prices(asked)
    document = describe_bargain(price_bargain(bargain, prices), currency, **more)
    _print(asked, document, cashing.faults if cashing is not None else 0)


def _prices(asked: Asked) -> tuple[Any, Cashing | None]:
    from ferrule.app.pricing_terms import prices_of

    cashing = _cashing(asked) if asked.plan is not None else None
    return prices_of(_stated(asked), cashing), cashing


def _stated(asked: Asked) -> Any:
    from ferrule.app.pricing_terms import Stated

    return Stated(rate=asked.rate, binds=asked.cash_binds)


def _cashing(asked: Asked) -> Cashing:
    from ferrule.app.cashing import open_cash
    from ferrule.cli.options import one
    from ferrule.source.products import open_products

    opened = one(open_products(Path.cwd(), product=asked.folder, revision=asked.revision, index=asked.index))
    return open_cash(opened.read(), asked.plan, asked.today)


def _print(asked: Asked, document: Document, faults: int = 0) -> None:
    print_document(document, asked.form, faults, table=asked.table)
