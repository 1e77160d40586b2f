"""`cash` and `levers` on plans worked by hand, and what moves the money of the example.

Every week that is not listed moves nothing. Terms are common practice: a deposit with the order and the rest after
shipment, a reserve a web shop holds back, a retailer's term and pay-run.
"""

from __future__ import annotations

import json
import shutil
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from git_builders import ferrule

EXAMPLE = Path(__file__).parents[2] / "example-product"
TODAY = "2026-11-25"

HEAD = '[product]\nid = "LAMP"\nname = "Lamp"\ncurrency = "EUR"\nstage = "dvt"\nmarkets = ["EU"]\n'

#: Opening 100; out 40, 30, 50; in 90, 90: 60, 30, -20, 70, 160, so 120 are needed.
BARE = """\
[plan]
id = "bare"
start = 2027-01-04
end = "week 16"
opening = 100
floor = 0

[[one_off]]
name = "first"
amount = 40
when = "week 0"

[[one_off]]
name = "second"
amount = 30
when = "week 4"

[[one_off]]
name = "third"
amount = 50
when = "week 8"

[[funding]]
name = "one"
amount = 90
when = "week 12"
signed = true
kind = "grant"

[[funding]]
name = "two"
amount = 90
when = "week 16"
signed = true
kind = "grant"

[[funding]]
name = "hoped"
amount = 25
when = "week 7"
kind = "equity"

[lever.second-later]
set = { "one_off.second.when" = "week 7" }

[lever.third-later]
set = { "one_off.third.when" = "week 12" }
"""

LAMP = {
    "product.toml": HEAD,
    "parts/all.toml": """\
[part.LED]
name = "Light"
class = "electrical"
[[part.LED.source]]
seller = "norholt"
status = "approved"
currency = "EUR"
moq = 100
price = [{ from = 1, each = 2 }]
lead_time = "2 weeks"
quoted = 2026-11-01
""",
    "assemblies/top.toml": """\
[assembly]
id = "TOP"
name = "Lamp"
factory = "works"
supply = "turnkey"
steps = [{ name = "assemble", cost = 3, kind = "labour", yield = "100 %", yield_seen = "100 %", time = "7 days" }]

[assembly.sale.web]
list_price = 10

[assembly.sale.shop]
list_price = 10

[[line]]
item = 10
part = "LED"
qty = 1
""",
    "firms/all.toml": """\
[firm.norholt]
name = "Norholt"
roles = ["seller"]
currency = "EUR"

[firm.works]
name = "Works"
roles = ["factory"]
currency = "EUR"
payment = [{ share = "40 %", due = "order" }, { share = "rest", due = "shipment + 14 days" }]

[firm.works.factory]

[channel.web]
name = "Web"
kind = "direct"
currency = "EUR"
settlement = { lag = "7 days", reserve = "10 %", reserve_for = "28 days" }

[channel.shop]
name = "Shop"
kind = "retail"
currency = "EUR"
margin = "40 %"
payment = [{ share = "100 %", due = "receipt + 21 days" }]
settlement = { pay_run = "thursday" }
""",
    "plans/lamp.toml": """\
[plan]
id = "lamp"
start = 2027-01-04
end = "week 20"
opening = 800
floor = 0

[[build]]
name = "one"
sku = "TOP"
qty = 100
factory = "works"
ship = "week 6"

[[sales]]
sku = "TOP"
channel = "web"
qty = 60
curve = [{ week = "week 8", qty = 40 }, { week = "week 9", qty = 20 }]

[[sales]]
sku = "TOP"
channel = "shop"
qty = 40
curve = [{ week = "week 8", qty = 40 }]

[[overhead]]
name = "rent"
amount = 10
every = "week"
from = "week 1"
to = "week 4"
kind = "rent"

[lever.balance-later]
set = { "firm.works.payment.1.due" = "shipment + 28 days" }

[lever.half-deposit]
set = { "firm.works.payment.0.share" = "20 %" }
price = { "part.LED.source.0.price.0.each" = 2.10 }

[lever.shop-sooner]
set = { "channel.shop.payment.0.due" = "receipt + 7 days" }
price = { "channel.shop.margin" = "42 %" }
""",
}

