"""`cost` from the outside: its forms byte for byte, what must hold between its numbers, refusals, small products.

`test_money_screens.py` has the plain screens; here are the machine forms and the ways of asking it leaves out.
Read a changed golden file before accepting it: `pytest tests/cli/test_cli_cost.py --update` writes them.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import math
import re
import xml.etree.ElementTree as ET
from decimal import Decimal
from pathlib import Path

import pytest

from answers import EXAMPLE, SMALL, TODAY, Row, answer, golden, near, rounded, small, source, table, total
from ferrule.app import costing as use
from ferrule.chart.svg import as_svg
from ferrule.model.columns import width
from ferrule.render.document import as_csv
from ferrule.report.cost import describe_cost
from ferrule.report.document import Document
from ferrule.source.products import open_products
from git_builders import ferrule

COST = ("cost", "W20-SINGLE")
FIVE_HUNDRED = (*COST, "--volumes", "500")
MACHINE = (*FIVE_HUNDRED, "--format", "json")
TABLES = ("elements", "beside", "yields", "tools", "channels", "breakeven")
OFFER = "48.20 USD CIP Wexmouth port via halden-sea"

#: Golden file → columns (0: a pipe) and command.
ANSWERS: dict[str, tuple[int, tuple[str, ...]]] = {
    "cost.json": (0, MACHINE),
    "cost-tools.csv": (0, (*FIVE_HUNDRED, "--table", "tools", "--format", "csv")),
    "cost-pipe.txt": (0, FIVE_HUNDRED),
    "cost-air-100.txt": (100, (*FIVE_HUNDRED, "--lane", "halden-air")),
    "cost-exw-80.txt": (80, (*FIVE_HUNDRED, "--term", "EXW Harbour works")),
    "cost-why-u-mcu-80.txt": (80, (*FIVE_HUNDRED, "--why", "U-MCU")),
    "cost-why-duty.json": (0, (*FIVE_HUNDRED, "--why", "duty", "--format", "json")),
    "cost-why-larkfield-80.txt": (80, (*COST, "--why", "larkfield")),
    "cost-why-t-001-80.txt": (80, (*FIVE_HUNDRED, "--why", "T-001")),
    "cost-why-breakeven-120.txt": (120, (*COST, "--why", "breakeven")),
    "cost-offers-80.txt": (80, (*COST, "--offers")),
    "cost-offers.json": (0, (*COST, "--offers", "--format", "json")),
    "cost-offer-bases-120.txt": (
        120,
        (*COST, *(f"--offer={OFFER} on freight-{basis}" for basis in ("inclusive", "exclusive"))),
    ),
    "cost-curve-480-80.txt": (80, (*COST, "--curve", "--to", "480")),
}


@pytest.mark.parametrize("name", ANSWERS)
def test_answer(name: str, *, update: bool) -> None:
    columns, arguments = ANSWERS[name]
    text = answer(columns, *arguments)
    golden(name, text, update=update)
    if name.endswith(".txt"):
        assert not [line for line in text.splitlines() if line != line.rstrip()]
    assert not [line for line in text.splitlines() if columns and width(line) > columns]


@pytest.fixture(scope="module")
def costed() -> Row:
    answered: Row = json.loads(answer(0, *MACHINE))
    return answered


@pytest.fixture(scope="module")
def document() -> Document:
    """Return the same answer before it takes a form, made once for all its tables and the picture."""
    (opened,) = open_products(EXAMPLE)
    costing = use.open_cost(opened.read(), "W20-SINGLE", dt.date(2026, 11, 25))
    costs = list(use.costs(costing, [500]))
    return describe_cost(costing.product, costs, costing.label, use.plan_breakeven(costing), ())


def columns_of(costed: Row) -> list[str]:
    """Return the keys of the quantities that are costed: 500, and the plan's builds."""
    keys = [key for key in costed["elements"][0] if key.startswith("unit_")]
    assert keys == ["unit_500", "unit_spring_1200", "unit_summer_1440"]
    return keys


def of(rows: list[Row], name: str, key: str) -> Decimal:
    (found,) = [row for row in rows if next(iter(row.values())) == name]
    return Decimal(found[key])


