"""`limits` on a plan worked by hand, checked by asking `cash` on both sides of each limit."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from git_builders import ferrule
from limit_plans import KITE, changed

TODAY = "2026-11-25"


def write(folder: Path, files: dict[str, str]) -> Path:
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


def ask(folder: Path, *arguments: str) -> dict[str, Any]:
    done = ferrule(*arguments, "--today", TODAY, "--format", "json", cwd=folder)
    assert (done.returncode, done.stderr) == (0, "")
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


def only(folder: Path, name: str, *arguments: str) -> dict[str, Any]:
    rows = ask(folder, "limits", "--only", name, *arguments)["unknowns"]
    assert len(rows) == 1
    row: dict[str, Any] = rows[0]
    return row


def kept(folder: Path, files: dict[str, str]) -> bool:
    """Return whether `cash` sees every week at the floor or above with some files."""
    return bool(ask(write(folder, files), "cash")["first_week_below_the_floor"] == "never")


def test_the_largest_build(tmp_path: Path) -> None:
    """300 less 60 for the fair and 20 to keep leave 220: 30 at 7 are 210, 40 are 280; 60 at 3 are 180, 70 are 210.

    40 need 60 + 20 + 280 = 360 and 50 need 430; 80 at 3 need 60 + 20 + 240 = 320, 20 more than there are.
    """
    found = ask(write(tmp_path, KITE), "limits", "--only", "build", "--step", "10", "--search", "build=120")
    assert (found["largest_build"], found["binding_limit"]) == (70, "cash: the floor in week 3")
    stops = {row["limit"]: row["most"] for row in found["build"]}
    assert stops == {"cash": 70, "parts": 120, "time": 120}
    assert found["gaps"] == [
        {"from": 40, "to": 50, "needed_from": "360", "needed_to": "430", "lacks": "130"},
    ]
    assert [(row["quantity"], row["needed"], row["left"], row["week"]) for row in found["edge"]] == [
        (70, "290", "10", 3),
        (80, "320", "-20", 3),
    ]
    working = {row["kind"]: row["amount"] for row in found["working"]}
    assert working == {
        "opening": "300",
        "factory": "-210",
        "other": "-60",
        "floor to keep": "-20",
        "left": "10",
    }


@pytest.mark.parametrize(
    ("qty", "paid"), [(10, True), (30, True), (40, False), (50, False), (60, True), (70, True), (80, False)]
)
def test_cash_agrees_with_the_largest_build(tmp_path: Path, qty: int, *, paid: bool) -> None:
    assert kept(tmp_path, changed("plans/kite.toml", ("qty = 70", f"qty = {qty}"))) is paid


def test_a_build_that_the_ceiling_stops(tmp_path: Path) -> None:
    files = changed("plans/kite.toml", ("opening = 300", "opening = 9000"))
    asked = ("limits", "--only", "build", "--step", "10", "--search", "build=90", "--today", TODAY)
    done = ferrule(*asked, cwd=write(tmp_path, files))
    assert done.stdout.startswith("Up to 90 of one (70 planned) can be paid and made; no more was tried\n")


def test_no_build_can_be_paid(tmp_path: Path) -> None:
    files = changed("plans/kite.toml", ("opening = 300", "opening = 70"))
    done = ferrule("limits", "--only", "build", "--step", "10", "--today", TODAY, cwd=write(tmp_path, files))
    assert done.stdout.startswith("No quantity of one (70 planned) can be paid: the floor in week 0\n")


def test_parts_that_can_no_longer_be_bought(tmp_path: Path) -> None:
    """On 1 February the light is two weeks away and the kite one: what lies at the factory is all there is, 35."""
    stock = '[[stock]]\npart = "LED"\nplace = "works"\nqty = 35\ncounted = 2026-11-16\n'
    folder = write(tmp_path, {**KITE, "counts/all.toml": stock})
    done = ferrule(
        "limits", "--only", "build", "--step", "5", "--today", "2027-02-01", "--format", "json", cwd=folder
    )
    found = json.loads(done.stdout)
    stops = {row["limit"]: (row["most"], row["reason"]) for row in found["build"]}
    assert stops["parts"] == (35, "LED can no longer be bought in time; what is at hand makes 35")
    assert stops["time"][0] == 35


def test_the_opening_cash(tmp_path: Path) -> None:
    """The lowest week ends at 300 - 60 - 210 = 30: 290 would leave the floor of 20."""
    row = only(write(tmp_path, KITE), "opening")
    assert (row["limit"], row["room"], row["binds"], row["next_limit"]) == (
        "290.00",
        "10",
        "the floor in week 3",
        "290.00",
    )
    assert kept(tmp_path, changed("plans/kite.toml", ("opening = 300", "opening = 290")))
    assert not kept(tmp_path, changed("plans/kite.toml", ("opening = 300", "opening = 289.99")))


def test_the_longest_customer_term(tmp_path: Path) -> None:
    """Sold on Friday 5 March; the rent falls into week 20, which ends on Sunday 30 May, 86 days later."""
    row = only(write(tmp_path, KITE), "term")
    assert (row["today"], row["limit"], row["room"], row["binds"], row["left"]) == (
        "21 days",
        "86 days",
        "65",
        "the floor in week 20",
        "10",
    )
    for days, expected in (86, True), (87, False):
        assert (
            kept(tmp_path, changed("firms/all.toml", ("receipt + 21 days", f"receipt + {days} days")))
            is expected
        )


def test_the_lowest_sell_through(tmp_path: Path) -> None:
    """30 + 7 a kite - 50 must leave 20: 6 kites, 8.6 % of 70; at 8.5 % there are 5."""
    row = only(write(tmp_path, KITE), "sell-through")
    assert (row["today"], row["limit"], row["room"], row["binds"]) == (
        "100 %",
        "8.6 %",
        "91.4",
        "the floor in week 20",
    )
    for share, expected in ("8.6 %", True), ("8.5 %", False):
        assert (
            kept(tmp_path, changed("plans/kite.toml", ('share = "100 %"', f'share = "{share}"'))) is expected
        )


def test_the_lowest_yield(tmp_path: Path) -> None:
    """At 7 in the shop less 1 of freight a kite of 3 / y leaves something down to 50 %; money is no object here."""
    files = changed("plans/kite.toml", ("opening = 300", "opening = 900"))
    files["assemblies/top.toml"] = files["assemblies/top.toml"].replace('yield = "100 %"', 'yield = "75 %"')
    folder = write(tmp_path, files)
    rows = {
        row["subject"]: row
        for row in ask(folder, "limits", "--only", "yield", "--search", "yield=30")["unknowns"]
    }
    row = rows["assemble of TOP"]
    assert (row["today"], row["limit"], row["room"], row["binds"]) == (
        "75 %",
        "50 %",
        "25",
        "the margin of TOP in shop",
    )
    assert rows["every step (1)"]["limit"] == "25 points lower"


def test_a_least_margin_binds_before_none_is_left(tmp_path: Path) -> None:
    """28.5 % of 7 to keep are 1.995 and leave 4.005: 3 / y is 4 at 75 %, 4.03 at 74.5 %."""
    files = changed("plans/kite.toml", ("opening = 300", "opening = 900"))
    files["assemblies/top.toml"] = files["assemblies/top.toml"].replace('yield = "100 %"', 'yield = "80 %"')
    rows = ask(write(tmp_path, files), "limits", "--only", "yield", "--least-margin", "28.5 %")["unknowns"]
    assert [row["limit"] for row in rows] == ["5 points lower", "75 %"]


def test_the_latest_kick_off(tmp_path: Path) -> None:
    """The light takes two weeks, the kite one: ordered on 25 January it ships on 15 February, a day later not."""
    row = only(write(tmp_path, KITE), "kick-off")
    assert (row["today"], row["limit"], row["room"]) == (TODAY, "2027-01-25", "61")
    assert row["binds"] == "the arrival of one by 2027-02-14, waiting for LED"
    dates = ask(tmp_path, "schedule", "kite")
    assert "2027-01-25" in json.dumps(dates)


def test_the_highest_duty(tmp_path: Path) -> None:
    """7 less 3 and 1 of freight leave 3, which is 100 % of 3 in duty: nothing is left then, but nothing breaks."""
    files = changed("plans/kite.toml", ("opening = 300", "opening = 900"))
    row = only(write(tmp_path, files), "duty", "--search", "duty=150")
    assert (row["subject"], row["today"], row["limit"], row["binds"]) == (
        "duty of EU on 1",
        "0 %",
        "100 %",
        "the margin of TOP in shop",
    )
    beyond = only(tmp_path, "duty", "--search", "duty=60")
    assert (beyond["limit"], beyond["binds"]) == ("beyond 60 %", "nothing in what was tried")


def test_the_dearest_dollar(tmp_path: Path) -> None:
    """108 USD are 100 EUR; 10 more may go, so 108 / 110: one euro buys 0.99 at least, at 0.98 it is 110.20."""
    rate = '[[rate]]\nrate = "1 EUR = 1.08 USD"\ndate = 2026-11-20\n'
    files = changed("plans/kite.toml", ("opening = 300", "opening = 400"))
    files["firms/all.toml"] += rate
    files["tools/all.toml"] = (
        '[tool.T-9]\nname = "Mould"\nkind = "mould"\namount = "108 USD"\nordered = 2027-01-06\n'
        'schedule = [{ share = "100 %", due = "order" }]\n'
    )
    row = only(write(tmp_path, files), "rate")
    assert (row["subject"], row["limit"], row["binds"], row["left"]) == (
        "USD dearer",
        "1 EUR = 0.99 USD",
        "the floor in week 3",
        "10",
    )
    for buys, expected in ("0.99", True), ("0.98", False):
        files["firms/all.toml"] = files["firms/all.toml"].replace(rate, rate.replace("1.08", buys))
        assert kept(tmp_path, files) is expected
        files["firms/all.toml"] = files["firms/all.toml"].replace(rate.replace("1.08", buys), rate)


def test_a_limit_on_the_other_side_of_today(tmp_path: Path) -> None:
    """With 90 days the floor is broken already: the limit is the same, and four days of room are lacking."""
    row = only(write(tmp_path, changed("firms/all.toml", ("receipt + 21 days", "receipt + 90 days"))), "term")
    assert (row["limit"], row["room"], row["left"]) == ("86 days", "-4", "-40")


def test_a_scenario_moves_the_limit(tmp_path: Path) -> None:
    """Rent in week 16 ends on Sunday 2 May: 58 days after the sale."""
    files = changed("plans/kite.toml")
    files["plans/kite.toml"] += '\n[scenario.early]\nset = { "one_off.rent.when" = "week 16" }\n'
    folder = write(tmp_path, files)
    assert only(folder, "term", "--scenario", "early")["limit"] == "58 days"
    assert only(folder, "term")["limit"] == "86 days"


def test_what_cannot_be_solved_says_why(tmp_path: Path) -> None:
    folder = write(tmp_path, changed("plans/kite.toml", ('lane = "sea"\n', "")))
    found = {row["name"]: row for row in ask(folder, "limits", "--step", "35")["unknowns"]}
    assert {name: row["binds"] for name, row in found.items() if row["limit"] == "not solved"} == {
        "kick-off": "no build is due on any day",
        "duty": "no build crosses a border whose duty is stated",
        "rate": "nothing is open in another currency",
        "yield": "no step of what the plan builds states a yield below 100 %",
    }


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--only", "bild"), "did you mean build?"),
        (("--scenario", "x"), "no scenario called x"),
        (("--build", "two"), "no build called two"),
        (("--search", "term"), "write NAME=VALUE"),
        (("--search", "term=soon", "--only", "term"), "no value to search up to"),
        (("--search", "build=0", "--only", "build"), "no quantity to build"),
        (("--search", "build=5", "--step", "10", "--only", "build"), "less than one step"),
        (("--search", "kick-off=soon", "--only", "kick-off"), "is no day"),
        (("--least-margin", "much"), "--least-margin"),
    ],
)
def test_what_cannot_be_asked(tmp_path: Path, arguments: tuple[str, ...], message: str) -> None:
    done = ferrule("limits", *arguments, "--today", TODAY, cwd=write(tmp_path, KITE))
    assert done.returncode == 2
    assert message in done.stderr
    assert "Traceback" not in done.stderr