#: A mould of 1,000.01 USD, half with the order, the rest 14 days after approval; money lent for five weeks; rent.
MOULD = {
    "product.toml": HEAD,
    "firms/all.toml": '[[rate]]\nrate = "1 EUR = 1.08 USD"\ndate = 2026-11-20\nevidence = "bank reference rate"\n',
    "tools/all.toml": """\
[tool.T-9]
name = "Mould"
kind = "mould"
amount = "1000.01 USD"
ordered = 2027-01-06
approved = 2027-02-10
schedule = [{ share = "50 %", due = "order" }, { share = "rest", due = "approval + 14 days" }]
""",
    "plans/mould.toml": """\
[plan]
id = "mould"
start = 2027-01-04
end = "week 8"
opening = 600

[[overhead]]
name = "rent"
amount = 100
every = "month"
kind = "rent"

[[funding]]
name = "bridge"
amount = 400
when = "week 1"
repay = "week 6"
interest = "8 %"
kind = "loan"
signed = true
""",
}


def write(folder: Path, files: dict[str, str]) -> Path:
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


def ask(folder: Path, *arguments: str) -> dict[str, Any]:
    today = () if "--today" in arguments else ("--today", TODAY)
    done = ferrule(*arguments, *today, "--format", "json", cwd=folder)
    assert (done.returncode, done.stderr) == (0, "")
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


def moving(answer: dict[str, Any]) -> dict[int, tuple[str, str, str]]:
    """Return in, out and balance of the weeks in which something moves."""
    return {
        row["week"]: (row["income"], row["outgo"], row["balance"])
        for row in answer["weeks"]
        if (row["income"], row["outgo"]) != ("0", "0")
    }


def test_a_plan_of_payments_alone(tmp_path: Path) -> None:
    folder = write(tmp_path, {"product.toml": HEAD, "plans/bare.toml": BARE})
    found = ask(folder, "cash")
    assert moving(found) == {
        0: ("0", "40", "60"),
        4: ("0", "30", "30"),
        8: ("0", "50", "-20"),
        12: ("90", "0", "70"),
        16: ("90", "0", "160"),
    }
    assert (found["trough"], found["trough_week"], found["needed_at_the_start"]) == ("-20", 8, "120")
    assert found["first_week_below_the_floor"] == 8
    assert found["profit_of_the_plan"] == "60"


def test_money_that_is_not_signed(tmp_path: Path) -> None:
    """25 in week 7 lift the trough to 5, and are no profit."""
    folder = write(tmp_path, {"product.toml": HEAD, "plans/bare.toml": BARE})
    found = ask(folder, "cash", "--hoped")
    assert (found["trough"], found["profit_of_the_plan"]) == ("5", "60")
    assert any("hoped for and not counted: 25" in note for note in ask(folder, "cash")["notes"])


def test_a_term_is_worth_nothing_unless_it_crosses_the_trough(tmp_path: Path) -> None:
    folder = write(tmp_path, {"product.toml": HEAD, "plans/bare.toml": BARE})
    found = ask(folder, "levers")
    freed = {row["lever"]: (row["freed"], row["trough"], row["week"]) for row in found["levers"]}
    assert freed == {"second-later": ("0", "-20", 8), "third-later": ("50", "30", 4)}
    assert found["pairs"][0]["week"] == 7
    whys = {row["lever"]: row["why"] for row in found["levers"]}
    assert whys == {
        "second-later": "moves 30.00 from week 4 to week 7; the trough is week 8",
        "third-later": "",
    }


