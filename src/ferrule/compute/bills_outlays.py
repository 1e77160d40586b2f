"""Bills that no part and no build causes: overhead, one-off costs, fees of loans, and money put in or paid back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from fractions import Fraction

from ferrule.compute.billing import Bill, Events, Purse, simple_bill
from ferrule.compute.outlays import occurrences
from ferrule.model.money import Money
from ferrule.model.records.common import Payment
from ferrule.model.records.firms import Firm
from ferrule.model.records.plan import Funding, Loan, OneOff, Overhead, Plan
from ferrule.model.records.product import Conventions
from ferrule.model.shares import Share

__all__ = ["funding_bills", "loan_fee_bills", "one_off_bills", "overhead_bills"]


def overhead_bills(purse: Purse, plan: Plan, overheads: tuple[Overhead, ...]) -> tuple[Bill, ...]:
    """Return overhead, day by day."""
    return tuple(
        _stated(purse, each.name, each.kind, each.amount, {"": day}, ("plan", plan.id, "overhead", index))
        for index, each in enumerate(overheads)
        for day in occurrences(plan, each)
    )


def one_off_bills(
    purse: Purse, plan: Plan, costs: tuple[OneOff, ...], first: Events | None, firms: Mapping[str, Firm]
) -> tuple[Bill, ...]:
    """Return one-off costs; ``first`` are the days of the first build, which their terms can name."""
    found = []
    for index, once in enumerate(costs):
        events: dict[str, dt.date | None] = dict(first or {})
        if once.when is not None:
            events |= dict.fromkeys(("", "invoice", "order", "receipt"), once.when.on(plan.start))
        payments = once.payment
        if once.due is not None and not payments:
            payments = (Payment(share=Share(), due=once.due),)
        home = ("plan", plan.id, "one_off", index)
        firm = firms.get(once.payee or "")
        found.append(
            _stated(purse, once.name, once.kind, once.amount, events, home, (once.payee, firm), payments)
        )
    return tuple(found)


def loan_fee_bills(
    purse: Purse, plan: Plan, loans: tuple[Loan, ...], firms: Mapping[str, Firm]
) -> tuple[Bill, ...]:
    """Return the fees of lines of credit."""
    found = []
    for index, loan in enumerate(loans):
        if loan.fee is None:
            continue
        day = loan.from_.on(plan.start) if loan.from_ is not None else plan.start
        home = ("plan", plan.id, "loan", index)
        lender = (loan.lender, firms.get(loan.lender or ""))
        found.append(_stated(purse, f"fee of {loan.name}", "loan fee", loan.fee, {"": day}, home, lender))
    return tuple(found)


def _stated(  # noqa: PLR0913, PLR0917  one stated amount with all that belongs to it
    purse: Purse,
    name: str,
    kind: str,
    amount: Money,
    events: Events,
    home: tuple[str | int, ...],
    payee: tuple[str | None, Firm | None] = (None, None),
    payments: tuple[Payment, ...] = (),
) -> Bill:
    return Bill(
        name=name,
        kind=kind,
        payer=purse.own,
        payee=payee[0] or name,
        amount=Fraction(amount.number),
        currency=amount.currency or purse.currency_of(payee[1]),
        payments=payments,
        events=events,
        reason=name,
        home=home,
    )


def funding_bills(
    purse: Purse, plan: Plan, funding: tuple[Funding, ...], conventions: Conventions
) -> tuple[Bill, ...]:
    """Return money that comes without a sale, and loans paid back, their interest apart. Grants are income."""
    found: list[Bill] = []
    for index, fund in enumerate(funding):
        found += _funded(purse, plan, fund, ("plan", plan.id, "funding", index), conventions.year_days)
    return tuple(found)


def _funded(
    purse: Purse, plan: Plan, fund: Funding, home: tuple[str | int, ...], year_days: int
) -> Iterator[Bill]:
    day, other, signed = fund.when.on(plan.start), fund.payer or fund.name, fund.signed
    amount = purse.rates.money(fund.amount, purse.home, purse.home)
    financing = fund.kind in ("equity", "loan", "deposit")
    yield simple_bill(
        purse,
        fund.name,
        fund.kind,
        other,
        amount,
        day,
        home,
        incoming=True,
        signed=signed,
        financing=financing,
    )
    if fund.repay is None:
        return
    back = fund.repay.on(plan.start)
    name = f"{fund.name}, paid back"
    yield simple_bill(purse, name, fund.kind, other, amount, back, home, signed=signed, financing=financing)
    if fund.interest is not None and fund.interest.number:
        part = Fraction(fund.interest.fraction) * (back - day).days / year_days
        owed = None if amount is None else amount * part
        name = f"interest of {fund.name}"
        yield simple_bill(purse, name, "interest", other, owed, back, home, signed=signed)
