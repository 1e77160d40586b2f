"""`terms` in words: one offer at every price of money, and the discounts of a plan's own terms."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from ferrule.compute.bargains import Bargain, Price, Priced, Verdict
from ferrule.compute.credit import Between, YearlyCost
from ferrule.compute.early import Found, OfPlan
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.wording import CAUTION, FINANCE, counted, money, percent, quantity

__all__ = [
    "CAUTIONS",
    "YEARLY",
    "compounded",
    "describe_bargain",
    "describe_plan",
    "in_percent",
    "span_words",
]

CAUTIONS = (
    FINANCE,
    "Selling invoices, loans and guarantees can bind the company and those who sign in ways no figure here shows.",
    CAUTION,
)
#: Headings of a yearly rate, and how far one is written out.
YEARLY = "% a year"
_MOST = Fraction(10_000)
_LIMITS = {
    "discount": "worth taking from, %",
    "premium": "premium worth paying, % at most",
    "early payment": "worth giving, % at most",
    "factoring": "fee worth paying, % at most",
}


def in_percent(share: Fraction) -> Amount:
    """Return a share of one as a cell in percent."""
    return Amount(share * 100)


def compounded(rate: Between) -> Cell:
    """Return a rate with interest on interest in percent; one beyond all sense in words."""
    return "over 1,000,000" if rate.low > _MOST else in_percent(rate.near)


def span_words(span: Fraction, year: Fraction) -> str:
    """Return a span in the unit of its year."""
    return f"{quantity(span, 1)} {'weeks' if year == 52 else 'days'}"


def describe_bargain(
    priced: Priced, currency: str, *, stretched: tuple[Fraction, YearlyCost] | None = None
) -> Document:
    """Return one offer: what it costs a year, and whether to take it at each price of money."""
    bargain = priced.bargain
    return Document(
        key="terms",
        title=_title(bargain),
        facts=(
            ("answer", _answer(priced, currency)),
            *_figures(bargain),
            ("currency", currency or "as stated"),
        ),
        tables=tuple(table for table in (_verdicts(priced),) if table.rows),
        notes=tuple(_notes(priced, stretched)),
        cautions=CAUTIONS,
    )


def _title(bargain: Bargain) -> str:
    span, share = span_words(bargain.span, bargain.year), percent(bargain.cost / bargain.base, 2)
    return {
        "discount": f"A discount of {share} for paying {span} earlier",
        "premium": f"A premium of {share} for paying {span} later",
        "early payment": f"Giving {share} to be paid {span} earlier",
        "factoring": f"Selling an invoice {span} early for a fee of {share}",
    }[bargain.kind]


def _answer(priced: Priced, currency: str) -> str:
    if not priced.verdicts:
        return f"{_take_if(priced.bargain)} {percent(priced.bargain.yearly.simple, 2)} a year"
    return _verdict_words(priced.verdicts[0], currency)


def _take_if(bargain: Bargain) -> str:
    return f"take it if money costs you {'less' if bargain.gives_up else 'more'} than"


def _verdict_words(found: Verdict, currency: str) -> str:
    if found.answer == "either":
        return "either: both are worth the same"
    amount = f"{money(abs(found.gain))} {currency}".rstrip()
    return f"take it: gains {amount}" if found.answer == "take" else f"leave it: taking it loses {amount}"


def _figures(bargain: Bargain) -> Iterator[tuple[str, Cell]]:
    yield "amount", Amount(bargain.base)
    yield {"discount": "paid early", "premium": "kept"}.get(bargain.kind, "had early"), Amount(bargain.money)
    yield "saved" if bargain.gives_up else "cost", Amount(bargain.cost)
    yield "weeks" if bargain.year == 52 else "days", Amount(bargain.span, 1, trim=True)
    yearly = bargain.yearly
    yield "percent a year simple", in_percent(yearly.simple)
    yield "percent a year compounded", compounded(yearly.effective)
    yield "for each thousand", Amount(bargain.per_thousand)


def _verdicts(priced: Priced) -> Table:
    columns = (
        Column("price", "if"),
        Column("rate", YEARLY, "number"),
        Column("carrying", "the money costs", "number", rank=1),
        Column("gain", "gain if taken", "number"),
        Column("answer", "so"),
        Column("limit", _LIMITS[priced.bargain.kind], "number"),
    )
    rows = [
        (
            each.price.words,
            in_percent(each.rate),
            Amount(each.carrying),
            Amount(each.gain),
            each.answer,
            in_percent(each.limit),
        )
        for each in priced.verdicts
    ]
    return Table(key="verdicts", title="Take it or leave it", columns=columns, rows=rows)


def _notes(priced: Priced, stretched: tuple[Fraction, YearlyCost] | None) -> Iterator[str]:
    if stretched is not None:
        days, cost = stretched
        yield (
            f"left and paid {span_words(days, priced.bargain.year)} after the discount's day it costs "
            f"{percent(cost.simple, 2)} a year simple, {percent(cost.effective.near, 2)} compounded; what paying late does to "
            "trust and to the next delivery is in no rate"
        )
    yield from _price_notes([each.price for each in priced.verdicts])
    yield from _when_cash_binds(priced.verdicts)


def _price_notes(prices: Sequence[Price]) -> Iterator[str]:
    yield from (price.note for price in prices if price.note)
    if any(price.per_thousand is not None for price in prices):
        yield "a lever is paid for once, however long its money is had: its yearly rate is that over this time"


def _when_cash_binds(verdicts: Sequence[Verdict]) -> Iterator[str]:
    usual = [each for each in verdicts if not each.price.binds]
    binding = [each for each in verdicts if each.price.binds]
    if not binding:
        yield (
            "if cash binds, the price of the next best source of it decides, and it may have none: say it with "
            "--cash-binds, or name a plan with --plan"
        )
    elif usual:
        before, after = usual[0].answer, binding[0].answer
        change = f"stays: {after}" if before == after else f"changes from {before} to {after}"
        yield f"with the cheapest of what else brings cash ({_short(binding[0].price)}) the answer {change}"


def _short(price: Price) -> str:
    return price.words.removeprefix("cash binds, ")


def describe_plan(product: Product, found: OfPlan, label: str) -> Document:
    """Return every discount for paying early that a plan's terms offer, by party."""
    home, cash = product.head.currency, found.cash
    return Document(
        key="terms_plan",
        title=f"Which discounts to take or give: {product.plans[cash.plan].plan.name or cash.plan}",
        facts=(
            ("plan", cash.plan),
            ("trough as agreed", Amount(cash.ledger.trough.balance)),
            ("in week", cash.ledger.trough.number),
            ("floor", "none stated" if cash.floor is None else Amount(cash.floor)),
            ("state", label),
            ("currency", home),
        ),
        tables=tuple(table for table in (_parties(found), _at_prices(found), _payments(found)) if table.rows),
        notes=tuple(_plan_notes(found, home)),
        cautions=CAUTIONS,
    )