def test_the_first_sentence_says_which_terms_to_fight_for(tmp_path: Path) -> None:
    """Bare: both together raise the trough from -20 to 60 in week 7: 80. The lamp: 398 for ten, in week 4."""
    folder = write(tmp_path, {"product.toml": HEAD, "plans/bare.toml": BARE, **LAMP})
    asked = {}
    for plan in ("bare", "lamp"):
        done = ferrule("levers", plan, "--today", TODAY, cwd=folder)
        asked[plan] = done.stdout.splitlines()[0]
    assert asked == {
        "bare": "Fight for third-later: alone it frees 50.00 at the trough (from -20.00 in week 8 to 30.00 in week 4) "
        "for no profit lost; no second term frees more",
        "lamp": "Fight for balance-later and half-deposit: together they free 398.00 at the trough (from 260.00 in "
        "week 8 to 658.00 in week 4) for 10.00 of profit",
    }


def test_a_build_and_its_sales(tmp_path: Path) -> None:
    """100 lamps at 2 + 3 = 500: 40 % with the order, three weeks before they ship on 15 February; the rest on 1 March.

    60 sold at 10 are settled after a week but for a tenth, which comes four weeks later. 40 sold at 6 on Friday
    5 March are due on 26 March and paid on the Thursday after, 1 April.
    """
    found = ask(write(tmp_path, LAMP), "cash")
    assert moving(found) == {
        1: ("0", "10", "790"),
        2: ("0", "10", "780"),
        3: ("0", "210", "570"),
        4: ("0", "10", "560"),
        8: ("0", "300", "260"),
        9: ("360", "0", "620"),
        10: ("180", "0", "800"),
        12: ("240", "0", "1040"),
        13: ("40", "0", "1080"),
        14: ("20", "0", "1100"),
    }
    assert (found["trough"], found["trough_week"], found["needed_at_the_start"]) == ("260", 8, "540")
    assert (found["profit_of_the_plan"], found["money_back_for_good_in_week"]) == ("300", 10)


def test_levers_of_a_build(tmp_path: Path) -> None:
    """Later balance: the 300 fall into week 10. Smaller deposit: 510 x 20 % early, 408 late, worse by ten.

    Both: 800 - 40 - 102 = 658 in week 4, so together they free 398 where one by one they add to 290, for ten.
    """
    found = ask(write(tmp_path, LAMP), "levers")
    rows = {row["lever"]: row for table in ("levers", "pairs", "all") for row in found[table]}
    freed = {name: (row["freed"], row["week"], row["profit"]) for name, row in rows.items()}
    assert freed["balance-later"] == ("300", 4, "0")
    assert freed["half-deposit"] == ("-10", 8, "-10")
    assert freed["shop-sooner"] == ("0", 8, "-8")
    assert freed["balance-later + half-deposit"] == ("398", 4, "-10")
    assert rows["balance-later + half-deposit"]["sum"] == "290"
    assert abs(Decimal(rows["balance-later + half-deposit"]["per_thousand"]) - Decimal("25.1256")) < Decimal(
        "0.0001"
    )
    assert rows["half-deposit"]["per_thousand"] == "-"
    assert freed["all 3"] == ("398", 4, "-18")
    assert rows["half-deposit"]["why"] == (
        "lowers the trough by 10.00: 10.00 more is paid in week 8; the trough is then week 8"
    )
    assert (rows["half-deposit"]["price"], rows["balance-later"]["price"]) == ("stated", "no price stated")


def test_what_a_lever_costs_a_year(tmp_path: Path) -> None:
    """Both: 98 are paid later, from Monday 25 January to 15 March (49 days), 300 from 1 March to 15 March (14 days).

    So 98 x 49 + 300 x 14 = 9,002 money-days are held for ten: 10 x 365 / 9,002 = 40.5465 % a year.
    """
    found = ask(write(tmp_path, LAMP), "levers")
    yearly = {row["lever"]: row["a_year"] for row in found["pairs"]}["balance-later + half-deposit"]
    assert abs(Decimal(yearly) - Decimal(10 * 365 * 100) / 9002) < Decimal("1e-6")


