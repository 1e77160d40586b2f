"""`invoice`: a seller's invoice against the orders, and the quotes in force on the day of the order."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from msgspec import Struct

from ferrule.app.loading import load_snapshot
from ferrule.compute.invoice import CheckedInvoice, check_invoice
from ferrule.errors import FerruleError
from ferrule.load.invoice import read_invoice
from ferrule.model.invoice import Invoice
from ferrule.model.product import Product
from ferrule.model.text import nearest
from ferrule.source.git import find_git
from ferrule.source.products import Opened
from ferrule.source.snapshot import Snapshot

__all__ = ["InvoiceCheck", "invoice_check"]


class InvoiceCheck(Struct, frozen=True, kw_only=True):
    """An invoice checked, the revision whose quotes counted, and what to know about that."""

    product: Product
    found: CheckedInvoice
    state: str
    notes: tuple[str, ...]


def invoice_check(opened: Opened, path: Path, revision: str | None) -> InvoiceCheck:
    """Return an invoice checked; raises FerruleError for one that cannot be read.

    Quotes are those of ``revision``, else of the last commit up to the day of the order. That day is the invoice's
    word, else the latest of its orders', else the invoice's own day.
    """
    invoice = _read(path)
    snapshot = opened.read()
    newest = load_snapshot(snapshot).product
    _refuse_unknown_seller(newest, invoice.seller)
    ordered, notes = _ordered(invoice, newest)
    then, more = _then(opened, snapshot, revision, ordered)
    product = newest if then is snapshot else load_snapshot(then).product
    return InvoiceCheck(
        product=newest,
        found=check_invoice(invoice, product, newest, ordered),
        state=then.label,
        notes=(*notes, *more),
    )


def _read(path: Path) -> Invoice:
    try:
        data = path.read_bytes()
    except OSError as error:
        raise FerruleError(
            f"{path} cannot be read: {error.strerror or error}", "name a file that exists"
        ) from None
    invoice, faults = read_invoice(path.name, data)
    if invoice is None:
        raise FerruleError("; ".join(faults), "`ferrule invoice --help` shows both forms")
    return invoice


def _refuse_unknown_seller(product: Product, seller: str) -> None:
    known = sorted(
        {source.seller for _, _, item in product.items() for source in item.source if source.seller}
    )
    if seller not in {*known, *product.firms}:
        best = nearest(seller, known)
        raise FerruleError(
            f"no firm is called {seller}",
            f"did you mean {best}?" if best else f"sellers: {', '.join(known) or 'none'}",
        )


def _ordered(invoice: Invoice, product: Product) -> tuple[dt.date, tuple[str, ...]]:
    if invoice.ordered is not None:
        return invoice.ordered, ()
    named = {line.order for line in invoice.lines if line.order}
    days = [order.ordered for order in product.orders if order.id in named and order.ordered is not None]
    if days:
        return max(days), ()
    return invoice.date, ("the invoice names no day of the order: its own day counts",)


def _then(
    opened: Opened, snapshot: Snapshot, revision: str | None, ordered: dt.date
) -> tuple[Snapshot, tuple[str, ...]]:
    """Return the product as it was on the day of the order."""
    if revision is None:
        git = find_git(opened.top) if opened.top is not None else None
        if git is None:
            return snapshot, ("without a repository the quotes of today count",)
        revision = git.on_day(git.commit("HEAD"), ordered.isoformat())
        if revision is None:
            shallow = ", and this clone is shallow" if git.is_shallow() else ""
            return snapshot, (f"no commit is as old as {ordered}{shallow}: the quotes of today count",)
    found = opened.read_at(revision)
    if found is None:
        return snapshot, (f"the product is not in {revision}: the quotes of today count",)
    return found, ()
