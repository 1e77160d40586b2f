"""Answers as they come back: round trips with planted changes, and what is written of them."""

from __future__ import annotations

import io
import zipfile
from fractions import Fraction
from pathlib import Path

import openpyxl  # type: ignore[import-untyped]
import pytest
import tomli

from builders import load
from ferrule.app.quoting_read import ReadQuote, write_sources
from ferrule.errors import FerruleError
from git_builders import ferrule
from quote_builders import copied, csv_text, filled, read, sent, written

PRODUCT = {
    "product.toml": '[product]\nid = "T"\nname = "T"\ncurrency = "EUR"\nstage = "dvt"\n',
    "firms/f.toml": """
[firm.seller]
name = "Brook Supply"
currency = "USD"
disclosure = { level = "outline" }
[firm.other]
name = "Other"
currency = "USD"
disclosure = { level = "outline" }
[firm.alder]
name = "Alder Works"
[[rate]]
rate = "1 EUR = 1.25 USD"
date = 2026-11-20
""",
    "parts/p.toml": """# our parts

[part.A]
name = "Spring"  # the long one
[[part.A.source]]
maker = "alder"
maker_part = "AW-1"
seller = "seller"
status = "approved"

# washers are washers
[part.B]
name = "Washer"
[[part.B.source]]
maker = "alder"
maker_part = "AW-2"
seller = "seller"
[part.C]
name = "Wire"
unit = "m"
[[part.C.source]]
seller = "seller"
""",
}
Prices = tuple[Fraction | None, ...]


@pytest.fixture
def asked(tmp_path: Path) -> Path:
    """Return a product that asked Brook Supply for A, B and C at 100 and 1,000, the pack beside it."""
    product = written(tmp_path / "p", PRODUCT)
    sent(product, "seller", tmp_path / "pack", quantities=(100, 1000), term="FCA Brook depot")
    return product


def rows_of(asked: Path, price: str = "1.5", **fill: str) -> dict[str, dict[str, str]]:
    rows = filled(asked.parent / "pack", lambda _, column: price if not column else "1.25", **fill)
    return {row["name"]: row for row in rows}


def answered(
    asked: Path, rows: dict[str, dict[str, str]] | list[dict[str, str]], delimiter: str = ","
) -> ReadQuote:
    path = asked.parent / "answer.csv"
    path.write_text(csv_text(list(rows.values()) if isinstance(rows, dict) else rows, delimiter), "utf-8")
    return read(asked, path)


def prices(done: ReadQuote) -> dict[str, Prices]:
    return {line.part: line.prices for line in done.answer.lines}


def kinds(done: ReadQuote) -> list[tuple[str, str]]:
    return [(each.kind, each.part) for each in done.answer.differences]


FULL = {part: (Fraction("1.5"), Fraction("1.25")) for part in "ABC"}


def test_an_untouched_answer_has_all_prices_and_no_difference(asked: Path) -> None:
    done = answered(asked, rows_of(asked))
    assert prices(done) == FULL
    assert kinds(done) == []
    line = done.answer.lines[0]
    assert (line.currency, str(line.incoterm), str(line.lead_time)) == ("USD", "FCA Brook depot", "10 weeks")
    assert (str(line.valid_until), str(line.quoted)) == ("2027-01-31", "2026-11-26")


def test_moved_columns_semicolons_decimal_commas_and_a_title_above_are_read(asked: Path) -> None:
    rows = [dict(reversed(row.items())) for row in rows_of(asked, "1,5").values()]
    for row in rows:
        row["price of one at 1000"] = "1,25"
    path = asked.parent / "answer.csv"
    path.write_text("Our offer;;\n\n" + csv_text(rows[::-1], ";"), "utf-16")
    done = read(asked, path)
    assert prices(done) == FULL
    assert kinds(done) == []


def test_a_workbook_comes_back(asked: Path) -> None:
    path = next((asked.parent / "pack").glob("*.xlsx"))
    book = openpyxl.load_workbook(path)
    sheet = book.active
    heads = {cell.value: cell.column for cell in sheet[1]}
    for row in range(2, sheet.max_row + 1):
        sheet.cell(row, heads["price of one at 100"]).value = 1.5
        sheet.cell(row, heads["price of one at 1000"]).value = 1.25
        sheet.cell(row, heads["valid until"]).value = "31.01.2027"
    sheet.insert_cols(2)
    sheet.cell(1, 2).value = "our remarks"
    book.save(asked.parent / "answer.xlsx")
    done = read(asked, asked.parent / "answer.xlsx")
    assert prices(done) == FULL
    assert kinds(done) == [("not asked", "")]


SPRING, WASHER, WIRE = "Spring", "Washer", "Wire"