def test_generated_levers_of_a_product_never_seen(tmp_path: Path) -> None:
    """The lamp's own terms: 200 with the order in week 3, 300 in week 8, receipts from week 9. Trough 260 in week 8.

    The balance thirty days later is paid on 31 March, in week 12: the trough is 560 in week 4. The deposit twenty
    points smaller moves 100 from week 3 to 8 and frees nothing; larger, no more. The web shop settles on its Friday
    at the earliest: 0.9 x 400 come in week 8 instead of 9, and the trough is 560 in week 4 as well. The shop's 240
    for its Friday are paid on the Thursday after, in week 9: too late.
    """
    texts = {name: text.split("[lever.")[0] for name, text in LAMP.items()}
    found = ask(write(tmp_path, texts), "levers", "--generate")
    rows = {row["lever"]: (row["freed"], row["week"], row["why"]) for row in found["levers"]}
    assert rows == {
        "web settlement -30 days": ("300", 4, ""),
        "works balance +30 days": ("300", 4, ""),
        "works deposit -20 points": ("0", 8, "moves 100.00 from week 3 to week 8; the trough is week 8"),
        "shop -30 days": ("0", 8, "moves 240.00 of receipts from week 12 to week 9; the trough is week 8"),
    }
    assert {row["price"] for row in found["levers"]} == {"no price stated"}
    assert {row["profit"] for row in found["levers"]} == {"0"}
    assert found["levers"][0]["set"] == "channel web, settlement, lag: 7 days -> 0 days"
    assert {row["lever"]: row["freed"] for row in found["asked_of_us"]} == {
        "works balance -30 days": "0",
        "works deposit +20 points": "0",
        "web settlement +30 days": "0",
        "shop +30 days": "0",
    }


def test_a_mould_in_another_currency(tmp_path: Path) -> None:
    """500.01 and 500.00 USD at 1.08 are 462.97 EUR each; 400 for 35 days at 8 % cost 3.07; rent on the 4th."""
    found = ask(write(tmp_path, MOULD), "cash")
    assert moving(found) == {
        0: ("0", "562.97", "37.03"),
        1: ("400", "0", "437.03"),
        4: ("0", "100", "337.03"),
        6: ("0", "403.07", "-66.04"),
        7: ("0", "462.97", "-529.01"),
        8: ("0", "100", "-629.01"),
    }
    assert found["profit_of_the_plan"] == "-1229.01"
    assert found["currencies"] == [
        {"currency": "USD", "income": "0", "outgo": "1000.01", "net": "-1000.01", "home": "-925.94"},
    ]


YUAN = {
    "product.toml": HEAD.replace("EUR", "USD"),
    "firms/all.toml": '[[rate]]\nrate = "1 USD = 7.20 CNY"\ndate = 2026-11-20\nevidence = "bank reference rate"\n',
    "plans/yuan.toml": """\
[plan]
id = "yuan"
start = 2027-01-04
end = "week 12"
opening = 200000
floor = 0

[[one_off]]
name = "goods"
amount = "840000 CNY"
when = "week 10"

[[one_off]]
name = "sample"
amount = "7200 CNY"
when = "week 2"

[scenario.yuan-up]
set = { "rate.USD.CNY" = "1 USD = 6.84 CNY" }

[scenario.late]
set = { "one_off.goods.when" = "week 11" }
""",
}


@pytest.mark.parametrize("rate", ["1 USD = 6.84 CNY", "6.84 CNY = 1 USD", "yuan-up"])
def test_what_is_open_at_another_rate(tmp_path: Path, rate: str) -> None:
    """840,000 at 7.20 are 116,667 and at 6.84 122,807: 6,140 lost. Till week 2 the sample, 1,000 at 7.20, is open too.

    The balance at the end: 200,000 - 1,000 - 116,666.67 as stated, 200,000 - 847,200 / 6.84 then.
    """
    found = ask(write(tmp_path, YUAN), "cash", "--rate", rate)
    weeks = {row["week"]: row for row in found["restated"]}
    assert sorted(weeks) == list(range(11))
    assert [weeks[n]["open"] for n in (0, 2, 3, 10)] == ["-847200", "-847200", "-840000", "-840000"]
    assert [round(Decimal(weeks[10][key])) for key in ("stated", "restated", "change")] == [
        -116667,
        -122807,
        -6140,
    ]
    assert Decimal(weeks[0]["stated"]) - Decimal(weeks[10]["stated"]) == -1000
    assert found["ending"] == "82333.33"
    assert abs(
        Decimal(found["trough_at_that_rate"]) - (200000 - Decimal(847200) / Decimal("6.84"))
    ) < Decimal("1e-6")
    assert found["its_week"] == 10