# laws


def test_json_begins_with_its_version_and_holds_plain_decimals(costed: Row) -> None:
    assert list(costed)[:2] == ["format_version", "report"]
    for row in costed["elements"]:
        for key in columns_of(costed):
            assert re.fullmatch(r"-?[0-9]+(\.[0-9]+)?|", row[key]), row
    for key, places in (("cash", 12), ("unit", 12), ("open", 12)):
        assert all(re.fullmatch(rf"[0-9]+(\.[0-9]{{1,{places}}})?", row[key]) for row in costed["tools"])


@pytest.mark.parametrize("name", TABLES)
def test_csv_holds_what_json_holds(costed: Row, document: Document, name: str, *, update: bool) -> None:
    (found,) = [each for each in document.tables if each.key == name]
    text = "".join(f"{line}\n" for line in as_csv(found))
    golden(f"cost-{name}.csv", text, update=update)
    rows = csv.DictReader(io.StringIO(text))
    said = [{key: "?" if cell is None else str(cell) for key, cell in row.items()} for row in costed[name]]
    assert list(rows) == said


def test_the_text_shows_the_numbers_of_json_rounded(costed: Row) -> None:
    text = answer(0, *FIVE_HUNDRED)
    shown = table(text, len(costed["elements"]), "One good unit")
    headings = ["500", "spring 1,200", "summer 1,440"]
    for row, same in zip(shown, costed["elements"], strict=True):
        assert [row[heading] for heading in headings] == [rounded(same[key], 3) for key in columns_of(costed)]
    tools = table(text, len(costed["tools"]), "Tools: three different numbers, at summer")
    for row, same in zip(tools, costed["tools"], strict=True):
        assert (row["cash"], row["a unit"]) == (rounded(same["cash"], 2), rounded(same["unit"], 3))
        assert row["open if stopped"] == rounded(same["open"], 2)


def test_elements_add_up_to_the_factory_price_and_to_landed(costed: Row) -> None:
    names = [row["element"] for row in costed["elements"]]
    factory = costed["elements"][: names.index("= factory price")]
    whole = [row for row in costed["elements"] if not row["element"].startswith("=")]
    for key in columns_of(costed):
        assert near(total(factory, key), of(costed["elements"], "= factory price", key), "1e-9")
        assert near(total(whole, key), of(costed["elements"], "= landed", key), "1e-9")


def test_what_stands_beside_goes_by_the_landed_cost(costed: Row) -> None:
    beside = costed["beside"]
    for key in columns_of(costed):
        landed, qty = of(costed["elements"], "= landed", key), int(key.rsplit("_", 1)[-1])
        left, share = (of(beside, name, key) for name in ("left over, paid for", "share of tools"))
        assert near(of(beside, "landed with tools and leftovers", key), landed + share + left)
        assert near(of(beside, "cash for the run", key), (landed + left) * qty, "1e-3")
        assert of(beside, "tools if stopped here", key) >= share
    cash, spread = (total(costed["tools"], key) for key in ("cash", "unit"))
    assert near(of(beside, "share of tools", "unit_500"), spread)
    assert near(of(beside, "tools if stopped here", "unit_500") * 500, cash, "1e-3")


def test_percentages_are_exact_and_their_unit_stands_apart(costed: Row) -> None:
    """First time through: every yield below 100 % of the assemblies in a unit, as their files state them.

    In per mille: final assembly 990, seal and sound test 985; front housing 985, back housing 990; main board 985,
    998, 990; microphone board 980, 990; battery 990, 995.
    """
    assert {row["what"]: row["unit"] for row in costed["beside"]} == {
        "added by yields below 100 %": "EUR each",
        "starts for the good units": "each",
        "first time through": "%",
        "duty that tools and sent parts cause": "EUR each",
        "left over, paid for": "EUR each",
        "share of tools": "EUR each",
        "tools if stopped here": "EUR each",
        "landed with tools and leftovers": "EUR each",
        "cash for the run": "EUR",
        "tools not recovered if stopped": "EUR",
        "rests on weak prices": "%",
    }
    through = Decimal(100)
    for yielded in (990, 985, 985, 990, 985, 998, 990, 980, 990, 990, 995):
        through = through * yielded / 1000
    assert of(costed["beside"], "first time through", "unit_500") == through
    solder = next(row for row in costed["yields"] if row["step"] == "place and solder")
    assert (solder["first_pass_percent"], solder["final_percent"]) == ("98.5", "99.5125")


