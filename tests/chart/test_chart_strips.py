"""Strips of time: places worked by hand, goldens, and what must hold for any picture."""

from __future__ import annotations

import datetime as dt
import re
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from chart_examples import HOSTILE, SVG
from hypothesis import given
from hypothesis import strategies as st

from ferrule.chart.days import Axis, axis_of
from ferrule.chart.marks import as_marks
from ferrule.chart.svg import as_svg
from ferrule.model.columns import width
from ferrule.report.picture import Closed, Stretch, StripRow, Strips

GOLDEN = Path(__file__).parent / "golden"
DAY = dt.date(2027, 1, 4)


def day(after: int) -> dt.date:
    return DAY + dt.timedelta(days=after)


SEASON = Strips(
    title="When",
    description="Two parts, the board and the way home.",
    rows=(
        StripRow(
            "slow part",
            (Stretch("lead time", day(0), day(69), "waiting"),),
            day(0),
            "order by",
            critical=True,
        ),
        StripRow(
            "bare board",
            (Stretch("made", day(30), day(59), "waiting"), Stretch("tested", day(60), day(69), "other")),
            day(30),
            "order by",
        ),
        StripRow("board", (Stretch("placed", day(70), day(79), "making"),), critical=True),
        StripRow("way home", (Stretch("sea", day(80), day(114), "shipping"),), critical=True),
    ),
    closures=(Closed("new year", day(21), day(46)),),
    today=day(-14),
    left_out=3,
)


def test_an_axis_counts_whole_days() -> None:
    axis = Axis(day(0), day(99))
    assert (axis.at(day(0)), axis.at(day(50)), axis.after(day(99))) == (
        Fraction(0),
        Fraction(1, 2),
        Fraction(1),
    )
    assert (axis.at(day(-5)), axis.at(day(500))) == (Fraction(0), Fraction(1))
    assert [name for _, name in axis.months()] == ["Jan 2027", "Feb", "Mar", "Apr"]
    assert axis_of(SEASON) == Axis(day(-14), day(114))
    assert axis_of(Strips(title="t", description="d", rows=())) is None


@pytest.mark.parametrize("wide", [360, 760])
def test_golden_svg(wide: int, *, update: bool) -> None:
    path = GOLDEN / f"strips-{wide}.svg"
    drawn = as_svg(SEASON, width=wide)
    if update:
        path.write_text(drawn, encoding="utf-8")
    assert drawn == path.read_text(encoding="utf-8")


@pytest.mark.parametrize("columns", [80, 160])
@pytest.mark.parametrize("plain", [False, True])
def test_golden_text(columns: int, *, plain: bool, update: bool) -> None:
    path = GOLDEN / f"strips-{columns}{'-ascii' if plain else ''}.txt"
    drawn = "\n".join(as_marks(SEASON, columns, ascii_only=plain)) + "\n"
    if update:
        path.write_text(drawn, encoding="utf-8")
    assert drawn == path.read_text(encoding="utf-8")
    assert not plain or drawn.isascii()


def rects(drawn: str) -> list[dict[str, str]]:
    return [
        rect.attrib
        for rect in ET.fromstring(drawn).iter(f"{SVG}rect")  # noqa: S314  our own picture
        if rect.get("height") == "12" and rect.get("width") != "18"
    ]


def test_every_strip_is_as_long_as_its_days() -> None:
    found = rects(as_svg(SEASON))
    days = [70, 30, 10, 10, 35]
    unit = Fraction(found[0]["width"]) / days[0]
    for rect, length in zip(found, days, strict=True):
        assert abs(Fraction(rect["width"]) - unit * length) < Fraction(1, 50)
    assert [rect["stroke-width"] for rect in found] == ["2.5", "0.8", "0.8", "2.5", "2.5"]
    # The board begins where the slow part ends, to the day.
    assert abs(Fraction(found[0]["x"]) + Fraction(found[0]["width"]) - Fraction(found[3]["x"])) < Fraction(
        1, 50
    )


def texts(drawn: str) -> list[tuple[float, float, float]]:
    """Return left, right and baseline of every line of text, 0.61 em a character."""
    found = []
    for text in ET.fromstring(drawn).iter(f"{SVG}text"):  # noqa: S314
        long = width(text.text or "") * 12 * 0.61
        x = float(text.attrib["x"]) - (long if text.get("text-anchor") == "end" else 0)
        found.append((x, x + long, float(text.attrib["y"])))
    return found


@pytest.mark.parametrize("wide", [280, 360, 760, 1200])
def test_no_text_meets_another(wide: int) -> None:
    found = texts(as_svg(SEASON, width=wide))[1:]
    for number, (left, right, y) in enumerate(found):
        assert left >= 0
        assert right <= wide + 1
        for other in found[number + 1 :]:
            assert abs(other[2] - y) >= 10 or other[0] >= right or left >= other[1]


@given(
    st.integers(40, 200),
    st.lists(st.tuples(st.integers(-300, 300), st.integers(0, 400)), min_size=1, max_size=6),
)
def test_no_line_is_wider_than_asked(columns: int, spans: list[tuple[int, int]]) -> None:
    rows = tuple(
        StripRow(
            f"row {number}", (Stretch("s", day(start), day(start + long), "waiting"),), day(start), "order by"
        )
        for number, (start, long) in enumerate(spans)
    )
    strips = Strips(title="t", description="d", rows=rows, today=day(5))
    assert all(width(line) <= columns for line in as_marks(strips, columns))


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_names_are_inert(text: str) -> None:
    strips = Strips(
        title=text,
        description=text,
        rows=(StripRow(text, (Stretch(text, day(0), day(9), "making"),), day(0), text),),
        closures=(Closed(text, day(2), day(4)),),
    )
    drawn = as_svg(strips)
    tags = {element.tag.removeprefix(SVG) for element in ET.fromstring(drawn).iter()}  # noqa: S314
    assert tags <= {"svg", "title", "desc", "style", "defs", "pattern", "g", "rect", "path", "text"}
    shown = "\n".join(as_marks(strips, 80))
    assert not re.search("[\\x00-\\x09\\x0b-\\x1f\\x7f\\u202a-\\u202e\\u2066-\\u2069]", shown)