def test_a_rate_that_says_nothing_is_refused(tmp_path: Path) -> None:
    folder = write(tmp_path, YUAN)
    for rate, message in {
        "7.20": "or name a scenario that sets one: yuan-up",
        "yuan-upp": "did you mean yuan-up?",
        "late": "or name a scenario that sets one: yuan-up",
        "1 EUR = 7.20 CNY": "is no rate of USD",
    }.items():
        done = ferrule("cash", "--rate", rate, "--today", TODAY, cwd=folder)
        assert done.returncode == 2
        assert message in done.stderr


TOOLED = LAMP | {
    "tools/all.toml": """\
[tool.T-1]
name = "Mould"
kind = "mould"
amount = "48000 EUR"
makes = ["LED"]
amortise_over = 12000
ordered = 2026-10-01
schedule = [{ share = "100 %", due = "order" }]

[tool.T-2]
name = "Gauge"
kind = "gauge"
amount = "300 EUR"
makes = ["TOP"]
ordered = 2026-10-01
schedule = [{ share = "100 %", due = "order" }]
""",
}


@pytest.mark.parametrize(
    ("stop", "made", "true", "left"),
    [("5000", "5000", "9.6", "28000"), ("TOP=0", "0", "-", "48000"), ("12,000", "12000", "4", "0")],
)
def test_what_a_tool_has_not_earned_back(tmp_path: Path, stop: str, made: str, true: str, left: str) -> None:
    """48,000 over 12,000 is 4.00 planned; at 5,000 made it is 9.60, and 28,000 are not earned back."""
    found = ask(write(tmp_path, TOOLED), "cash", "--stop-at", stop)
    mould, gauge = found["tools"]
    kept = ("amount", "over", "planned", "made", "true", "open")
    assert [mould[key] for key in kept] == ["48000", "12000", "4", made, true, left]
    assert (gauge["over"], gauge["planned"], gauge["open"]) == ("-", "-", "300")


@pytest.mark.parametrize(
    ("stop", "message"),
    [("many", "cannot read the quantity"), ("TOPP=5", "did you mean TOP?"), ("LED=5", "it builds TOP")],
)
def test_a_quantity_to_stop_at_that_is_not_built(tmp_path: Path, stop: str, message: str) -> None:
    done = ferrule("cash", "--stop-at", stop, "--today", TODAY, cwd=write(tmp_path, LAMP))
    assert done.returncode == 2
    assert message in done.stderr


def test_two_breakevens_and_what_is_deployed(tmp_path: Path) -> None:
    """The lamp costs 5; the web leaves 10 - 5 = 5 on each of 60, the shop 6 - 5 = 1 on each of 40: 3.40 blended.

    Rent of 40 takes 40 / 3.40 = 11.8, so 12 units, sold by the end of week 8. The bank has its money back in week 10.
    Below the opening of 800: 10, 20, 230, 240 (weeks 4 to 7), 540, 180: 10 + 20 + 230 + 4 x 240 + 540 + 180 = 1,940.
    """
    found = ask(write(tmp_path, LAMP), "cash")
    assert (found["breakeven_quantity"], found["sales_reach_it_in_week"]) == ("12", 8)
    assert found["money_back_for_good_in_week"] == 10
    assert found["capital_deployed"] == "1940"
    assert (found["needed_at_the_start"], found["lowest_if_payments_leave_first"]) == ("540", "260")