def test_what_a_channel_leaves_is_its_own_row_added_up(costed: Row) -> None:
    landed = of(costed["elements"], "= landed", "unit_summer_1440")
    assert [row["channel"] for row in costed["channels"]] == ["web", "larkfield"]
    for row in costed["channels"]:
        taken = sum(
            (Decimal(row[key]) for key in ("fees", "landed", "delivery", "returns_warranty")), Decimal(0)
        )
        assert near(Decimal(row["landed"]), landed)
        assert near(Decimal(row["revenue"]) - taken, Decimal(row["margin"]))
        assert near(Decimal(row["revenue"]) - landed, Decimal(row["naive"]))


def test_breakeven_is_what_is_spent_over_what_a_unit_leaves(costed: Row) -> None:
    """Rounded up to whole units; the naive one is reached earlier because a unit seems to leave more."""
    by_contribution, naive = costed["breakeven"]
    for row in (by_contribution, naive):
        spent, left = Decimal(row["spent"]), Decimal(row["left"])
        assert int(row["quantity"]) == math.ceil(spent / left)
    assert Decimal(naive["left"]) > Decimal(by_contribution["left"])
    assert (by_contribution["left_bound"], by_contribution["bound"]) == ("at most", "at least")
    assert (naive["left_bound"], naive["bound"], naive["spent_bound"]) == ("", "", "")
    # The plan's own sales, 2,760 units, pay for neither.
    assert {row["week"] for row in costed["breakeven"]} == {""}
    assert {row["reached"] for row in costed["breakeven"]} == {"not within the plan"}


def test_why_adds_up_to_the_element(costed: Row) -> None:
    answered = json.loads(answer(0, *FIVE_HUNDRED, "--why", "duty", "--format", "json"))
    (duty,) = answered["contributions"]
    assert Decimal(duty["amount"]) == of(costed["elements"], "duty", "unit_500")
    # 2 % of a value for 500 units, in the working as it stands
    working = re.fullmatch(r"2 % of ([0-9,.]+) EUR of customs value, over 500 units", duty["working"])
    assert working is not None
    value = Decimal(working[1].replace(",", ""))
    assert near(value * 2 / 100 / 500, Decimal(duty["amount"]), "1e-5")
    assert re.fullmatch(r"firms/duty\.toml:[0-9]+", duty["place"])
    # What the value is made of adds up to it, and what tools and sent parts cause to the row beside the cost.
    made_of = re.fullmatch(r"customs value of 500 units: (.+) = ([0-9,.]+) EUR", answered["notes"][1])
    assert made_of is not None
    parts = [Decimal(each.rsplit(" ", 1)[1].replace(",", "")) for each in made_of[1].split(" + ")]
    assert abs(sum(parts) - value) <= Decimal("0.03")
    assert Decimal(made_of[2].replace(",", "")) == value
    caused = [Decimal(note.rsplit(": ", 1)[1].split()[0]) for note in answered["notes"][2:4]]
    assert near(
        sum(caused, Decimal(0)),
        of(costed["beside"], "duty that tools and sent parts cause", "unit_500"),
        "1e-4",
    )


def why(*arguments: str) -> list[Row]:
    rows: list[Row] = json.loads(answer(0, *arguments, "--format", "json"))["working"]
    return rows


def test_why_of_a_channel_adds_up_to_its_margin(costed: Row) -> None:
    for channel in costed["channels"]:
        *steps, margin = why(*COST, "--why", channel["channel"])
        assert near(total(steps, "amount"), Decimal(margin["amount"]))
        assert near(Decimal(margin["amount"]), Decimal(channel["margin"]))
        assert margin["working"] == channel["bound"]


