"""An invoice against what was agreed, by hand."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from fractions import Fraction

import pytest

from builders import product
from ferrule.compute.invoice import Checked, CheckedInvoice, check_invoice
from ferrule.load.invoice import read_invoice
from ferrule.model.invoice import Invoice, InvoiceCharge, InvoiceLine

FILES = {
    "parts/p.toml": """\
[part.P]
[[part.P.source]]
maker = "m"
seller = "s"
status = "approved"
currency = "USD"
quoted = 2026-09-01
valid_until = 2026-12-31
moq = 100
price = [{ from = 100, each = 2 }, { from = 1000, each = 1.5 }]
charge = [
  { name = "Reel set-up", amount = 30, per = "order" },
  { name = "gauge", amount = 0.01, per = "unit", minimum = 20 },
  { name = "freight", amount = 5, per = "carton" },
]
[part.Q]
[[part.Q.source]]
seller = "other"
status = "approved"
currency = "USD"
""",
    "counts/c.toml": """\
[[order]]
id = "PO-1"
part = "P"
seller = "s"
qty = 500
ordered = 2026-10-01
each = "1.80 USD"
""",
    "firms/f.toml": '[[rate]]\nrate = "1 EUR = 1.25 USD"\ndate = 2026-11-20\n',
    "tools/t.toml": '[tool.T-1]\nname = "Mould"\nkind = "mould"\nmakes = ["P"]\namount = "9000 USD"\n',
}
DAY = dt.date(2026, 11, 2)


def line(qty: int | str, each: str, part: str = "P", order: str = "") -> InvoiceLine:
    return InvoiceLine(part=part, qty=Decimal(qty), each=Decimal(each), order=order)


def checked(*lines: InvoiceLine, charges: tuple[tuple[str, int], ...] = (), **named: str) -> CheckedInvoice:
    made = product(FILES)
    invoice = Invoice(
        number="1",
        seller=named.get("seller", "s"),
        date=DAY,
        currency=named.get("currency", "USD"),
        lines=lines,
        charges=tuple(InvoiceCharge(name=name, amount=Decimal(amount)) for name, amount in charges),
    )
    return check_invoice(invoice, made, made, dt.date.fromisoformat(named.get("ordered", "2026-11-02")))


def only(found: CheckedInvoice) -> Checked:
    (row,) = found.rows
    return row


def test_as_quoted_at_the_break_of_its_quantity() -> None:
    assert checked(line(1000, "1.5")).is_as_agreed
    assert only(checked(line(999, "1.5"))).difference == Fraction(-999, 2)
    assert only(checked(line(1000, "2"))).words == ("dearer than agreed",)
    assert checked(line(1000, "2")).difference == 500


def test_an_order_has_its_own_price_and_quantity() -> None:
    row = only(checked(line(520, "2", order="PO-1")))
    assert (row.agreed_each, row.price, row.quantity) == (Fraction("1.8"), Fraction(104), Fraction(36))
    assert row.words == ("20 more than are still to come", "dearer than agreed")
    assert checked(line(300, "1.8", order="PO-1")).is_as_agreed  # a part delivery


def test_two_lines_of_one_order_count_together() -> None:
    found = checked(line(300, "1.8", order="PO-1"), line(300, "1.8", order="PO-1"))
    assert [row.quantity for row in found.rows] == [Fraction(0), Fraction(180)]


def test_what_was_never_agreed_is_not_known_and_not_free() -> None:
    for found, told in (
        (checked(line(10, "1", part="Q")), "s does not quote it"),
        (checked(line(1000, "1.5"), ordered="2027-01-01"), "no quote in force on 2027-01-01"),
        (checked(line(1000, "1.5"), ordered="2026-08-31"), "no quote in force on 2026-08-31"),
        (checked(line(10, "1", part="Q"), seller="other"), "no quote in force"),
    ):
        row = only(found)
        assert row.difference is None
        assert not found.is_as_agreed
        assert told in row.words[0] or row.words == ("no price was agreed",)
    assert only(checked(line(100, "2", order="PO-9"))).words == ("no open order PO-9 for P with s",)


def test_less_than_the_least_order_is_said() -> None:
    row = only(checked(line(50, "2")))
    assert (row.agreed_each, row.words) == (Fraction(2), ("less than the least order of 100",))


def test_another_currency_is_turned_and_said() -> None:
    row = only(checked(line(1000, "1.2"), currency="EUR"))
    assert (row.agreed_each, row.difference, row.words) == (Fraction("1.2"), Fraction(0), ("agreed in USD",))
    assert only(checked(line(1000, "1.2"), currency="NOK")).words == ("agreed in USD, and no rate turns it",)


@pytest.mark.parametrize(
    ("name", "asked", "difference"),
    [
        ("reel set-up", 30, 0),
        ("reel set-up", 45, 15),
        ("gauge", 20, 0),
        ("fuel", 12, 12),
        ("freight", 5, None),
    ],
)
def test_charges_against_those_of_the_quotes(name: str, asked: int, difference: int | None) -> None:
    """The gauge at 0.01 for 1,000 comes to 10, but at least 20; a carton's freight an invoice cannot show."""
    row = checked(line(1000, "1.5"), charges=((name, asked),)).rows[1]
    assert row.difference == difference


