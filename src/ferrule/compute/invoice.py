"""An invoice against what was agreed: the order where one is named, else the seller's quote in force on its day.

A difference is what is asked beyond the agreed price, beyond the quantity ordered, or as a charge that no quote has.
In the invoice's currency; an agreed price in another currency is turned by the product's rate and said. What was
never agreed is not known, not free.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.pooling import Market
from ferrule.compute.quotes import Quote
from ferrule.model.invoice import Invoice, InvoiceCharge, InvoiceLine
from ferrule.model.product import Product
from ferrule.model.records.common import Charge
from ferrule.model.records.counts import OpenOrder

__all__ = ["Checked", "CheckedInvoice", "check_invoice"]

_ZERO = Fraction(0)


class Checked(Struct, frozen=True, kw_only=True):
    """One line or charge: what is asked and agreed, and what is asked beyond it by cause; None where not known."""

    name: str
    order: str
    qty: Fraction | None
    agreed_qty: Fraction | None
    each: Fraction
    agreed_each: Fraction | None
    price: Fraction | None
    quantity: Fraction
    words: tuple[str, ...]

    @property
    def difference(self) -> Fraction | None:
        """Return what is asked beyond what was agreed; negative where it is less."""
        return None if self.price is None else self.price + self.quantity


class CheckedInvoice(Struct, frozen=True, kw_only=True):
    """An invoice checked. ``ordered`` is the day whose quotes counted."""

    invoice: Invoice
    ordered: dt.date
    rows: tuple[Checked, ...]

    @property
    def amount(self) -> Fraction:
        """Return what the invoice comes to."""
        lines = sum((Fraction(line.qty) * Fraction(line.each) for line in self.invoice.lines), _ZERO)
        return lines + sum((Fraction(charge.amount) for charge in self.invoice.charges), _ZERO)

    @property
    def difference(self) -> Fraction:
        """Return the known differences added up."""
        return sum((row.difference or _ZERO for row in self.rows), _ZERO)

    @property
    def unknown(self) -> tuple[str, ...]:
        """Return the names of what was never agreed."""
        return tuple(row.name for row in self.rows if row.price is None)

    @property
    def is_as_agreed(self) -> bool:
        """Return whether everything is known and nothing differs."""
        return not self.unknown and all(row.difference == 0 for row in self.rows)


def check_invoice(invoice: Invoice, in_force: Product, newest: Product, ordered: dt.date) -> CheckedInvoice:
    """Return an invoice checked: orders as the newest revision has them, quotes as the one in force has them."""
    checker = _Checker(invoice, Market(in_force), newest, ordered)
    rows = (*map(checker.line, invoice.lines), *map(checker.charge, invoice.charges))
    return CheckedInvoice(invoice=invoice, ordered=ordered, rows=rows)


class _Checker:
    def __init__(self, invoice: Invoice, market: Market, newest: Product, ordered: dt.date) -> None:
        self.invoice, self.market, self.newest, self.ordered = invoice, market, newest, ordered
        self.billed: dict[tuple[str, str], Fraction] = {}

    def line(self, line: InvoiceLine) -> Checked:
        order = self._order(line)
        words: list[str] = []
        if line.order and order is None:
            words.append(f"no open order {line.order} for {line.part} with {self.invoice.seller}")
        agreed = self._agreed(line, order, words)
        qty, each = Fraction(line.qty), Fraction(line.each)
        over = self._over(line, order, words)
        if agreed is None:
            return self._row(line, order, None, None, _ZERO, words)
        if each != agreed:
            words.append("dearer than agreed" if each > agreed else "cheaper than agreed")
        return self._row(line, order, agreed, (each - agreed) * qty, over * agreed, words)

    def _row(  # noqa: PLR0913, PLR0917  what a line comes to
        self,
        line: InvoiceLine,
        order: OpenOrder | None,
        agreed: Fraction | None,
        price: Fraction | None,
        quantity: Fraction,
        words: list[str],
    ) -> Checked:
        return Checked(
            name=line.part,
            order=line.order,
            qty=Fraction(line.qty),
            agreed_qty=Fraction(order.qty) if order is not None else None,
            each=Fraction(line.each),
            agreed_each=agreed,
            price=price,
            quantity=quantity,
            words=tuple(words),
        )

    def _order(self, line: InvoiceLine) -> OpenOrder | None:
        for order in self.newest.orders:
            if (order.id, order.part, order.seller) == (line.order, line.part, self.invoice.seller):
                return order
        return None

    def _over(self, line: InvoiceLine, order: OpenOrder | None, words: list[str]) -> Fraction:
        """Return how many of a line are beyond the order, lines above it counted; fewer are a part delivery."""
        if order is None:
            return _ZERO
        before = self.billed.get((order.id, order.part), _ZERO)
        self.billed[order.id, order.part] = before + Fraction(line.qty)
        over = max(_ZERO, before + Fraction(line.qty) - max(before, Fraction(order.qty)))
        if over:
            words.append(f"{over} more than are still to come")
        return over

    def _agreed(self, line: InvoiceLine, order: OpenOrder | None, words: list[str]) -> Fraction | None:
        """Return the agreed price of one in the invoice's currency."""
        tool = self.market.product.tools.get(line.part)
        if tool is not None:
            return (
                self._turned(Fraction(tool.amount.number), tool.amount.currency, words)
                if tool.amount
                else None
            )
        if order is not None and order.each is not None:
            quote = self._quote(line.part, [])
            own = order.each.currency or (quote.currency if quote is not None else "")
            return self._turned(Fraction(order.each.number), own, words)
        quote = self._quote(line.part, words)
        if quote is None or not self._in_force(quote):
            return None
        form = quote.forms[0] if quote is not None and quote.forms else None
        if form is None:
            words.append("no price was agreed")
            return None
        qty = Fraction(order.qty) if order is not None else Fraction(line.qty)
        if qty < form.least:
            words.append(f"less than the least order of {form.least}")
        return self._turned(form.own[form.break_at(max(qty, form.least))], quote.currency, words)

    def _quote(self, part: str, words: list[str]) -> Quote | None:
        """Return the seller's quote of a part: the first that was approved and in force, else the first."""
        found = [quote for quote in self.market.quotes(part) if quote.source.seller == self.invoice.seller]
        if not found:
            words.append(f"{self.invoice.seller} does not quote it")
            return None
        valid = [quote for quote in found if self._in_force(quote)]
        if not valid:
            words.append(f"no quote in force on {self.ordered}")
        return next(iter(sorted(valid or found, key=lambda quote: quote.source.status != "approved")))

    def _in_force(self, quote: Quote) -> bool:
        source = quote.source
        early = source.quoted is not None and source.quoted > self.ordered
        late = source.valid_until is not None and source.valid_until < self.ordered
        return not early and not late

    def _turned(self, amount: Fraction, currency: str, words: list[str]) -> Fraction | None:
        own = currency or self.market.product.head.currency
        if own == self.invoice.currency:
            return amount
        turned = self.market.rates.convert(amount, own, self.invoice.currency)
        words.append(f"agreed in {own}" if turned is not None else f"agreed in {own}, and no rate turns it")
        return turned

    def charge(self, charge: InvoiceCharge) -> Checked:
        """Return a charge against those of the seller's quotes for the parts of the invoice."""
        words: list[str] = []
        amounts = [
            self._charged(line, each, currency, words) for line, each, currency in self._charges(charge.name)
        ]
        asked = Fraction(charge.amount)
        if not amounts:
            words.append("no quote has this charge")
        agreed = None if None in amounts else sum((each or _ZERO for each in amounts), _ZERO)
        return Checked(
            name=charge.name,
            order="",
            qty=None,
            agreed_qty=None,
            each=asked,
            agreed_each=agreed,
            price=None if agreed is None else asked - agreed,
            quantity=_ZERO,
            words=tuple(dict.fromkeys(words)),
        )

    def _charges(self, name: str) -> Iterator[tuple[InvoiceLine, Charge, str]]:
        for line in self.invoice.lines:
            quote = self._quote(line.part, [])
            for each in quote.source.charge if quote is not None else ():
                if each.name.casefold() == name.casefold():
                    yield line, each, quote.currency if quote is not None else ""

    def _charged(self, line: InvoiceLine, charge: Charge, currency: str, words: list[str]) -> Fraction | None:
        factor = {"order": Fraction(1), "one-off": Fraction(1), "unit": Fraction(line.qty)}.get(charge.per)
        if factor is None:
            words.append(f"agreed by the {charge.per}, which an invoice does not say")
            return None
        amount = Fraction(charge.amount.number) * factor
        if charge.minimum is not None:
            amount = max(amount, Fraction(charge.minimum.number))
        return self._turned(amount, charge.amount.currency or currency, words)