@pytest.mark.parametrize(
    ("cells", "kind", "left"),
    [
        ({"price of one at 100": ""}, "not priced", (None, Fraction("1.25"))),
        ({"price of one at 100": "n/a"}, "not priced", (None, Fraction("1.25"))),
        ({"price of one at 100": "0"}, "no price", (None, Fraction("1.25"))),
        ({"price of one at 100": "0.00 USD"}, "no price", (None, Fraction("1.25"))),
        ({"price of one at 100": "-1"}, "no price", (None, Fraction("1.25"))),
        ({"price of one at 100": "on request"}, "no price", (None, Fraction("1.25"))),
        ({"price of one at 100": "=1+2"}, "no price", (None, Fraction("1.25"))),
        ({"price of one at 100": '=HYPERLINK("http://x","y")'}, "no price", (None, Fraction("1.25"))),
        ({"price of one at 100": "~1.5"}, "no price", (None, Fraction("1.25"))),
        ({"price of one at 100": "150 / 100"}, None, (Fraction("1.5"), Fraction("1.25"))),
        ({"price of one at 100": "1.5 EUR"}, "no currency", (None, None)),
        ({"currency": "EUR"}, "other currency", (Fraction("1.5"), Fraction("1.25"))),
        ({"currency": ""}, "no currency", (None, None)),
        ({"currency": "Taler"}, "no currency", (None, None)),
        ({"delivery term": "DAP Wexmouth"}, "other term", (Fraction("1.5"), Fraction("1.25"))),
        ({"delivery term": ""}, "other term", (Fraction("1.5"), Fraction("1.25"))),
        ({"valid until": ""}, "no validity", (Fraction("1.5"), Fraction("1.25"))),
        ({"valid until": "2026-11-24"}, "expired", (None, None)),
        ({"valid until": "2026-11-25"}, None, (Fraction("1.5"), Fraction("1.25"))),
        ({"offered number": "XX-9"}, "substituted", (Fraction("1.5"), Fraction("1.25"))),
        ({"offered number": "aw - 1"}, None, (Fraction("1.5"), Fraction("1.25"))),
        ({"maker you offered": "Somebody SB-1"}, "substituted", (Fraction("1.5"), Fraction("1.25"))),
        ({"quantity for 100": "90"}, "changed quantity", (None, Fraction("1.25"))),
        ({"quantity for 100": "100.00"}, None, (Fraction("1.5"), Fraction("1.25"))),
        ({"unit": "pack"}, "changed unit", (None, None)),
        ({"name": "Spring, short"}, "changed text", (Fraction("1.5"), Fraction("1.25"))),
        ({"lead time": "soon"}, "not read", (Fraction("1.5"), Fraction("1.25"))),
        ({"quote date": "03/04/2026"}, "not read", (Fraction("1.5"), Fraction("1.25"))),
        ({"order step": "-5"}, "not read", (Fraction("1.5"), Fraction("1.25"))),
    ],
)
def test_a_planted_change_is_listed_and_a_hole_stays_a_hole(
    asked: Path, cells: dict[str, str], kind: str | None, left: Prices
) -> None:
    rows = rows_of(asked)
    rows[SPRING] |= cells
    done = answered(asked, rows)
    wanted = [] if kind is None else [(kind, "A")]
    assert [each for each in kinds(done) if each[0] != "not read" or kind == "not read"] == wanted
    assert prices(done) == FULL | {"A": left}
    assert [each.row for each in done.answer.differences if each.part] == [
        next(at for at, name in enumerate(rows, 2) if name == SPRING)
    ] * len(wanted)


def test_every_price_above_nought_must_be_certain(asked: Path) -> None:
    rows = rows_of(asked)
    for row in rows.values():
        row["price of one at 100"], row["price of one at 1000"] = "1,250", "1,125"
    done = answered(asked, rows)
    assert prices(done) == dict.fromkeys("ABC", (None, None))
    assert {each.kind for each in done.answer.differences} == {"no price"}


def test_lines_gone_repeated_unknown_and_added(asked: Path) -> None:
    rows = list(rows_of(asked).values())
    spring, washer, wire = (
        next(row for row in rows if row["name"] == name) for name in (SPRING, WASHER, WIRE)
    )
    odd = dict.fromkeys(spring, "")
    done = answered(
        asked,
        [
            spring,
            dict(spring),
            wire,
            wire | {"price of one at 100": "9"},
            spring | {"line id": "LAAAAAAAAAAAA"},
            odd | {"name": "packing extra", "price of one at 100": "12"},
        ],
    )
    assert sorted(kinds(done)) == [
        ("added row", ""),
        ("line gone", "B"),
        ("repeated line", "A"),
        ("repeated line", "C"),
        ("unknown line", ""),
    ]
    # the same twice is the price; two prices are none
    assert prices(done) == {"A": FULL["A"], "B": (None, None), "C": (None, None)}
    assert washer["name"] == WASHER


