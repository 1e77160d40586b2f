"""The screens of `buy`, `cost`, `schedule`, `cash` and `levers` on the example, byte for byte, and what must hold between them.

Read a changed screen before accepting it: `pytest tests/cli/test_money_screens.py --update` writes them.
"""

from __future__ import annotations

import csv
import io
import json
import re
import xml.etree.ElementTree as ET
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from ferrule.model.columns import width
from git_builders import ferrule

EXAMPLE = Path(__file__).parents[2] / "example-product"
GOLDEN = Path(__file__).parent / "golden"
TODAY = ("--today", "2026-11-25")
OFFER = "48.20 USD CIP Wexmouth port via halden-sea"

#: Name of the screen → columns (0: a pipe) and command.
SCREENS: dict[str, tuple[int, tuple[str, ...]]] = {
    "buy-80": (80, ("buy", "first-season")),
    "buy-160": (160, ("buy", "first-season")),
    "buy-pipe": (0, ("buy", "first-season", "--sort", "date")),
    "buy-second-80": (80, ("buy", "second-season")),
    "buy-full-packs-80": (
        80,
        ("buy", "first-season", "--strategy", "full packs", "--source", "cheapest", "--builds", "summer"),
    ),
    "buy-why-c-100n": (120, ("buy", "first-season", "--why", "C-100N-0603")),
    "buy-why-u-mcu": (120, ("buy", "first-season", "--why", "U-MCU")),
    "buy-combine-100": (100, ("buy", "first-season", "--combine")),
    "buy-lots-100": (100, ("buy", "first-season", "--lots")),
    "cost-80": (80, ("cost", "W20-SINGLE")),
    "cost-160": (160, ("cost", "W20-SINGLE")),
    "cost-set-100": (100, ("cost", "W20-SET3", "--volumes", "100")),
    "cost-why-duty": (120, ("cost", "W20-SINGLE", "--why", "duty")),
    "cost-why-markup": (160, ("cost", "W20-SINGLE", "--why", "mark-up", "--volumes", "1000")),
    "cost-offers-120": (
        120,
        ("cost", "W20-SINGLE", "--offer", OFFER, "--offer", "EXW Harbour works via halden-sea"),
    ),
    "cost-curve-80": (80, ("cost", "W20-SINGLE", "--curve", "--to", "240")),
    "schedule-80": (80, ("schedule", "first-season")),
    "schedule-why": (120, ("schedule", "first-season", "--why", "T-001")),
    "schedule-week": (100, ("schedule", "first-season", "--week-of", "2027-01-12")),
    "schedule-slip": (100, ("schedule", "first-season", "--slip", "W20-211")),
    "cash-80": (80, ("cash", "first-season")),
    "cash-200": (200, ("cash", "first-season")),
    "cash-all-100": (100, ("cash", "first-season", "--all")),
    "cash-rate-100": (100, ("cash", "first-season", "--rate", "1 EUR = 1.02 USD", "--table", "restated")),
    "cash-stop-80": (80, ("cash", "first-season", "--stop-at", "W20-SINGLE=1200", "--table", "tools")),
    "cash-draw-120": (120, ("cash", "first-season", "--draw", "--scenario", "late-and-dear")),
    "cash-beside-120": (120, ("cash", "first-season", "--scenario", "as-agreed", "--scenario", "dollar-up")),
    "cash-week-100": (100, ("cash", "first-season", "--week", "25")),
    "cash-daily-80": (80, ("cash", "first-season", "--scenario", "season-slips", "--daily")),
    "levers-80": (80, ("levers", "first-season")),
    "levers-120": (120, ("levers", "first-season", "--by", "cost")),
    "levers-generate-100": (100, ("levers", "first-season", "--generate")),
}


def run(columns: int, *arguments: str) -> str:
    named = {"COLUMNS": str(columns)} if columns else {}
    done = ferrule(*arguments, *TODAY, cwd=EXAMPLE, **named)
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


@pytest.mark.parametrize("name", SCREENS)
def test_screen(name: str, *, update: bool) -> None:
    columns, arguments = SCREENS[name]
    shown = run(columns, *arguments)
    path = GOLDEN / f"{name}.txt"
    if update:
        path.parent.mkdir(exist_ok=True)
        path.write_text(shown, encoding="utf-8")
    assert shown == path.read_text(encoding="utf-8")
    lines = shown.splitlines()
    assert not [line for line in lines if line != line.rstrip()]
    if columns:
        assert not [line for line in lines if width(line) > columns]


@pytest.fixture(scope="module")
def answers() -> dict[str, Any]:
    asked = {
        "buy": ("buy", "first-season"),
        "cost": ("cost", "W20-SINGLE", "--volumes", "1000"),
        "schedule": ("schedule", "first-season"),
    }
    return {name: json.loads(run(0, *arguments, "--format", "json")) for name, arguments in asked.items()}