def test_why_of_a_tool_has_its_three_numbers() -> None:
    """Mould T-001: 27,500 USD at 1.08 are 25,462.96 EUR over 12,000 pieces, one in a unit, 500 made."""
    found = {row["what"]: Decimal(row["amount"]) for row in why(*FIVE_HUNDRED, "--why", "T-001")}
    cash = Decimal(27500) / Decimal("1.08")
    assert near(found["cash"], cash)
    assert near(found["share in a unit"], cash / 12000)
    assert near(found["if stopped here"], cash / 500)
    assert near(found["open if stopped here"], cash - cash * 500 / 12000)
    assert near(found["in the customs value of a unit"], cash / 12000)


def test_why_of_the_breakeven_adds_up(costed: Row) -> None:
    rows = why(*COST, "--why", "breakeven")
    at = [row["what"] for row in rows].index("= spent whatever it sells")
    spent, sales, left = rows[:at], rows[at + 1 : -1], rows[-1]
    assert near(total(spent, "amount"), Decimal(rows[at]["amount"]))
    assert near(Decimal(rows[at]["amount"]), Decimal(costed["breakeven"][0]["spent"]))
    assert near(total(sales, "amount"), Decimal(left["amount"]))
    units = sum(int(row["working"].split()[0].replace(",", "")) for row in sales)
    assert units == 2760
    assert near(Decimal(left["amount"]) / units, Decimal(costed["breakeven"][0]["left"]))


@pytest.mark.parametrize(("asked", "name"), [("landed", "= landed"), ("= factory price", "= factory price")])
def test_why_of_a_sum_lists_all_that_is_in_it(costed: Row, asked: str, name: str) -> None:
    found = json.loads(answer(0, *FIVE_HUNDRED, "--why", asked, "--format", "json"))["contributions"]
    assert near(total(found, "amount"), of(costed["elements"], name, "unit_500"), "1e-9")


def test_offers_mark_the_least_and_keep_the_unknown_open() -> None:
    offers = json.loads(answer(0, *COST, "--offers", "--format", "json"))["offers"]
    known = [row for row in offers if not row["bound"]]
    least = min(Decimal(row["landed"]) for row in known)
    assert [row["term"] for row in offers if row["mark"]] == [
        row["term"] for row in known if Decimal(row["landed"]) == least
    ]
    for row in known:
        beside = sum(
            (Decimal(row[key]) for key in ("way", "insurance", "duty", "entry", "consigned")), Decimal(0)
        )
        assert near(Decimal(row["price"]) + beside, Decimal(row["landed"]))
        assert near(Decimal(row["landed"]) - least, Decimal(row["more"]))
    # The price pays for what the rule says (Incoterms 2020): CPT has the carriage in it, FCA has not.
    paid = {row["term"].split()[0]: row["in_price"] for row in offers}
    assert paid == {"FCA": "origin haul, export", "CPT": "origin haul, export, loading, carriage"}
    (unknown,) = [row for row in offers if row["bound"]]
    assert (unknown["price"], unknown["more"], unknown["mark"]) == (None, "", "")


def test_the_curve_is_the_cost_at_each_quantity() -> None:
    """At 480 the curve says what `--volumes 480` says; its steps are whole cartons of 24."""
    text = answer(80, *COST, "--curve", "--to", "480")
    rows = [line.split() for line in text.splitlines() if re.match(r" +[0-9,]+  [0-9.]+  [0-9,.]+", line)]
    assert [int(row[0].replace(",", "")) for row in rows] == list(range(24, 481, 24))
    same = json.loads(answer(0, *COST, "--volumes", "480", "--format", "json"))
    assert rows[-1][1:3] == [
        rounded(same["elements"][-1]["unit_480"], 3),
        rounded(str(of(same["beside"], "cash for the run", "unit_480")), 2),
    ]