def test_payments_leave_first(tmp_path: Path) -> None:
    """Rent in the week of a receipt: 260 in week 8, then 360 in and 100 out in week 9: 160 before 360 come, 520 after."""
    more = '[[one_off]]\nname = "fair"\namount = 100\nwhen = "week 9"\n\n[lever.balance-later]'
    texts = LAMP | {"plans/lamp.toml": LAMP["plans/lamp.toml"].replace("[lever.balance-later]", more)}
    found = ask(write(tmp_path, texts), "cash")
    assert (found["trough"], found["lowest_if_payments_leave_first"], found["week_of_that_low"]) == (
        "260",
        "160",
        9,
    )


#: Opening 100, floor 20; 90 out on Monday of week 1; 50 in on Monday of week 5; a line of 30 at 36.5 % a year.
LINE = """\
[plan]
id = "line"
start = 2027-01-04
end = "week 12"
opening = 100
floor = 20

[[one_off]]
name = "goods"
amount = 90
when = "week 1"

[[funding]]
name = "grant"
amount = 50
when = "week 5"
kind = "grant"
signed = true

[[loan]]
name = "overdraft"
limit = 30
interest = "36.5 %"
"""


def test_a_line_of_credit_by_hand(tmp_path: Path) -> None:
    """11 January: 10 are left, 10 drawn. A tenth of a percent a night: 20 nights to 31 January cost 0.20, drawn too.

    8 nights on 10.20 to 8 February are 0.08, paid at the end of February; the 10.20 go back on 8 February.
    """
    folder = write(tmp_path, {"product.toml": HEAD, "plans/line.toml": LINE})
    found = ask(folder, "cash", "--draw")
    rows = [tuple(row[key] for key in ("day", "amount", "interest", "open")) for row in found["draws"]]
    assert rows == [
        ("2027-01-11", "10", "0", "10"),
        ("2027-01-31", "0.2", "0.2", "10.2"),
        ("2027-02-08", "-10.2", "0", "0"),
        ("2027-02-28", "0", "0.08", "0"),
    ]
    assert (found["trough"], found["trough_without_drawing"], found["most_drawn"]) == ("20", "10", "10.2")
    assert (found["ending"], found["profit_of_the_plan"], found["interest_on_it"]) == (
        "59.72",
        "-40.28",
        "0.28",
    )
    assert found["needed_at_the_start"] == "110"
    plain = ask(folder, "cash")
    assert (plain["trough"], plain["ending"], "draws" in plain) == ("10", "60", False)


def test_a_line_that_does_not_reach(tmp_path: Path) -> None:
    folder = write(
        tmp_path, {"product.toml": HEAD, "plans/line.toml": LINE.replace("limit = 30", "limit = 4")}
    )
    found = ask(folder, "cash", "--draw")
    assert (found["trough"], found["most_drawn"]) == ("13.92", "4")
    assert any("6.08 EUR are missing at worst" in note for note in found["notes"])


def test_a_plan_without_a_line_cannot_draw(tmp_path: Path) -> None:
    done = ferrule("cash", "--draw", "--today", TODAY, cwd=write(tmp_path, LAMP))
    assert done.returncode == 2
    assert "add [[loan]] with name, limit and interest" in done.stderr


def test_early_payment_discounts(tmp_path: Path) -> None:
    """300 due on 1 March, 2 % off within 3 days after shipment on 15 February: 294 on 18 February, in week 6.

    The trough comes a fortnight earlier and six higher: 800 - 40 - 200 - 294 = 266 in week 6.
    """
    old = '{ share = "rest", due = "shipment + 14 days" }'
    new = old.replace(" }", ', discount = "2 %", discount_within = "3 days" }')
    texts = LAMP | {"firms/all.toml": LAMP["firms/all.toml"].replace(old, new)}
    folder = write(tmp_path, texts)
    plain, taken = ask(folder, "cash"), ask(folder, "cash", "--take-discounts")
    assert (plain["trough"], plain["trough_week"], plain["profit_of_the_plan"]) == ("260", 8, "300")
    assert (taken["trough"], taken["trough_week"], taken["profit_of_the_plan"]) == ("266", 6, "306")
    assert moving(taken)[6] == ("0", "294", "266")
    assert 8 not in moving(taken)
    assert (taken["saved_by_discounts"], taken["trough_without_discounts"]) == ("6", "260")
    passed = ask(folder, "cash", "--take-discounts", "--today", "2027-02-19")
    assert passed["saved_by_discounts"] == "0"