def _parties(found: OfPlan) -> Table:
    columns = (
        Column("party", "with"),
        Column("way", "who pays early"),
        Column("payments", "payments", "number", rank=4),
        Column("early", "paid early", "number"),
        Column("saved", "discount", "number"),
        Column("days", "days", "number"),
        Column("simple", f"simple, {YEARLY}", "number"),
        Column("compounded", f"compounded, {YEARLY}", "number", rank=3),
        Column("gain", "gain", "number"),
        Column("trough", "trough then", "number"),
        Column("week", "week", "number", rank=2),
        Column("answer", "so"),
    )
    rows = [
        (
            each.offers.party,
            "we do" if each.priced.bargain.gives_up else "they do",
            len(each.offers.events),
            Amount(each.priced.bargain.money),
            Amount(each.priced.bargain.cost),
            Amount(each.priced.bargain.span, 1, trim=True),
            in_percent(each.priced.bargain.yearly.simple),
            compounded(each.priced.bargain.yearly.effective),
            Amount(each.priced.verdicts[0].gain) if each.priced.verdicts else None,
            Amount(each.offers.trough.balance),
            each.offers.trough.number,
            _plan_answer(each),
        )
        for each in found.found
    ]
    return Table(key="discounts", title="Discounts for paying early", columns=columns, rows=rows)


def _plan_answer(found: Found) -> str:
    if found.below and found.priced.bargain.gives_up:
        return "leave: cash binds"
    if not found.priced.verdicts:
        return f"{'below' if found.priced.bargain.gives_up else 'above'} that rate take"
    return found.priced.verdicts[0].answer


def _at_prices(found: OfPlan) -> Table:
    columns = (
        Column("party", "with"),
        Column("price", "if"),
        Column("rate", YEARLY, "number"),
        Column("gain", "gain if taken", "number"),
        Column("answer", "so"),
        Column("limit", "equal at a discount of, %", "number", rank=1),
    )
    rows = [
        (
            each.offers.party,
            verdict.price.words,
            in_percent(verdict.rate),
            Amount(verdict.gain),
            verdict.answer,
            in_percent(verdict.limit),
        )
        for each in found.found
        for verdict in each.priced.verdicts
    ]
    return Table(key="prices", title="By what money costs", columns=columns, rows=rows)


def _payments(found: OfPlan) -> Table:
    columns = (
        Column("party", "with", rank=1),
        Column("document", "document"),
        Column("early_day", "early"),
        Column("early", "then", "number"),
        Column("day", "agreed"),
        Column("amount", "then", "number"),
        Column("terms", "terms", rank=2),
    )
    rows = [
        (
            each.offers.party,
            event.document,
            event.early.day.isoformat() if event.early is not None and event.early.day is not None else None,
            None if event.early is None or event.early.amount is None else Amount(abs(event.early.amount)),
            event.day.isoformat() if event.day is not None else None,
            None if event.amount is None else Amount(abs(event.amount)),
            event.words,
        )
        for each in found.found
        for event in each.offers.events
    ]
    return Table(key="payments", title="Payment by payment", columns=columns, rows=rows)


def _plan_notes(found: OfPlan, home: str) -> Iterator[str]:
    if not found.found:
        yield "no terms in this plan offer a discount for paying early"
    for each in found.found:
        if each.below:
            yield (
                f"with all of {each.offers.party}'s taken the balance falls to {money(each.offers.trough.balance)} {home} "
                f"in week {each.offers.trough.number}, {money(each.below)} below the floor"
            )
        if each.offers.unknown:
            yield f"{each.offers.party}: {counted(each.offers.unknown, 'payment')} of unknown day or amount left out"
    if not found.prices:
        yield "what money costs is not stated: policy.capital_rate in product.toml, or --rate"
    yield from _price_notes(found.prices)
