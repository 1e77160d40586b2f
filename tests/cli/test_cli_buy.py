"""`buy` from the outside: its forms byte for byte, what must hold between its numbers, refusals, small products.

`test_money_screens.py` has the plain screens; here are the machine forms and the ways of asking it leaves out.
Read a changed golden file before accepting it: `pytest tests/cli/test_cli_buy.py --update` writes them.
"""

from __future__ import annotations

import csv
import io
import json
import re
from decimal import Decimal
from pathlib import Path

import pytest

from answers import EXAMPLE, SMALL, TODAY, Row, answer, golden, near, rounded, small, source, table, total
from ferrule.model.columns import width
from git_builders import ferrule

BUY = ("buy", "first-season")
MACHINE = (*BUY, "--format", "json")
TABLES = ("parts", "builds", "sellers", "strategies", "totals")

#: Golden file → columns (0: a pipe) and command.
ANSWERS: dict[str, tuple[int, tuple[str, ...]]] = {
    "buy.json": (0, MACHINE),
    **{f"buy-{name}.csv": (0, (*BUY, "--table", name, "--format", "csv")) for name in TABLES},
    "buy-why-u-mcu-80.txt": (80, (*BUY, "--why", "U-MCU")),
    "buy-why-u-mcu.json": (0, (*BUY, "--why", "U-MCU", "--format", "json")),
    "buy-combine-pipe.txt": (0, (*BUY, "--combine")),
    "buy-combine-named-80.txt": (80, (*BUY, "--combine", "--with", "spring", "spring-sets")),
    "buy-lots-80.txt": (80, (*BUY, "--lots")),
    "buy-builds-120.txt": (120, (*BUY, "--builds", "spring, spring-sets", "--table", "builds")),
    "buy-cheapest-80.txt": (80, (*BUY, "--source", "cheapest", "--table", "sellers")),
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
def bought() -> Row:
    answered: Row = json.loads(answer(0, *MACHINE))
    return answered


# laws


def test_no_fact_is_hidden_by_a_table_of_the_same_name(bought: Row) -> None:
    facts = answer(0, *BUY, "--sort", "date").split("\n\n", 1)[0].splitlines()[1:]
    assert len(facts) == 7
    for fact in facts:
        name, words = fact.split(": ", 1)
        assert bought[name.replace(" ", "_")] == words


def test_json_begins_with_its_version_and_holds_plain_decimals(bought: Row) -> None:
    assert list(bought)[:2] == ["format_version", "report"]
    words = ("part", "name", "buyer", "supply", "seller", "unit", "bound", "order_by", "remark")
    for row in bought["parts"]:
        for key in row.keys() - set(words):
            assert re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", str(row[key])), (row["part"], key, row[key])


@pytest.mark.parametrize("name", TABLES)
def test_csv_holds_what_json_holds(bought: Row, name: str) -> None:
    rows = csv.DictReader(io.StringIO(answer(0, *BUY, "--table", name, "--format", "csv")))
    assert list(rows) == [{key: str(cell) for key, cell in row.items()} for row in bought[name]]


#: Heading of the parts → its key and places; quantities leave off zeros at the end.
PARTS = {
    **{name: (name, 3) for name in ("demand", "gross", "stock", "net", "order", "left")},
    "lost": ("attrition", 3),
    "at set-up": ("setup_loss", 3),
    "due in": ("receipts", 3),
    "each": ("each", 4),
    "spend": ("spend", 2),
    "value left": ("left_value", 2),
    "plain": ("plain", 2),
}


def test_the_text_shows_the_numbers_of_json_rounded(bought: Row) -> None:
    shown = table(answer(0, *BUY, "--sort", "date"), len(bought["parts"]))
    assert [row["order by"] for row in shown] == sorted(row["order_by"] for row in bought["parts"])
    by_part = {(row["part"], row["buyer"]): row for row in bought["parts"]}
    for row in shown:
        same = by_part[row["part"], row["buyer"]]
        for heading, (key, places) in PARTS.items():
            assert row[heading] == rounded(same[key], places, trim=places == 3), (row["part"], heading)


def test_orders_cover_the_need_and_what_is_over_is_left(bought: Row) -> None:
    for row in bought["parts"]:
        gross = sum(Decimal(row[key]) for key in ("demand", "attrition", "setup_loss"))
        assert Decimal(row["gross"]) >= gross - Decimal("1e-6")
        assert Decimal(row["left"]) >= Decimal(row["order"]) - Decimal(row["net"]) >= 0
        assert near(
            Decimal(row["order"]) * Decimal(row["each"]), Decimal(row["spend"]), "50"
        )  # charges aside


def test_builds_add_up_to_the_part(bought: Row) -> None:
    for row in bought["parts"]:
        builds = [b for b in bought["builds"] if (b["part"], b["buyer"]) == (row["part"], row["buyer"])]
        for key in ("demand", "gross", "net"):
            assert near(total(builds, key), Decimal(row[key])), (row["part"], key)


def test_sellers_buyers_and_ways_agree_on_the_total(bought: Row) -> None:
    goods = sum((Decimal(row["order"]) * Decimal(row["each"]) for row in bought["parts"]), Decimal(0))
    assert near(goods, total(bought["sellers"], "goods"))
    for row in bought["sellers"]:
        beside = ("goods", "charges", "one_off", "fee", "filled")
        assert near(sum((Decimal(row[key]) for key in beside), Decimal(0)), Decimal(row["total"]))
    whole = total(bought["sellers"], "total")
    ways = {row["strategy"]: row for row in bought["strategies"]}
    assert near(Decimal(ways[bought["strategy"]]["total"]), whole)
    least = min(Decimal(row["total"]) for row in ways.values())
    assert Decimal(ways["least cash now"]["total"]) == least
    for row in ways.values():
        assert near(Decimal(row["total"]) - least, Decimal(row["more"]))
        assert near(Decimal(row["spend"]) + Decimal(row["fees"]), Decimal(row["total"]))
    figures = {(row["total"], row["of"]): Decimal(row["amount"]) for row in bought["totals"]}
    assert near(figures["spend", bought["strategy"]], whole)
    assert near(
        total([row for row in bought["totals"] if row["total"] == "spend of a buyer"], "amount"), whole
    )
    left = total(bought["parts"], "left_value")
    assert near(figures["left over", "stock on hand included"], left)
    assert near(figures["left over", "of the spend"] * whole, left * 100, "0.01")
    assert near(figures["left over", "each good unit"] * 2760, left, "0.01")
    plain = [amount for (name, _), amount in figures.items() if name == "plain sum"]
    assert near(plain[0] - plain[1] + plain[2], whole)
    notes = [note for note in bought["notes"] if " pays " in note or note.startswith("total, ")]
    said = [Decimal(re.findall(r"[0-9,]+\.[0-9]{2}", note)[0].replace(",", "")) for note in notes]
    assert said[0] == whole.quantize(Decimal("0.01"))
    assert near(sum(said[1:], Decimal(0)), said[0], "0.03")  # each of them rounded


def test_the_working_ends_in_the_row(bought: Row) -> None:
    row = next(row for row in bought["parts"] if row["part"] == "U-MCU")
    steps = json.loads(answer(0, *BUY, "--why", "U-MCU", "--format", "json"))["working"]
    result = {step["step"]: step["result"] for step in steps}
    demand = [step for step in steps if step["step"].startswith("demand of ")]
    assert total(demand, "result") == Decimal(row["demand"])
    for step, key in (("gross", "gross"), ("net", "net"), ("left", "left"), ("order by", "order_by")):
        assert result[step] == row[key]
    # 3,114 needed, 2,080 on order in time, 60 kept back: 1,094 to buy
    assert Decimal(result["gross"]) - Decimal(result["receipts in time"]) + Decimal(
        result["safety stock"]
    ) == Decimal(result["net"])
    chosen = [step for step in steps if step["step"] == f"{'least cash now'} (chosen)"]
    assert near(total(chosen, "result"), Decimal(row["spend"]))
    assert all(re.fullmatch(r"\.?[\w./-]+:[0-9]+|", step["place"]) for step in steps)


def test_one_order_saves_what_it_says() -> None:
    answered = json.loads(answer(0, *BUY, "--combine", "--format", "json"))
    assert len(answered["parts"]) > 60
    for row in answered["parts"]:
        first, second, together = (Decimal(row[key]) for key in ("first", "second", "together"))
        assert near(first + second - together, Decimal(row["saving"]))
        assert near(Decimal(row["saving"]) - Decimal(row["carrying"]), Decimal(row["net"]))
        assert near(together - first, Decimal(row["extra_now"]))
        # A probability is an exact percentage without a sign, so that a program can reckon with it.
        if row["pays_above_percent"] not in {"", "never"}:
            paid = together + Decimal(row["carrying"]) - first
            assert near(Decimal(row["pays_above_percent"]) * second, paid * 100)
    # Every part of the plan's list is compared or named with the reason.
    compared = {(row["part"], row["buyer"]) for row in answered["parts"]}
    left_out = {(row["part"], row["buyer"]) for row in answered["left_out"]}
    assert {row["why"] for row in answered["left_out"]} == {"only the first needs it"}
    whole = json.loads(answer(0, *MACHINE))["parts"]
    assert compared | left_out == {(row["part"], row["buyer"]) for row in whole}
    net = total(answered["parts"], "net").quantize(Decimal("0.01"))
    assert f"net saving {net:,} EUR" in answered["notes"][0]


def test_the_best_lots_beat_the_simple_ones() -> None:
    rows = json.loads(answer(0, *BUY, "--lots", "--format", "json"))["parts"]
    assert len(rows) > 60
    for row in rows:
        assert Decimal(row["total"]) <= min(Decimal(row["each_build"]), Decimal(row["once"])), row["part"]


def test_the_answer_depends_on_neither_hashing_nor_file_names(tmp_path: Path) -> None:
    for old in sorted(EXAMPLE.rglob("*.toml"), reverse=True):
        kept = old.name in ("product.toml", ".ferrule.toml")
        new = tmp_path / old.relative_to(EXAMPLE).with_name(
            old.name if kept else f"{hash_of(old)}-{old.name}"
        )
        new.parent.mkdir(parents=True, exist_ok=True)
        new.write_bytes(old.read_bytes())
    done = ferrule(*MACHINE, *TODAY, cwd=tmp_path, PYTHONHASHSEED="1")
    assert done.stdout == answer(0, *MACHINE)


def hash_of(path: Path) -> int:
    """Return a number that puts names in another order than the alphabet's."""
    return sum(path.name.encode()) * 7919 % 1000


# refusals

NO_BUILDS = '[plan]\nid = "p"\nstart = 2026-11-30\nend = "week 9"\n'
RING = '[assembly]\nid = "RING"\n[[line]]\nitem = 1\npart = "TOP"\nqty = 1\n'
USAGE = "`ferrule buy --help` shows what it takes"
REFUSED = [
    (
        (*BUY, "--why", "U-MCU", "--lots"),
        "--why, --combine and --lots each show something else; pass one of them",
        USAGE,
    ),
    ((*BUY, "--with", "spring", "summer"), "--with names the builds of --combine; pass both", USAGE),
    (
        (*BUY, "--combine", "--with", "spring", "spring"),
        "a build cannot come first and second",
        "name different builds",
    ),
    (
        (*BUY, "--combine", "--with", "spring", "autumn"),
        "plan first-season has no build called autumn",
        "builds: spring, spring-sets, summer",
    ),
    (
        (*BUY, "--sort", "name"),
        "invalid value for '--sort': 'name' is not one of 'part', 'date', 'spend', 'left'",
        USAGE,
    ),
    (
        (*BUY, "--today", "tomorrow"),
        "invalid value for '--today': 'tomorrow' is not a date; write it as 2026-10-01",
        USAGE,
    ),
    ((*BUY, "--lots", "--table", "sellers"), "this answer has no table called sellers", "tables: parts"),
    (("buy", "third-season"), "there is no plan called third-season", "did you mean first-season?"),
    (("buy", "zzz"), "there is no plan called zzz", "plans: first-season, second-season"),
]


@pytest.mark.parametrize(("arguments", "message", "hint"), REFUSED, ids=lambda value: str(value)[:40])
def test_refused(arguments: tuple[str, ...], message: str, hint: str) -> None:
    done = ferrule(*dated(arguments), cwd=EXAMPLE)
    assert (done.returncode, done.stdout, done.stderr) == (2, "", f"error: {message}\nhint: {hint}\n")


def dated(arguments: tuple[str, ...]) -> tuple[str, ...]:
    """Return a command with the day said before what it may say itself."""
    return (arguments[0], *TODAY, *arguments[1:])


@pytest.mark.parametrize(
    ("files", "message", "hint"),
    [
        ({"plans/p.toml": None}, "the product has no plan", "a plan is a file with [plan] and [[build]]"),
        (
            {
                "assemblies/t.toml": SMALL["assemblies/t.toml"].replace('part = "P"', 'part = "RING"'),
                "assemblies/r.toml": RING,
            },
            "assemblies contain themselves: RING > TOP > RING",
            "`ferrule check --rule assembly-ring` shows the lines",
        ),
    ],
    ids=["no plan", "ring"],
)
def test_refused_products(tmp_path: Path, files: dict[str, str | None], message: str, hint: str) -> None:
    folder = small(tmp_path, {path: text for path, text in files.items() if text is not None})
    for path, text in files.items():
        if text is None:
            (folder / path).unlink()
    done = ferrule("buy", *TODAY, cwd=folder)
    assert (done.returncode, done.stdout, done.stderr) == (2, "", f"error: {message}\nhint: {hint}\n")


# small products


def buy(folder: Path, *arguments: str, columns: int = 80) -> str:
    done = ferrule("buy", *arguments, *TODAY, cwd=folder, COLUMNS=str(columns))
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


def test_what_cannot_be_read_is_said_beside_the_answer(tmp_path: Path) -> None:
    done = ferrule("buy", *TODAY, cwd=small(tmp_path, {"parts/q.toml": "[part.Q\n"}))
    assert done.returncode == 0
    assert done.stdout.startswith("What to buy for p\n")
    assert done.stderr == "note: 1 fault in the files; `ferrule check` shows what was left out\n"


def test_nobody_to_buy_from(tmp_path: Path) -> None:
    """Six P are needed and no source is stated: nothing of the order is known, and nothing is zero."""
    folder = small(tmp_path)
    text = buy(folder)
    (row,) = [line.split() for line in text.splitlines() if line.startswith("P ")]
    assert row[-9:] == [
        "6",
        "6",
        "6",
        "?",
        "?",
        "?",
        "?",
        "?",
        "?",
    ]  # demand, gross, net; order and all after it
    assert "source not known: P\n" in text
    assert "what is left over is not known\n" in text
    assert "By seller\nnone\n" in text
    ways = [line.split()[-5:] for line in text.splitlines() if line.startswith(("full ", "mixed ", "least "))]
    assert ways == [["?"] * 5] * 4
    answered = json.loads(buy(folder, "--format", "json"))
    assert {answered["parts"][0][key] for key in ("order", "each", "spend", "left", "left_value")} == {None}
    why = buy(folder, "--why", "P", "--format", "json")
    steps = {step["step"]: step for step in json.loads(why)["working"]}
    assert (steps["order"]["working"], steps["order"]["result"]) == ("no source can be asked", None)
    assert "not counted, no price is known: P\n" in buy(folder, "--lots")


TWO_BUILDS = '[plan]\nid = "p"\nstart = 2026-11-30\nend = "week 40"\n' + "".join(
    f'[[build]]\nname = "{name}"\nsku = "TOP"\nqty = 3\nstart = {day}\n'
    for name, day in (("a", "2027-03-01"), ("b", "2027-05-31"))
)


def test_what_an_allocation_does_to_combining_and_lots(tmp_path: Path) -> None:
    """6 P a build: of 8 allocated either can have 6, both not 12; with a second source one order can have all."""
    scarce = source("P", "0.50") + "allocated = 8\nrank = 1\n"
    text = buy(small(tmp_path, {"parts/p.toml": scarce, "plans/p.toml": TWO_BUILDS}), "--combine")
    assert "too little is allocated for one order  P     us\n" in text
    more = source("P", "0.75").split("[[", 1)[1]
    folder = small(tmp_path, {"parts/p.toml": f"{scarce}[[{more}", "plans/p.toml": TWO_BUILDS})
    answered = json.loads(buy(folder, "--combine", "--format", "json"))
    (row,) = answered["parts"]
    # Alone 6 x 0.50; together 8 x 0.50 + 4 x 0.75; two orders would take 12 of the 8.
    assert [row[key] for key in ("first", "second", "together")] == ["3", "3", "7"]
    assert row["remark"].startswith("two orders would take more than is allocated")
    assert (row["pays_above_percent"], row["split_now"], row["split_later"], row["split"]) == (
        "",
        "6",
        "6",
        "7",
    )
    assert "left_out" not in answered
    lots = buy(folder, "--lots", columns=200)
    assert "another division among the sources may cost less: P\n" in lots
    assert "exact: at the sources asked" not in lots


def test_one_price_of_two_makes_every_sum_a_lower_bound(tmp_path: Path) -> None:
    """3 units x 2 P x 0.125 = 0.75; Q is ordered at a price nobody stated."""
    lines = SMALL["assemblies/t.toml"] + '[[line]]\nitem = 2\npart = "Q"\nqty = 1\n'
    parts = source("P", "0.125") + source("Q", "")
    text = buy(small(tmp_path, {"parts/p.toml": parts, "assemblies/t.toml": lines}), columns=100)
    assert "price not known: Q\n" in text
    assert "total, least cash now: at least 0.75 EUR for 2 parts; 1 order has no known price\n" in text
    assert "us pays at least 0.75 EUR\n" in text
    assert re.search(r"^us +s +2 .* at least +0\.75$", text, re.MULTILINE)
    assert len(re.findall(r"^(full|mixed|least) .* at least +0\.75 ", text, re.MULTILINE)) == 4
    folder = small(tmp_path, {"parts/p.toml": parts, "assemblies/t.toml": lines})
    totals = [
        tuple(row.values())
        for row in json.loads(buy(folder, "--table", "totals", "--format", "json"))["totals"]
    ]
    assert totals[:2] == [
        ("spend", "least cash now", "at least", "0.75", "EUR"),
        ("spend of a buyer", "us", "at least", "0.75", "EUR"),
    ]
    assert ("left over", "of the spend", "", None, "%") in totals
    assert ("plain sum", "losses, packs, least orders, charges", "", None, "EUR") in totals
    (row,) = [line.split() for line in text.splitlines() if line.startswith("Q ")]
    assert row[row.index("each") + 1 :][:6] == ["3", "3", "3", "3", "?", "?"]


@pytest.mark.parametrize(("qty", "order", "spend"), [(1, "2", "0.25"), (10**9, "2000000000", "250000000")])
def test_the_least_and_the_largest_quantity(tmp_path: Path, qty: int, order: str, spend: str) -> None:
    plan = SMALL["plans/p.toml"].replace("qty = 3", f"qty = {qty}")
    folder = small(tmp_path, {"parts/p.toml": source("P", "0.125"), "plans/p.toml": plan})
    (row,) = json.loads(buy(folder, "--format", "json"))["parts"]
    assert (row["order"], row["spend"], row["left"]) == (order, spend, "0")
    assert f"total, least cash now: {rounded(spend, 2)} EUR" in buy(folder)


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("plans/p.toml", NO_BUILDS),
        ("assemblies/t.toml", '[assembly]\nid = "TOP"\n[assembly.sale.web]\nlist_price = "5 EUR"\n'),
    ],
    ids=["no builds", "no lines"],
)
def test_nothing_to_buy(tmp_path: Path, path: str, text: str) -> None:
    folder = small(tmp_path, {path: text})
    shown = buy(folder)
    assert "\nnone\n\nBy seller\nnone\n\nWays to buy\nnone\n" in shown
    assert "\nnothing to buy\n" in shown
    assert "0.00" not in shown
    assert not [line for line in shown.splitlines() if line != line.rstrip()]
    assert json.loads(buy(folder, "--format", "json"))["parts"] == []
    header, *rows = buy(folder, "--format", "csv").splitlines()
    assert (header[:10], rows) == ("part,name,", [])


