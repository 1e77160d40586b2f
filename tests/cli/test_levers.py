"""`levers` on plans worked by hand: what a term frees, what it costs, which two to fight for, and why one is worth nothing."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

from cash_builders import BARE, EXAMPLE, HEAD, LAMP, TODAY, ask, write
from git_builders import ferrule


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


def test_terms_without_a_price_change_no_profit() -> None:
    found = ask(EXAMPLE, "levers", "first-season")
    free = {"small-deposit", "balance-30", "mould-by-unit", "print-60", "certification-later"}
    rows = {row["lever"]: row["profit"] for row in found["levers"]}
    assert {name: rows[name] for name in free} == dict.fromkeys(free, "0")
    assert Decimal(rows["balance-90"]) < 0


def test_generated_terms_change_no_total() -> None:
    """Of all terms of the example, moved either way: not a cent more or less, but where goods go by air."""
    found = ask(EXAMPLE, "levers", "first-season", "--generate")
    profits = {row["lever"]: row["profit"] for key in ("levers", "asked_of_us") for row in found[key]}
    moved = {name: profit for name, profit in profits.items() if name.endswith((" days", " points"))}
    assert len(moved) > 30
    assert set(moved.values()) == {"0"}
    assert {row["price"] for row in found["asked_of_us"]} == {"no price stated"}