def test_a_sheet_made_for_somebody_else_tells_on_itself(asked: Path) -> None:
    sent(asked, "other", asked.parent / "pack2", quantities=(100, 1000), parts=("A", "B"))
    mine = list(rows_of(asked).values())
    theirs = filled(asked.parent / "pack2", lambda *_: "1")
    mixed = [row | {"sheet": theirs[0]["sheet"]} for row in mine]
    mixed.append(dict.fromkeys(mine[0], "") | {"line id": theirs[0]["line id"]})
    done = answered(asked, mixed)
    words = [each.words for each in done.answer.differences]
    assert any("which was sent to other" in text for text in words)
    assert any("was sent to other, not to seller" in text for text in words)
    assert done.answer.recipient == "seller"


def test_without_its_mark_the_sheet_is_still_matched(asked: Path) -> None:
    rows = [row | {"sheet": "QZZZ"} for row in rows_of(asked).values()]
    done = answered(asked, rows)
    assert prices(done) == FULL
    assert [each.kind for each in done.answer.differences] == ["other sheet", "other sheet"]
    assert '"QZZZ", which we never made' in done.answer.differences[0].words


def test_a_lost_price_column_is_told_once_and_its_prices_are_holes(asked: Path) -> None:
    rows = [
        {key: text for key, text in row.items() if key != "price of one at 1000"}
        for row in rows_of(asked).values()
    ]
    done = answered(asked, rows)
    assert ("not read", "") in kinds(done)
    assert prices(done) == dict.fromkeys("ABC", (Fraction("1.5"), None))


def test_a_part_that_we_supply_has_no_hole(tmp_path: Path) -> None:
    product = copied(tmp_path / "p")
    folder = sent(product, "harbour", tmp_path / "pack", assembly="W20-220", quantities=(500,))
    (tmp_path / "a.csv").write_text(csv_text(filled(folder, lambda *_: "1.00")), "utf-8")
    done = read(product, tmp_path / "a.csv")
    ours = next(line for line in done.answer.lines if line.part == "MIC-MEMS")
    assert (ours.supplied_by_us, ours.holes) == (True, 0)
    assert len(done.answer.asked) == 8
    assert done.answer.differences == ()


# --- files that are no answers ---------------------------------------------------------------------------


def refused(asked: Path, name: str, data: bytes) -> FerruleError:
    path = asked.parent / name
    path.write_bytes(data)
    with pytest.raises(FerruleError) as raised:
        read(asked, path)
    return raised.value


def test_a_zip_bomb_a_picture_and_a_broken_workbook_are_refused_in_words(asked: Path) -> None:
    bomb = io.BytesIO()
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", b"<x/>")
        archive.writestr("xl/worksheets/sheet1.xml", b" " * (300 * 1024 * 1024))
    assert "unpacks to more than 256 MiB" in refused(asked, "bomb.xlsx", bomb.getvalue()).message
    assert "a picture, no table" in refused(asked, "scan.csv", b"\x89PNG\r\n").message
    assert "cannot be unpacked" in refused(asked, "x.xlsx", b"PK\x03\x04 torn").message
    assert 'no column headed "line id"' in refused(asked, "other.csv", b"a,b\n1,2\n").message
    assert (
        "no line of it was ever sent"
        in refused(asked, "none.csv", b"line id,price of one at 100\nLX,2\n").message
    )


def test_a_formula_without_a_stored_value_is_a_hole_and_is_told(asked: Path) -> None:
    path = next((asked.parent / "pack").glob("*.xlsx"))
    book = openpyxl.load_workbook(path)
    sheet = book.active
    heads = {cell.value: cell.column for cell in sheet[1]}
    sheet.cell(2, heads["price of one at 100"]).value = "=1+1"
    book.save(asked.parent / "answer.xlsx")
    done = read(asked, asked.parent / "answer.xlsx")
    assert all(price is None for line in done.answer.lines for price in line.prices)
    assert any("formulas have no stored result" in note for note in done.answer.notes)


def test_without_a_request_on_record_nothing_is_matched(tmp_path: Path) -> None:
    product = written(tmp_path / "p", PRODUCT)
    (tmp_path / "a.csv").write_text("line id\nL1\n")
    with pytest.raises(FerruleError, match="no request for a quote is on record"):
        read(product, tmp_path / "a.csv")


# --- writing ---------------------------------------------------------------------------------------------


