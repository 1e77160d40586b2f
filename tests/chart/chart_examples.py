"""Invented pictures, and readers of what was drawn."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from decimal import Decimal
from typing import NamedTuple
from xml.etree import ElementTree as ET

from ferrule.chart.svg import as_svg
from ferrule.model.columns import width
from ferrule.report.picture import (
    Balance,
    Bar,
    Bars,
    Closed,
    Curve,
    Floor,
    Line,
    MoneyWeek,
    Picture,
    Scenario,
    Segment,
    Step,
    Stretch,
    StripRow,
    Strips,
)

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = [
    "<script>alert(1)</script>",
    "]]>",
    "a \"quoted\" & 'quoted' name",
    "&amp; &#60;",
    "abc\u202edef\u2066ghi",
    "\x1b[31mred\x00\x07",
    "line\nbreak\ttab\r",
    "🦜🦜 bird 🦜",
    "録音機の基板",
    "e\u0301\u0301\u0301",
    "\ud800 half",
    "\ufffe\uffff",
    "n" * 200,
    "many words " * 30,
    "",
    " ",
]


def bars(*rows: dict[str, str | None], unit: str = "EUR per unit") -> Bars:
    """Return rows of elements; None is not known."""
    made = [
        Bar(
            f"row {number}",
            tuple(Segment(n, None if v is None else Decimal(v)) for n, v in row.items()),
        )
        for number, row in enumerate(rows, 1)
    ]
    return Bars(title="A title", description="A description.", unit=unit, rows=tuple(made))


def line(name: str, points: dict[int, str | None]) -> Line:
    return Line(name, tuple((Decimal(x), None if y is None else Decimal(y)) for x, y in points.items()))


ELEMENTS = (
    "board and parts", "housing", "assembly", "test", "packaging", "inbound freight", "air freight", "duty",
    "tools", "returned deposit",
)  # fmt: skip


def _row(name: str, values: str, remark: str = "") -> Bar:
    given = [None if value == "?" else Decimal(value) for value in values.split()]
    return Bar(name, tuple(map(Segment, ELEMENTS, given)), remark)


COST = Bars(
    title="Landed cost of one good recorder, by volume",
    description="The cost of a unit falls by half from 250 to 10,000 a year; boards stay its largest part.",
    unit="EUR per unit",
    rows=(
        _row("250 a year", "21.405 9.2 8.115 2.4 1.95 0.81 4.6 3.32 10.2 -0.4"),
        _row("1,000 a year", "18.9 7.1 6.4 1.9 1.5 0.62 3.1 ? 2.55 -0.4", "customs code not yet settled"),
        _row("10,000 a year", "15.2 5.0 5.1 1.2 1.10 0.31 0.9 2.1 0.255 0"),
    ),
)

BALANCE = Curve(
    title="Money in the bank by week",
    description="Money falls below nothing in 2027-W18 and is back above the floor in 2027-W22.",
    unit_x="weeks",
    unit_y="EUR",
    lines=(
        line("as-agreed", dict(enumerate("120000 118000 96000 96000 60000 52000 52000 20500 -11000 -24400 -24400 8000 45000 61000".split()))),
        line("30 % deposit", dict(enumerate("120000 118000 104000 104000 80000 71000 60000 35500 12000 4400 4400 28000 55000 66000".split()))),
        line("later sales", dict(enumerate("120000 118000 96000 96000 60000 52000 52000 20500 -11000 -24400 -30000 -35000 -8000 40000".split()))),
    ),
    labels=(
        Step(Decimal(2), "tool deposit"),
        Step(Decimal(7), "parts for build 2"),
        Step(Decimal(11), "retailer pays"),
    ),
    floor=Floor(Decimal(20000), "floor"),
    lowest="trough",
    places=tuple((Decimal(week), f"2027-W{week + 10}") for week in range(14)),
)  # fmt: skip

VOLUMES = Curve(
    title="Cost of a good unit by yearly volume",
    description="The cost falls in steps, and rises once, where a second tool is bought.",
    unit_x="good units a year",
    unit_y="EUR per unit",
    spread="ratio",
    lines=(line("", {100: "71.2", 250: "60.4", 1000: "48.9", 2500: "44.15", 4000: "46.8", 10000: "41.1"}),),
    labels=(
        Step(Decimal(250), "full reel of regulators"),
        Step(Decimal(1000), "price break of the housing"),
        Step(Decimal(2500), "full pallet by sea"),
        Step(Decimal(4000), "second tool"),
    ),
    lowest="least",
)

FIRST = dt.date(2027, 1, 4)


def day(after: int) -> dt.date:
    """Return a day counted from Monday, 2027-01-04."""
    return FIRST + dt.timedelta(days=after)


def week(at: int | dt.date, income: str | None, outgo: str | None, balance: str | None) -> MoneyWeek:
    return MoneyWeek(at, *(None if each is None else Decimal(each) for each in (income, outgo, balance)))


SEASON = Strips(
    title="When",
    description="Three parts, the board and the way home.",
    start=day(-14),
    end=day(118),
    rows=(
        StripRow(
            "slow part",
            (Stretch("lead time", day(0), day(69)),),
            day(0),
            "order by",
            critical=True,
            more=("slow twin", "slow brother"),
        ),
        StripRow(
            "tool",
            (Stretch("steel", day(-60), day(10)), Stretch("proof", day(11), day(20), "inspection")),
            day(-60),
            "ordered",
        ),
        StripRow(
            "bare board, four layers, gold",
            (Stretch("made", day(30), day(59)), Stretch("tested", day(60), day(69), "inspection")),
            day(30),
            "order by",
            remark="late by 2 days",
        ),
        StripRow("board", (Stretch("placed", day(70), day(79), "making"),), critical=True),
        StripRow(
            "way home",
            (
                Stretch("counted", day(80), day(81), "inspection"),
                Stretch("sea", day(82), day(114), "shipping"),
            ),
            critical=True,
        ),
    ),
    closures=(
        Closed("ramp-down", day(14), day(20), "works"),
        Closed("new year", day(21), day(46), "works"),
        Closed("far away", day(400), day(420)),
    ),
    today=day(-5),
    week_zero=day(-7),
    left_out=3,
)

MONEY = Balance(
    title="Money by week",
    description="Money falls under the floor in 2027-W06 and is above it again in 2027-W09.",
    unit="EUR",
    name="as agreed",
    weeks=tuple(
        week(day(7 * number), *amounts.split())
        for number, amounts in enumerate(
            (
                "0 2000 118000",
                "0 22000 96000",
                "0 0 96000",
                "4000 40000 60000",
                "0 48500 11500",
                "0 2500 9000",
                "8000 1000 16000",
                "20000 500 35500",
                "30000 0 65500",
            )
        )
    ),
    floor=Floor(Decimal(20000), "floor"),
    trough="trough",
    scenarios=(
        Scenario(
            "later sales", tuple(map(Decimal, "118000 96000 96000 56000 7500 5000 4000 14000 44000".split()))
        ),
        Scenario("half known", (Decimal(118000), Decimal(90000), None, Decimal(70000))),
    ),
)

EXAMPLES: dict[str, Picture] = {
    "cost": COST, "balance": BALANCE, "volumes": VOLUMES, "strips": SEASON, "money": MONEY,
}  # fmt: skip


def drawn(picture: Picture, *, width: int = 760) -> ET.Element:
    return ET.fromstring(as_svg(picture, width=width))  # noqa: S314  made here


class Written(NamedTuple):
    """A text with the box it takes: 0.6 em a column, 0.8 em over its base line and 0.2 under it."""

    text: str
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Written) -> bool:
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )


def moved(group: ET.Element) -> tuple[float, float]:
    found = re.fullmatch(r"translate\(([0-9.]+) ([0-9.]+)\)", group.get("transform", "translate(0 0)"))
    assert found is not None
    return float(found[1]), float(found[2])


def texts(element: ET.Element, right: float = 0, down: float = 0) -> Iterator[Written]:
    """Yield every visible text of a picture."""
    dx, dy = moved(element) if element.tag == f"{SVG}g" else (0, 0)
    for child in element:
        if child.tag == f"{SVG}text":
            size = 15 if "ferrule-title" in (child.get("class") or "") else 12
            long = width(child.text or "") * size * 0.6
            x = float(child.get("x", "nan")) + right + dx
            y = float(child.get("y", "nan")) + down + dy
            left = x - long if child.get("text-anchor") == "end" else x
            yield Written(child.text or "", left, y - 0.8 * size, left + long, y + 0.2 * size)
        else:
            yield from texts(child, right + dx, down + dy)


def segments(bar: ET.Element) -> list[tuple[float, float]]:
    """Return start and width of every segment of a bar."""
    rects = [rect for rect in bar.iter(f"{SVG}rect") if "ferrule-segment" in rect.get("class", "")]
    return [(float(rect.get("x", "nan")), float(rect.get("width", "nan"))) for rect in rects]


def drawn_bars(root: ET.Element) -> list[ET.Element]:
    return [group for group in root.iter(f"{SVG}g") if group.get("class") == "ferrule-bar"]