def numbers(rows: list[dict[str, Any]], key: str) -> list[Decimal]:
    return [Decimal(row[key]) for row in rows if row[key] not in (None, "")]


def test_machine_forms_hold_plain_decimals(answers: dict[str, Any]) -> None:
    for answer in answers.values():
        assert next(iter(answer)) == "format_version"
        text = json.dumps(answer)
        assert not re.search(r'"-?[0-9.]+[eE][+-]?[0-9]+"', text)


def test_orders_add_up_to_sellers_and_sellers_to_the_total(answers: dict[str, Any]) -> None:
    buy = answers["buy"]
    goods = sum([*numbers(buy["sellers"], "goods"), *numbers(buy["sellers"], "charges")], Decimal(0))
    assert abs(sum(numbers(buy["parts"], "spend"), Decimal(0)) - goods) < Decimal("1e-6")
    least = next(row for row in buy["strategies"] if row["strategy"] == buy["strategy"])
    assert abs(Decimal(least["total"]) - sum(numbers(buy["sellers"], "total"))) < Decimal("1e-6")
    for row in buy["parts"]:
        nets = [
            Decimal(each["net"])
            for each in buy["builds"]
            if (each["part"], each["buyer"]) == (row["part"], row["buyer"])
        ]
        assert sum(nets) == Decimal(row["net"])


def test_elements_add_up_to_landed(answers: dict[str, Any]) -> None:
    rows = {row["element"]: row for row in answers["cost"]["elements"]}
    for column in [key for key in rows["labour"] if key.startswith("unit_")]:
        parts = [
            Decimal(row[column])
            for name, row in rows.items()
            if not name.startswith("=") and row[column] != ""
        ]
        assert abs(sum(parts) - Decimal(rows["= landed"][column])) < Decimal("1e-9")


def test_csv_holds_what_json_holds(answers: dict[str, Any]) -> None:
    text = run(0, "buy", "first-season", "--table", "sellers", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(text)))
    for row, same in zip(rows, answers["buy"]["sellers"], strict=True):
        assert row == {key: str(value) for key, value in same.items()}


def test_buy_and_schedule_name_the_same_day(answers: dict[str, Any]) -> None:
    """A part's order-by day in the purchase list is its earliest one in the schedule, where nothing is in stock."""
    first: dict[str, str] = {}
    for order in answers["schedule"]["orders"]:
        day = order["order_by"]
        first[order["item"]] = min(day, first.get(order["item"], day))
    rows = {row["part"]: row for row in answers["buy"]["parts"]}
    same = [
        part
        for part, row in rows.items()
        if row["stock"] == "0" and row["receipts"] == "0" and row["buyer"] == "harbour"
    ]
    assert len(same) > 60
    assert {part: rows[part]["order_by"] for part in same} == {part: first[part] for part in same}


def test_a_picture_is_written(tmp_path: Path) -> None:
    run(0, "cost", "W20-SINGLE", "--volumes", "1000", "--svg", str(tmp_path / "bars.svg"))
    root = ET.fromstring((tmp_path / "bars.svg").read_text(encoding="utf-8"))  # noqa: S314  our own file
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert root.get("role") == "img"


REFUSED = [
    (("buy", "first-seasn"), "there is no plan called first-seasn", "did you mean first-season?"),
    (("buy",), "name the plan", "plans: first-season, second-season"),
    (
        ("buy", "first-season", "--builds", "springs"),
        "plan first-season has no build called springs",
        "did you mean spring?",
    ),
    (
        ("buy", "first-season", "--why", "C-100N"),
        "the plan needs no part C-100N",
        "did you mean C-100N-0603?",
    ),
    (
        ("buy", "first-season", "--table", "x"),
        "this answer has no table called x",
        "tables: parts, builds, sellers, strategies, totals",
    ),
    (("cost",), "name the SKU", "SKUs: W20-SET3, W20-SINGLE"),
    (("cost", "W20-SINGEL"), "no assembly has the number W20-SINGEL", "did you mean W20-SINGLE?"),
    (
        ("cost", "W20-SINGLE", "--lane", "halden"),
        "there is no lane called halden",
        "did you mean halden-sea?",
    ),
    (("cost", "W20-SINGLE", "--term", "FCA"), "FCA names no place", 'write it as "FCA Wexmouth port"'),
    (("cost", "W20-SINGLE", "--offer", "cheap"), "cannot read the offer 'cheap'", None),
    (("cost", "W20-SINGLE", "--why", "magic"), "nothing in the cost is called magic", None),
    (("cost", "U-MCU"), "U-MCU is a part, not an assembly", None),
    (
        ("schedule", "first-season", "--why", "U-MCUU"),
        "nothing called U-MCUU has to be ordered",
        "did you mean U-MCU?",
    ),
    (
        ("schedule", "first-season", "--slip", "sprin"),
        "nothing called sprin is in the schedule",
        "did you mean spring?",
    ),
]