def test_priced_lines_become_trial_sources_and_comments_stay(asked: Path) -> None:
    before = (asked / "parts/p.toml").read_text("utf-8")
    rows = rows_of(asked, "1.5", remark="in stock", least_order="50", order_step="10", one_off_charge="30")
    rows = {
        name: {("one-off charge" if key == "one off charge" else key): text for key, text in row.items()}
        for name, row in rows.items()
    }
    rows[WASHER] |= {"price of one at 100": "", "price of one at 1000": ""}
    done = write_sources(answered(asked, rows), asked)
    text = (asked / "parts/p.toml").read_text("utf-8")
    assert text.startswith(before.rstrip("\n"))
    added = tomli.loads(text)["part"]
    assert {file: sorted(parts) for file, parts in done.written.items()} == {"parts/p.toml": ["A", "C"]}
    assert done.left == (("B", "no price that counts"),)
    source = added["A"]["source"][-1]
    assert source == {
        "maker": "alder",
        "maker_part": "AW-1",
        "seller": "seller",
        "status": "trial",
        "currency": "USD",
        "price": [{"from": 100, "each": 1.5}, {"from": 1000, "each": 1.25}],
        "incoterm": "FCA Brook depot",
        "charge": [{"name": "one-off charge", "amount": 30, "per": "one-off"}],
        "quoted": source["quoted"],
        "valid_until": source["valid_until"],
        "evidence": "answer.csv",
        "moq": 50,
        "multiple": 10,
        "lead_time": "10 weeks",
        "lead_stated": source["lead_stated"],
        "note": "in stock",
    }
    assert [str(source[key]) for key in ("quoted", "valid_until", "lead_stated")] == [
        "2026-11-26",
        "2027-01-31",
        "2026-11-26",
    ]
    assert len(added["B"]["source"]) == 1
    assert (
        load(
            {path: (asked / path).read_text() for path in ("product.toml", "firms/f.toml", "parts/p.toml")}
        ).findings
        == ()
    )


def test_writing_twice_adds_nothing(asked: Path) -> None:
    rows = rows_of(asked)
    write_sources(answered(asked, rows), asked)
    once = (asked / "parts/p.toml").read_bytes()
    again = write_sources(read(asked, asked.parent / "answer.csv"), asked)
    assert again.written == {}
    assert {why for _, why in again.left} == {"the same source stands there already"}
    assert (asked / "parts/p.toml").read_bytes() == once


def test_a_substitute_is_written_as_what_was_offered(asked: Path) -> None:
    rows = rows_of(asked)
    rows[SPRING] |= {"offered maker": "New Forge", "offered number": "NF-1"}
    rows[WASHER] |= {"offered maker": "alder works", "offered number": "AW-3"}
    write_sources(answered(asked, rows), asked)
    parts = tomli.loads((asked / "parts/p.toml").read_text())["part"]
    spring, washer = parts["A"]["source"][-1], parts["B"]["source"][-1]
    assert ("maker" in spring, spring["maker_part"], spring["note"]) == (
        False,
        "NF-1",
        "offered maker: New Forge",
    )
    assert (washer["maker"], washer["maker_part"]) == ("alder", "AW-3")


def test_sources_in_one_line_are_left_alone_with_a_message(tmp_path: Path) -> None:
    inline = PRODUCT | {"parts/p.toml": '[part.A]\nsource = [{ seller = "seller" }]\n'}
    product = written(tmp_path / "p", inline)
    sent(product, "seller", tmp_path / "pack", quantities=(100, 1000))
    (tmp_path / "answer.csv").write_text(csv_text(filled(tmp_path / "pack", lambda *_: "1")))
    with pytest.raises(FerruleError, match="on one line"):
        write_sources(read(product, tmp_path / "answer.csv"), product)
    assert (product / "parts/p.toml").read_text() == inline["parts/p.toml"]


def test_hostile_cells_are_text_in_the_files_and_harmless_on_the_screen(asked: Path) -> None:
    rows = rows_of(asked)
    rows[SPRING] |= {"remark": '"]\n[part.EVIL]\nname = "x', "offered number": "=cmd|'/C calc'!A0\u202e"}
    path = asked.parent / "answer.csv"
    path.write_text(csv_text(list(rows.values())), "utf-8")
    done = ferrule("quote", "read", str(path), "--write", "--today", "2026-11-25", cwd=asked)
    assert done.returncode == 0
    assert "\u202e" not in done.stdout
    parts = tomli.loads((asked / "parts/p.toml").read_text("utf-8"))["part"]
    assert sorted(parts) == ["A", "B", "C"]
    assert "[part.EVIL]" in parts["A"]["source"][-1]["note"]
    shown = ferrule(
        "quote",
        "read",
        str(path),
        "--for-spreadsheet",
        "--table",
        "prices",
        "--today",
        "2026-11-25",
        cwd=asked,
    ).stdout
    assert ",=cmd" not in shown