def test_a_tool_at_its_price() -> None:
    assert only(checked(line(1, "9500", part="T-1"))).difference == 500


# --- files -----------------------------------------------------------------------------------------------

CSV = (
    "number,seller,date,ordered,currency,part,order,qty,each,charge,amount\n"
    "7,s,2026-11-02,2026-10-01,USD,P,PO-1,500,1.80,,\n"
    "7,s,2026-11-02,2026-10-01,USD,,,,,fuel,12.50\n"
)
TOML = """\
[invoice]
number = "7"
seller = "s"
date = 2026-11-02
ordered = 2026-10-01
currency = "USD"
[[line]]
part = "P"
order = "PO-1"
qty = 500
each = 1.80
[[charge]]
name = "fuel"
amount = 12.50
"""


def test_both_forms_say_the_same() -> None:
    one, other = read_invoice("a.csv", CSV.encode()), read_invoice("a.toml", TOML.encode())
    assert one == other
    assert one[0] is not None
    assert (one[0].ordered, one[0].lines[0].each, one[0].charges[0].amount) == (
        dt.date(2026, 10, 1),
        Decimal("1.80"),
        Decimal("12.50"),
    )


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("a.csv", CSV.replace("seller", "seler"), "the heading has no 'seler'; did you mean 'seller'?"),
        ("a.csv", CSV.replace("500", "many"), "row 2 has 'many' as qty; write a number such as 12.50"),
        ("a.csv", CSV.replace("500", "-5"), "row 2 has '-5' as qty"),
        ("a.csv", CSV.replace("500", "NaN"), "row 2 has 'NaN' as qty"),
        (
            "a.csv",
            CSV.replace("7,s,2026-11-02,2026-10-01,USD,,", "8,s,2026-11-02,2026-10-01,USD,,"),
            "row 3 says number 8",
        ),
        ("a.csv", CSV.replace("2026-11-02", "2.11.2026"), "date '2.11.2026' is no date"),
        ("a.csv", CSV.splitlines()[0] + "\n", "has no line and no charge"),
        ("a.toml", TOML.replace('"USD"', '"US"'), "US is no currency of ISO 4217"),
        (
            "a.toml",
            TOML.replace("[invoice]", "[invoic]"),
            "the file has no 'invoic'; did you mean 'invoice'?",
        ),
        ("a.toml", "x =", "Invalid value"),
        ("a.toml", TOML.replace("[[line]]", "[line]"), "write each line as [[line]]"),
    ],
)
def test_what_is_wrong_with_a_file_is_told(name: str, text: str, told: str) -> None:
    invoice, faults = read_invoice(name, text.encode())
    assert invoice is None
    assert told in " ".join(faults)
