"""What is missing to build a frozen build again, by hand: each way a part, quote, file or tool can be lost."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from fractions import Fraction

import msgspec
import pytest

from builders import TODAY, product
from ferrule.compute.lock import Stamp, lock_of
from ferrule.compute.lock_form import Lock
from ferrule.compute.rebuild import Gap, Price, Rebuild, rebuild

PART = """\
[part.CAP]
lifecycle = { status = "active" }
[[part.CAP.source]]
maker = "ashfield"
maker_part = "A1"
seller = "norholt"
status = "approved"
currency = "USD"
price = [{ from = 1, each = 0.50 }, { from = 100, each = 0.40 }]
quote = "Q-1"
quoted = 2026-10-01
valid_until = 2027-01-31
lead_time = "12 weeks"
[part.GLUE]
unit = "ml"
document = [{ kind = "specification", file = "docs/glue.txt" }]
[[part.GLUE.source]]
seller = "norholt"
status = "approved"
currency = "EUR"
pack = [{ form = "bottle", size = "0.3 l" }]
price = [{ from = 1, pack = 7 }]
"""
FILES = {
    "parts/p.toml": PART,
    "assemblies/u.toml": (
        '[assembly]\nid = "UNIT"\n[assembly.sale.web]\nlist_price = "5 EUR"\n'
        '[[line]]\nitem = 1\npart = "CAP"\nqty = 3\n[[line]]\nitem = 2\npart = "GLUE"\nrate = "2 ml"\n'
    ),
    "tools/t.toml": '[tool.T-1]\nname = "Mould"\nkind = "mould"\ncustodian = "saltreed"\nlife = 1000\nused = 10\n',
}


def lock() -> Lock:
    found = msgspec.structs.replace(product(FILES), digests={"docs/glue.txt": "d" * 64})
    stamp = Stamp(name="first", day=TODAY, stage="dvt", commit="c", ferrule="0", rules="r", files={})
    return lock_of(found, stamp)


def today(
    edits: dict[str, str],
    qty: str = "1",
    day: dt.date = TODAY,
    *,
    kept: bool = True,
    file: str = "parts/p.toml",
) -> Rebuild:
    text = FILES[file]
    for old, new in edits.items():
        assert old in text
        text = text.replace(old, new)
    now = product(FILES | {file: text})
    return rebuild(lock(), now, "UNIT", qty=Decimal(qty), today=day, kept=lambda _path, _digest: kept)


def words(found: Rebuild) -> list[tuple[str, str, str]]:
    return [(gap.kind, gap.number, gap.words) for gap in found.gaps]


def test_nothing_is_missing_on_the_day() -> None:
    found = today({})
    assert found.gaps == ()
    assert [(row.part, row.qty, row.then, row.now) for row in found.prices] == [
        ("CAP", Fraction(3), Price(Fraction(1, 2), "USD"), Price(Fraction(1, 2), "USD")),
        ("GLUE", Fraction(2), Price(Fraction(7, 300), "EUR"), Price(Fraction(7, 300), "EUR")),
    ]
    assert found.sum_now == {"EUR": Fraction(14, 300), "USD": Fraction(3, 2)}
    assert (found.without_then, found.without_now) == (0, 0)


@pytest.mark.parametrize(
    ("edits", "told"),
    [
        ({'status = "active"': 'status = "obsolete"'}, "not made any more"),
        (
            {'status = "active"': 'status = "last-time-buy", last_order = 2026-11-24'},
            "the last day to order was 2026-11-24",
        ),
        ({'seller = "norholt"\nstatus = "approved"\ncurrency = "USD"': 'seller = "norholt"\nstatus = "denied"\ncurrency = "USD"'}, "no source is approved any more"),
        ({'"A1"': '"A2"'}, "the source of then is not an approved one any more"),
    ],
)  # fmt: skip
def test_parts_without_the_source_of_then(edits: dict[str, str], told: str) -> None:
    assert words(today(edits)) == [("source", "CAP", told)]


def test_a_last_order_day_that_is_today_still_holds() -> None:
    assert today({'status = "active"': 'status = "last-time-buy", last_order = 2026-11-25'}).gaps == ()


def test_a_part_nobody_keeps_is_judged_by_the_record() -> None:
    later = dt.date(2027, 2, 1)
    now = product({"parts/p.toml": '[part.GLUE]\nunit = "ml"\n'})
    found = rebuild(lock(), now, "UNIT", qty=Decimal(1), today=later, kept=lambda _path, _digest: True)
    assert words(found)[:3] == [
        ("source", "CAP", "no file keeps this part any more"),
        ("source", "GLUE", "no source is approved any more"),
        ("quote", "Q-1", "the quote of norholt ended on 2027-01-31"),
    ]
    assert [(row.part, row.now) for row in found.prices] == [("CAP", None), ("GLUE", None)]
    assert found.without_now == 2


def test_a_quote_that_ended_and_one_that_was_renewed() -> None:
    later = dt.date(2027, 2, 1)
    assert today({}, day=later).gaps == (
        Gap(
            kind="quote", number="Q-1", words="the quote of norholt ended on 2027-01-31", then="2027-01-31",
            now="2027-01-31", parts=("CAP",),
        ),
    )  # fmt: skip
    assert today({"valid_until = 2027-01-31": "valid_until = 2027-12-31"}, day=later).gaps == ()
    assert today({}, day=dt.date(2027, 1, 31)).gaps == ()


def test_files_whose_content_is_lost() -> None:
    assert words(today({}, kept=False)) == [
        ("file", "docs/glue.txt", "this content is in no commit at hand and not on the disk")
    ]


@pytest.mark.parametrize(
    ("edits", "told"),
    [
        ({"used = 10": "used = 1000"}, "its life is used up"),
        ({'"saltreed"': '"harbour"'}, "lies elsewhere"),
        ({"T-1": "T-2"}, "no file keeps this tool any more"),
    ],
)
def test_tools(edits: dict[str, str], told: str) -> None:
    assert words(today(edits, file="tools/t.toml")) == [("tool", "T-1", told)]


def test_price_and_time_then_and_now_at_the_quantity_needed() -> None:
    """Forty units need 120 capacitors, past the break at 100; thirty need 90, before it."""
    edits = {"each = 0.40": "each = 0.45", '"12 weeks"': '"20 weeks"'}
    row = today(edits, "40").prices[0]
    assert (row.qty, row.then, row.now) == (
        Fraction(120),
        Price(Fraction(2, 5), "USD"),
        Price(Fraction(9, 20), "USD"),
    )
    assert (row.lead_then, row.lead_now) == ("12 weeks", "20 weeks")
    assert today(edits, "30").prices[0].now == Price(Fraction(1, 2), "USD")