def test_the_file_is_the_picture_and_no_hashing_matters(document: Document, tmp_path: Path) -> None:
    file = tmp_path / "deep" / "bars.svg"
    done = ferrule(*MACHINE, "--svg", str(file), *TODAY, cwd=EXAMPLE, PYTHONHASHSEED="1")
    assert (done.returncode, done.stdout) == (0, answer(0, *MACHINE))
    assert file.read_text(encoding="utf-8") == as_svg(document.pictures[0])
    root = ET.fromstring(file.read_text(encoding="utf-8"))  # noqa: S314  our own file
    assert root.tag == "{http://www.w3.org/2000/svg}svg"


def test_csv_for_a_spreadsheet(tmp_path: Path) -> None:
    """A part's name that is a formula, and the sums, whose names begin with an equals sign."""
    name = '=HYPERLINK("https://example.invalid","price")'
    folder = small(
        tmp_path,
        {
            "parts/p.toml": source("P", "0.125"),
            "tools/t.toml": TOOL.replace('"Jig"', f"'{name}'") + 'amount = "1 EUR"\n',
        },
    )
    asked = ("cost", "--volumes", "1", *TODAY, "--table")
    plain = ferrule(*asked, "tools", "--format", "csv", cwd=folder).stdout
    assert next(csv.DictReader(io.StringIO(plain)))["name"] == name
    for more in ((), ("--format", "csv")):
        guarded = ferrule(*asked, "tools", "--for-spreadsheet", *more, cwd=folder).stdout
        assert guarded[0] == "\ufeff"
        row = next(csv.DictReader(io.StringIO(guarded[1:])))
        assert (row["name"], row["cash"]) == (f"'{name}", "1")
    sums = ferrule(*asked, "elements", "--for-spreadsheet", cwd=folder).stdout
    assert [row["element"] for row in csv.DictReader(io.StringIO(sums[1:]))] == [
        "'= factory price",
        "consigned parts",
        "'= cost",
    ]


# refusals

USAGE = "`ferrule cost --help` shows what it takes"
FORMS = 'write it as "48.20 USD CIP Wexmouth port via halden-sea" or "FCA Port Halden via halden-air"'
REFUSED = [
    *(
        (
            (*COST, "--volumes", volumes),
            f"invalid value for '--volumes': '{volumes}' is no list of quantities; write it as 100,1000,10000",
            USAGE,
        )
        for volumes in ("ten", "0", "1e3", "10,,20", "-5", "2000000000", "١٢")
    ),
    (
        (*COST, "--curve", "--offers"),
        "--why, --curve and --offers each show something else; pass one of them",
        USAGE,
    ),
    *(
        (
            (*COST, "--for-spreadsheet", "--format", form),
            f"--for-spreadsheet writes CSV, not {form}; pass one of them",
            USAGE,
        )
        for form in ("json", "text")
    ),
    ((*COST, "--to", "240"), "--to says where --curve ends; pass both", USAGE),
    ((*COST, "--curve", "--to", "0"), "invalid value for '--to': 0 is not in the range x>=1", USAGE),
    (
        (*COST, "--plan", "third-season"),
        "there is no plan called third-season",
        "did you mean first-season?",
    ),
    ((*COST, "--lane", "moon"), "there is no lane called moon", "lanes: halden-air, halden-sea"),
    ((*COST, "--term", "XYZ Port"), '"XYZ" is no rule of Incoterms 2020', 'write it as "FCA Port Halden"'),
    ((*COST, "--term", "FCA"), "FCA names no place", 'write it as "FCA Wexmouth port"'),
    (
        (*FIVE_HUNDRED, "--table", "parts"),
        "this answer has no table called parts",
        f"tables: {', '.join(TABLES)}",
    ),
    *(
        ((*COST, "--offer", offer), f"cannot read the offer {offer!r}", FORMS)
        for offer in (
            "",
            "48.20 USD CIP Wexmouth port",
            "-4 USD CIP Wexmouth port via halden-sea",
            "FCA via halden-sea",
            "FCA Port Halden via halden-sea on either",
        )
    ),
    ((*COST, "--offer", OFFER.replace("48.20", "48.2.0")), '"48.2.0 USD" is not an amount of money', FORMS),
    (
        (*COST, "--offer", OFFER.replace("USD", "XXQ")),
        "XXQ is no currency of ISO 4217 that one can pay with",
        FORMS,
    ),
    (
        (*COST, "--offer", OFFER.replace("CIP", "XYZ")),
        '"XYZ" is no rule of Incoterms 2020',
        'write it as "FCA Port Halden"',
    ),
    (
        (*COST, "--offer", OFFER.replace("-sea", "-see")),
        "there is no lane called halden-see",
        "did you mean halden-sea?",
    ),
]