# --- the example -----------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def as_agreed() -> dict[str, Any]:
    return ask(EXAMPLE, "cash", "first-season")


@pytest.mark.parametrize(
    ("old", "new", "weeks"),
    [
        ("{ from = 1040, each = 5.6 }", "{ from = 1040, each = 5.7 }", "later"),
        ("moq = 1040", "moq = 3120", "larger"),
        ('lead_time = "24 weeks"\nlead_stated', 'lead_time = "12 weeks"\nlead_stated', "moved"),
    ],
)
def test_what_a_part_says_moves_the_money(
    tmp_path: Path, as_agreed: dict[str, Any], old: str, new: str, weeks: str
) -> None:
    """A dearer part, a larger least order, a shorter lead time: the same command shows other payments."""
    folder = tmp_path / "p"
    shutil.copytree(EXAMPLE, folder)
    path = folder / "parts" / "processor.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    found = ask(folder, "cash", "first-season")
    before, after = (
        {row["week"]: row["kind_own_purchases"] for row in answer["weeks"] if row["kind_own_purchases"] != ""}
        for answer in (as_agreed, found)
    )
    assert before != after
    spent = [sum(map(Decimal, each.values())) for each in (before, after)]
    if weeks == "moved":
        assert set(before) != set(after)
        assert spent[0] == spent[1]
    else:
        assert spent[1] < spent[0]


def test_terms_without_a_price_change_no_profit() -> None:
    found = ask(EXAMPLE, "levers", "first-season")
    free = {"small-deposit", "balance-30", "mould-by-unit", "print-60", "certification-later"}
    rows = {row["lever"]: row["profit"] for row in found["levers"]}
    assert {name: rows[name] for name in free} == dict.fromkeys(free, "0")
    assert Decimal(rows["balance-90"]) < 0


def test_the_order_of_scenarios_does_not_matter(as_agreed: dict[str, Any]) -> None:
    one = ask(EXAMPLE, "cash", "first-season", "--scenario", "air-first", "--scenario", "dollar-up")
    two = ask(EXAMPLE, "cash", "first-season", "--scenario", "dollar-up", "--scenario", "air-first")
    kept = ("scenario", "trough", "trough_week", "needed", "ending", "profit")
    rows = [{row["scenario"]: [row[key] for key in kept] for row in each["scenarios"]} for each in (one, two)]
    assert rows[0] == rows[1]
    assert rows[0]["air-first"][1] != as_agreed["trough"]


def test_weeks_add_up(as_agreed: dict[str, Any]) -> None:
    net = sum((Decimal(row["net"]) for row in as_agreed["weeks"]), Decimal(0))
    assert net == Decimal(as_agreed["ending"]) - Decimal(as_agreed["opening"])
    kinds = sum((Decimal(row["plan"]) for row in as_agreed["kinds"]), Decimal(0))
    assert kinds == net
    days = ask(EXAMPLE, "cash", "first-season", "--daily")["days"]
    assert days[-1]["balance"] == as_agreed["ending"]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("cash", "first-season", "--scenario", "air-frist"), "did you mean air-first?"),
        (("cash", "first-season", "--week", "57"), "its weeks are 0 to 56"),
        (("cash", "nothing"), "first-season"),
        (("levers", "second-season"), "add [lever.NAME]"),
    ],
)
def test_what_is_not_there(arguments: tuple[str, ...], message: str) -> None:
    done = ferrule(*arguments, "--today", TODAY, cwd=EXAMPLE)
    assert done.returncode == 2
    assert message in done.stderr
    assert "Traceback" not in done.stderr