def test_a_build_of_an_unknown_sku_is_said_and_found(tmp_path: Path) -> None:
    plan = SMALL["plans/p.toml"].replace('"TOP"', '"NOT-THERE"')
    folder = small(tmp_path, {"plans/p.toml": plan})
    text = buy(folder)
    assert "not known: what b needs, for no file defines NOT-THERE\n" in text
    assert "nothing to buy" not in text
    assert "0.00" not in text
    done = ferrule("check", *TODAY, "--rule", "unknown-part", cwd=folder)
    assert done.stdout.startswith('plans/p.toml:7:7: error[unknown-part]: part "NOT-THERE"')


def test_a_build_of_an_unknown_sku_makes_the_total_a_lower_bound(tmp_path: Path) -> None:
    plan = SMALL["plans/p.toml"] + '[[build]]\nname = "c"\nsku = "NOT-THERE"\nqty = 1\n'
    folder = small(tmp_path, {"parts/p.toml": source("P", "0.125"), "plans/p.toml": plan})
    assert "total, least cash now: at least 0.75 EUR for 1 part\n" in buy(folder)


HOSTILE = "\\u001b[31m<b>\\u202e[/b]\\u0007##[error]&amp;\\u0085" + "x" * 200


def test_hostile_names_are_inert_and_wrapped(tmp_path: Path) -> None:
    part = source("P", "0.125").replace("[part.P]\n", f'[part.P]\nname = "{HOSTILE}"\n', 1)
    firms = f'[firm.s]\nname = "{HOSTILE}"\n'
    plan = SMALL["plans/p.toml"].replace('id = "p"', f'id = "p"\nname = "{HOSTILE}"')
    folder = small(tmp_path, {"parts/p.toml": part, "firms/s.toml": firms, "plans/p.toml": plan})
    for arguments in ((), ("--why", "P"), ("--lots",)):
        text = buy(folder, *arguments, columns=80)
        assert not re.search("[\\x00-\\x09\\x0b-\\x1f\\x7f-\\x9f\\u202a-\\u202e]", text)
        assert "\\u001b[31m<b>" in text  # shown as what it is
    for form in ("json", "csv"):
        shown = buy(folder, "--format", form)
        assert not re.search("[\\x00-\\x09\\x0b-\\x1f\\x7f-\\x9f\\u202a-\\u202e]", shown)