@pytest.mark.parametrize(("arguments", "message", "hint"), REFUSED, ids=lambda value: str(value)[:60])
def test_refused(arguments: tuple[str, ...], message: str, hint: str) -> None:
    done = ferrule(*arguments, *TODAY, cwd=EXAMPLE)
    assert (done.returncode, done.stdout, done.stderr) == (2, "", f"error: {message}\nhint: {hint}\n")


def test_what_may_be_asked_why_is_listed() -> None:
    done = ferrule(*FIVE_HUNDRED, "--why", "magic", *TODAY, cwd=EXAMPLE)
    first, second = done.stderr.splitlines()
    assert (done.returncode, done.stdout, first) == (2, "", "error: nothing in the cost is called magic")
    assert second.startswith("hint: elements: material, as-required; material, battery; ")
    assert second.endswith(
        "; duty; delivery to the door; or landed, factory price, breakeven, the number of a part or tool, a channel"
    )


NO_PICTURE = "has no picture for --svg; pass one of them"
NO_TABLE_PICTURE = "--table shows one table and no picture for --svg; pass one of them"


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((*COST, "--offers"), f"--offers {NO_PICTURE}"),
        ((*COST, "--offer", OFFER), f"--offers {NO_PICTURE}"),
        ((*COST, "--why", "duty"), f"--why {NO_PICTURE}"),
        ((*COST, "--table", "tools"), NO_TABLE_PICTURE),
        ((*COST, "--curve", "--table", "curve", "--format", "json"), NO_TABLE_PICTURE),
        (("cash", "first-season", "--table", "weeks"), NO_TABLE_PICTURE),
        (("cash", "first-season", "--week", "3"), f"--week {NO_PICTURE}"),
        (("schedule", "first-season", "--table", "orders", "--format", "csv"), NO_TABLE_PICTURE),
        (("schedule", "first-season", "--slip", "spring"), f"--slip {NO_PICTURE}"),
        (("schedule", "first-season", "--week"), f"--week {NO_PICTURE}"),
        (("schedule", "first-season", "--why", "T-001"), f"--why {NO_PICTURE}"),
    ],
    ids=lambda value: str(value)[:60],
)
def test_no_picture_to_write_is_said_before_anything_is_read(
    tmp_path: Path, arguments: tuple[str, ...], message: str
) -> None:
    """Not even the folder is looked at: in an empty one the same is said."""
    file = tmp_path / "none.svg"
    done = ferrule(*arguments, "--svg", str(file), *TODAY, cwd=tmp_path)
    usage = f"`ferrule {arguments[0]} --help` shows what it takes"
    assert (done.returncode, done.stdout, done.stderr) == (2, "", f"error: {message}\nhint: {usage}\n")
    assert not file.exists()


def test_a_picture_that_cannot_be_written_stops_the_answer(tmp_path: Path) -> None:
    """The parent of the file is a file itself."""
    folder = small(tmp_path, {"parts/p.toml": source("P", "0.125")})
    file = folder / "product.toml" / "bars.svg"
    done = ferrule("cost", "--volumes", "1", "--svg", str(file), *TODAY, cwd=folder)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith(f"error: {file} cannot be written: ")


@pytest.mark.parametrize(
    ("files", "message", "hint"),
    [
        (
            {"assemblies/t.toml": '[assembly]\nid = "TOP"\n'},
            "the product has no SKU",
            "a SKU is an assembly with [assembly.sale]",
        ),
        (
            {
                "assemblies/t.toml": SMALL["assemblies/t.toml"].replace('"P"', '"RING"'),
                "assemblies/r.toml": '[assembly]\nid = "RING"\n[[line]]\nitem = 1\npart = "TOP"\nqty = 1\n',
            },
            "assemblies contain themselves: RING > TOP > RING",
            "`ferrule check --rule assembly-ring` shows the lines",
        ),
    ],
    ids=["no SKU", "ring"],
)
def test_refused_products(tmp_path: Path, files: dict[str, str], message: str, hint: str) -> None:
    done = ferrule("cost", *TODAY, cwd=small(tmp_path, files))
    assert (done.returncode, done.stdout, done.stderr) == (2, "", f"error: {message}\nhint: {hint}\n")