@pytest.mark.parametrize(("arguments", "message", "hint"), REFUSED, ids=lambda value: str(value)[:40])
def test_refused(arguments: tuple[str, ...], message: str, hint: str | None) -> None:
    done = ferrule(*arguments, *TODAY, cwd=EXAMPLE)
    assert (done.returncode, done.stdout) == (2, "")
    first, second = done.stderr.splitlines()
    assert first == f"error: {message}"
    assert hint is None or second == f"hint: {hint}"


def test_options_that_do_not_go_together() -> None:
    for arguments in (
        ("buy", "--why", "X", "--lots"),
        ("buy", "--with", "a", "b"),
        ("cost", "--volumes", "ten"),
        ("cost", "--curve", "--offers"),
    ):
        done = ferrule(*arguments, cwd=EXAMPLE)
        assert (done.returncode, done.stdout) == (2, "")
        assert done.stderr.startswith("error: ")


SMALL = {
    "product.toml": '[product]\nid = "T"\nname = "T"\ncurrency = "EUR"\nstage = "prototype"\n',
    "parts/p.toml": "[part.P]\n[part.Q]\n",
    "assemblies/t.toml": '[assembly]\nid = "TOP"\n[assembly.sale.web]\nlist_price = "5 EUR"\n[[line]]\nitem = 1\npart = "P"\nqty = 2\n',
    "plans/p.toml": '[plan]\nid = "p"\nstart = 2026-11-30\nend = "week 9"\n[[build]]\nname = "b"\nsku = "TOP"\nqty = 3\n',
}


def small(folder: Path, **files: str) -> Path:
    for path, text in (SMALL | files).items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text, encoding="utf-8")
    return folder


def test_the_unknown_is_never_zero(tmp_path: Path) -> None:
    folder = small(tmp_path)
    bought = ferrule("buy", *TODAY, cwd=folder).stdout
    assert "total, least cash now: at least 0.00 EUR for 1 part; 1 order has no known price" in bought
    row = next(line for line in bought.splitlines() if line.startswith("P "))
    assert "?" in row
    cost = ferrule("cost", "TOP", "--volumes", "10", *TODAY, cwd=folder).stdout
    assert "at least" in cost
    assert "no price at all: P" in cost


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("plans/p.toml", '[plan]\nid = "p"\nstart = 2026-11-30\nend = "week 9"\n'),
        ("plans/p.toml", SMALL["plans/p.toml"].replace('"TOP"', '"NOT-THERE"')),
        ("assemblies/t.toml", '[assembly]\nid = "TOP"\n[assembly.sale.web]\nlist_price = "5 EUR"\n'),
        ("parts/p.toml", "[part.P\n"),
        ("plans/p.toml", SMALL["plans/p.toml"].replace("qty = 3", "qty = 1000000000")),
    ],
    ids=["no builds", "unknown SKU", "no lines", "unreadable", "a billion"],
)
def test_nothing_crashes_on_half_a_product(tmp_path: Path, path: str, text: str) -> None:
    folder = small(tmp_path, **{path: text})
    for arguments in (
        ("buy", "p"),
        ("cost", "TOP"),
        ("schedule", "p"),
        ("buy", "p", "--lots"),
        ("cost", "TOP", "--curve", "--to", "5"),
    ):
        done = ferrule(*arguments, *TODAY, cwd=folder)
        assert done.returncode in (0, 2), done.stderr
        assert "bug in ferrule" not in done.stderr
        assert "Traceback" not in done.stderr


def test_hostile_names_are_inert(tmp_path: Path) -> None:
    parts = '[part.P]\nname = "\\u001b[31m<b>\\u202e=cmd|x[/b]"\n[[part.P.source]]\nseller = "s"\nstatus = "approved"\nprice = [{ from = 1, each = 1 }]\ncurrency = "EUR"\n'
    firms = '[firm.s]\nname = "\\u0007<script>"\n'
    folder = small(tmp_path, **{"parts/p.toml": parts, "firms/f.toml": firms})
    for form in ("text", "json", "csv"):
        for arguments in (("buy", "p"), ("cost", "TOP"), ("schedule", "p"), ("buy", "p", "--why", "P")):
            shown = ferrule(*arguments, *TODAY, "--format", form, cwd=folder).stdout
            assert not re.search("[\\x00-\\x09\\x0b-\\x1f\\x7f\\u202a-\\u202e]", shown)