def test_no_terms_to_compare(tmp_path: Path) -> None:
    done = ferrule("cost", "--offers", *TODAY, cwd=small(tmp_path))
    said = 'error: no lane of the product names a delivery term\nhint: pass --offer "TERM via LANE"\n'
    assert (done.returncode, done.stdout, done.stderr) == (2, "", said)


# small products


def cost(folder: Path, *arguments: str, columns: int = 80) -> str:
    done = ferrule("cost", *arguments, *TODAY, cwd=folder, COLUMNS=str(columns))
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


def test_what_cannot_be_read_is_said_beside_the_answer(tmp_path: Path) -> None:
    done = ferrule("cost", "--volumes", "1", *TODAY, cwd=small(tmp_path, {"parts/q.toml": "[part.Q\n"}))
    assert done.returncode == 0
    assert done.stderr == "note: 1 fault in the files; `ferrule check` shows what was left out\n"


def test_no_price_at_all(tmp_path: Path) -> None:
    """The one part has no price: no sum is known, and none is shown as zero."""
    folder = small(tmp_path)
    answered = json.loads(cost(folder, "--volumes", "10", "--format", "json"))
    known = {row["element"]: row["unit_10"] for row in answered["elements"]}
    assert known == {
        "= factory price": None,
        "consigned parts": None,
        "= cost": None,
        "at least, see below": "at least",
    }
    beside = {row["what"]: row["unit_10"] for row in answered["beside"]}
    names = (
        "left over, paid for",
        "cost with tools and leftovers",
        "cash for the run",
        "rests on weak prices",
    )
    assert {beside[name] for name in names} == {None}
    text = cost(folder, "--volumes", "10")
    assert "no price at all: P\nnot known: price of P\n" in text
    assert "without a single failure" not in text
    why = cost(folder, "--volumes", "10", "--why", "P")
    assert why.startswith("Why the cost of P in one TOP at 10 is not known\n")
    assert why.endswith("1 amount, none known in one unit\n")
    curve = json.loads(cost(folder, "--curve", "--to", "3", "--format", "json"))["curve"]
    assert [(row["quantity"], row["bound"], row["unit"], row["cash"]) for row in curve] == [
        (qty, "at least", None, None) for qty in (1, 2, 3)
    ]
    assert "least unit cost" not in cost(folder, "--curve", "--to", "3")


def test_one_price_of_two_makes_the_cost_a_lower_bound(tmp_path: Path) -> None:
    """2 P x 0.125 = 0.25 a unit; one Q at a price nobody stated."""
    lines = SMALL["assemblies/t.toml"] + '[[line]]\nitem = 2\npart = "Q"\nqty = 1\n'
    parts = source("P", "0.125") + source("Q", "")
    folder = small(tmp_path, {"parts/p.toml": parts, "assemblies/t.toml": lines})
    text = cost(folder, "--volumes", "10")
    assert re.search(r"^= cost +0\.250 +0\.250\nat least, see below +at least +at least$", text, re.MULTILINE)
    assert "no price at all: Q\n" in text
    assert "without a single failure a unit would cost at least 0.250 EUR" in text
    assert "at least 0.25\n  A 0.25, B ?\n  not known: B missing amounts\n" in text
    why = cost(folder, "--volumes", "10", "--why", "consigned parts")
    assert why.startswith("Why consigned parts costs at least 0.250 EUR in one TOP at 10\n")
    curve = cost(folder, "--curve", "--to", "2")
    assert "least unit cost at least 0.250 EUR at 1\nat least: something is not known" in curve


def test_what_is_not_known_at_some_quantities_only_says_at_which(tmp_path: Path) -> None:
    """The step has a price from 100 built on; the other part's is known nowhere."""
    tier = 'steps = [{ name = "s", kind = "labour", yield = "100 %", tier = [{ from = 100, each = 2 }] }]\n'
    lines = SMALL["assemblies/t.toml"].replace('id = "TOP"\n', f'id = "TOP"\n{tier}')
    lines += '[[line]]\nitem = 2\npart = "Q"\nqty = 1\n'
    parts = source("P", "0.125") + source("Q", "")
    folder = small(tmp_path, {"parts/p.toml": parts, "assemblies/t.toml": lines})
    text = cost(folder, "--volumes", "10,20,100", columns=120)
    assert "\nnot known: price of Q\nnot known at 10, 20, b: price of TOP, s\n" in text


TOOL = """\
[tool.T]
name = "Jig"
kind = "fixture"
makes = ["TOP"]
"""


def test_a_tool_without_an_amount_leaves_its_sums_open(tmp_path: Path) -> None:
    folder = small(tmp_path, {"parts/p.toml": source("P", "0.125"), "tools/t.toml": TOOL})
    answered = json.loads(cost(folder, "--volumes", "10", "--format", "json"))
    beside = {row["what"]: row["unit_10"] for row in answered["beside"]}
    sums = ("tools if stopped here", "tools not recovered if stopped")
    assert {beside[name] for name in sums} == {None}
    assert answered["tools"][0]["cash"] is None


def test_the_least_and_the_largest_quantity(tmp_path: Path) -> None:
    """0.25 a unit at one and at a billion; the run of a billion takes 250 million."""
    folder = small(tmp_path, {"parts/p.toml": source("P", "0.125")})
    answered = json.loads(cost(folder, "--volumes", "1,1000000000", "--format", "json"))
    (whole,) = [row for row in answered["elements"] if row["element"] == "= cost"]
    assert (whole["unit_1"], whole["unit_1000000000"]) == ("0.25", "0.25")
    assert of(answered["beside"], "cash for the run", "unit_1000000000") == 250_000_000
    assert " 250,000,000.00" in cost(folder, "--volumes", "1,1000000000")


def test_a_sku_without_lines_costs_nothing_that_is_known(tmp_path: Path) -> None:
    lines = '[assembly]\nid = "TOP"\n[assembly.sale.web]\nlist_price = "5 EUR"\n'
    text = cost(small(tmp_path, {"assemblies/t.toml": lines}), "--volumes", "10")
    assert re.search(r"^= cost +0\.000 ", text, re.MULTILINE)


HOSTILE = "\\u001b[31m<b>\\u202e[/b]\\u0007##[error]&amp;]]>" + "x" * 200


def test_hostile_names_are_inert_and_wrapped(tmp_path: Path) -> None:
    """The name of a tool and of a step, which the tables, the working and the picture show."""
    step = f'steps = [{{ name = "{HOSTILE}", cost = 1, kind = "labour", yield = "99 %" }}]\n'
    lines = SMALL["assemblies/t.toml"].replace('id = "TOP"\n', f'id = "TOP"\n{step}')
    tool = TOOL.replace("Jig", HOSTILE) + 'amount = "1 EUR"\n'
    parts = source("P", "0.125")
    folder = small(tmp_path, {"parts/p.toml": parts, "assemblies/t.toml": lines, "tools/t.toml": tool})
    file = tmp_path / "bars.svg"
    control = "[\\x00-\\x09\\x0b-\\x1f\\x7f-\\x9f\\u202a-\\u202e]"
    for arguments in (
        ("--volumes", "3", "--svg", str(file)),
        ("--why", "labour"),
        ("--volumes", "3", "--format", "json"),
        ("--table", "tools", "--format", "csv"),
    ):
        shown = cost(folder, *arguments)
        assert "u001b[31m<b>" in shown
        assert not re.search(control, shown)
        assert "csv" in arguments or "json" in arguments or max(map(width, shown.splitlines())) <= 80
    assert ET.fromstring(file.read_text(encoding="utf-8")).get("role") == "img"  # noqa: S314  our own file
