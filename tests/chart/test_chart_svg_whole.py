"""The SVG as a whole: inert, standing alone, told in words, legible without colour."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from chart_examples import BALANCE, COST, EXAMPLES, HOSTILE, SVG, day, drawn, texts
from hypothesis import given
from hypothesis import strategies as st

from ferrule.chart.looks import DARK, LIGHT, PATTERNS, STYLE, TONES, tone
from ferrule.chart.svg import as_svg
from ferrule.model.text import visible
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

GOLDEN = Path(__file__).parent / "golden"
TAGS = {"svg", "title", "desc", "style", "defs", "pattern", "g", "rect", "path", "circle", "text"}
ATTRIBUTES = {
    "class", "role", "aria-labelledby", "viewBox", "width", "height", "id", "patternUnits", "x", "y", "d", "fill",
    "transform", "text-anchor", "cx", "cy", "r", "stroke-width", "stroke-dasharray",
}  # fmt: skip


def named(text: str) -> tuple[Picture, ...]:
    """Return pictures in which every text is this one."""
    row = Bar(text, (Segment(text, Decimal(3)), Segment(text + "2", None)), text)
    two = (
        Line(text, ((Decimal(0), Decimal(1)), (Decimal(5), Decimal(2)))),
        Line(text, ((Decimal(0), None),)),
    )
    return (
        Bars(title=text, description=text, unit=text, rows=(row, row)),
        Curve(
            title=text, description=text, unit_x=text, unit_y=text, lines=two, labels=(Step(Decimal(5), text),),
            floor=Floor(Decimal(1), text), lowest=text, places=((Decimal(0), text),),
        ),
        Strips(
            title=text, description=text, start=day(0), end=day(60), closures=(Closed(text, day(5), day(9), text),) * 2,
            rows=(
                StripRow(text, (Stretch(text, day(3), day(20)),), day(3), text, critical=True, remark=text, more=(text,)),
                StripRow(text, (Stretch(text, day(40), day(60), "making"),), day(40), text),
            ),
        ),
        Balance(
            title=text, description=text, unit=text, name=text, floor=Floor(Decimal(1), text), trough=text,
            weeks=(MoneyWeek(0, Decimal(3), None, Decimal(2)), MoneyWeek(1, Decimal(0), Decimal(2), Decimal(0))),
            scenarios=(Scenario(text, (None, Decimal(1))),),
        ),
    )  # fmt: skip


def inert(svg: str) -> ET.Element:
    root = ET.fromstring(svg)  # noqa: S314  made here
    for element in root.iter():
        assert element.tag.removeprefix(SVG) in TAGS
        assert set(element.attrib) <= ATTRIBUTES
        for value in element.attrib.values():
            assert "<" not in value
            assert "(" not in value or re.match(r"(url\(#|translate\()", value)
    assert [one for one in svg.split("\n") if one != visible(one)] == []
    return root


@pytest.mark.parametrize("text", HOSTILE)
@pytest.mark.parametrize("wide", [280, 760])
def test_hostile_text_is_only_text(text: str, wide: int) -> None:
    for picture in named(text):
        root = inert(as_svg(picture, width=wide))
        assert root.findtext(f"{SVG}title") == visible(text)
        found = list(texts(root))
        assert not [(a.text, b.text) for i, a in enumerate(found) for b in found[i + 1 :] if a.meets(b)]
        assert max(one.right for one in found) <= wide


@given(st.text(max_size=30), st.sampled_from([280, 760]))
def test_any_text_is_only_text(text: str, wide: int) -> None:
    for picture in named(text):
        inert(as_svg(picture, width=wide))


def test_names_are_shown_whole() -> None:
    for picture in named("<script>" + "x" * 200):
        shown = "".join(one.text for one in texts(drawn(picture)))
        assert shown.count("x" * 200) >= 5


@pytest.mark.parametrize("picture", EXAMPLES.values(), ids=EXAMPLES)
def test_it_stands_alone(picture: Picture) -> None:
    svg = as_svg(picture)
    root = inert(svg)
    assert not re.search(r"script|href|@import|src=|data:|javascript|<!|<\?", svg)
    assert re.findall(r"https?://[^\"]+", svg) == ["http://www.w3.org/2000/svg"]
    assert set(re.findall(r"url\(([^)]*)\)", svg)) == {
        f"#{pattern.get('id')}" for pattern in root.iter(f"{SVG}pattern")
    }


@pytest.mark.parametrize("picture", EXAMPLES.values(), ids=EXAMPLES)
def test_it_is_told_in_words(picture: Picture) -> None:
    root = drawn(picture)
    assert root.get("role") == "img"
    ids = {element.get("id"): element for element in root.iter() if element.get("id")}
    title, desc = (ids[name] for name in root.get("aria-labelledby", "").split())
    assert (title.tag, title.text) == (f"{SVG}title", picture.title)
    assert desc.tag == f"{SVG}desc"
    assert (desc.text or "").startswith(picture.description)


def test_the_words_hold_every_value() -> None:
    said = drawn(COST).findtext(f"{SVG}desc") or ""
    assert "250 a year: 61.60 (board and parts 21.41, housing 9.20, " in said
    assert "1,000 a year: at least 41.67 (" in said
    assert "duty ?" in said
    said = drawn(BALANCE).findtext(f"{SVG}desc") or ""
    assert "as-agreed; 2027-W10: 120,000.00; 2027-W11: 118,000.00; " in said
    assert "at 2027-W12: tool deposit" in said


def test_two_pictures_on_a_page_share_no_id() -> None:
    def ids(key: str) -> list[str]:
        return re.findall(r' id="([^"]+)"', as_svg(COST, key=key))

    assert len(set(ids("one"))) == len(ids("one")) > 5
    assert not set(ids("one")) & set(ids("two"))


@pytest.mark.parametrize("key", ["", "1", "a b", 'a"', "a\u202e", "ä", "a<"])
def test_a_key_is_a_plain_name(key: str) -> None:
    with pytest.raises(ValueError, match="cannot begin the ids"):
        as_svg(COST, key=key)


def test_no_rule_of_its_style_reaches_a_page_around_it() -> None:
    inner = STYLE.replace("@media screen and (prefers-color-scheme:dark){", "").removesuffix("}")
    rules = re.findall(r"([^{}]+)\{([^{}]+)\}", inner)
    assert len(rules) > 30
    for selectors, _ in rules:
        for selector in selectors.split(","):
            assert selector == ".ferrule-picture" or selector.startswith(".ferrule-picture ")


def test_no_text_is_smaller_than_eleven_pixels() -> None:
    assert min(int(size) for size in re.findall(r"(\d+)px", STYLE.replace("max-width", ""))) >= 11
    assert drawn(COST, width=360).get("viewBox", "").startswith("0 0 360 ")
    assert drawn(COST, width=100).get("width") == "280"


def luminance(colour: str) -> float:
    """Return the relative luminance of W3C, Web Content Accessibility Guidelines 2.2, 2023, definitions."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])
def test_it_is_read_in_grey(scheme: dict[str, str]) -> None:
    # 4.5 for text (criterion 1.4.3, same source), 7 for what is read most.
    assert contrast(scheme["ink"], scheme["paper"]) >= 7
    assert contrast(scheme["faint"], scheme["paper"]) >= 4.5
    for index in range(TONES):
        assert contrast(scheme[f"tone{index}"], scheme[f"over{index}"]) >= 4.5
        # Neighbours in a bar are tones of two steps; their lightness differs, whatever their hue.
        assert contrast(scheme[f"tone{index}"], scheme[f"tone{(index + 1) % TONES}"]) >= 1.5


def test_thirty_two_elements_look_different() -> None:
    assert len({(tone(index), index % len(PATTERNS)) for index in range(32)}) == 32
    assert len(set(PATTERNS)) == len(PATTERNS)


@pytest.mark.parametrize("wide", [360, 760])
@pytest.mark.parametrize("name", list(EXAMPLES))
def test_golden_svg(name: str, wide: int, *, update: bool) -> None:
    path = GOLDEN / f"{name}-{wide}.svg"
    made = as_svg(EXAMPLES[name], width=wide, key=f"{name}-{wide}")
    if update:
        path.write_text(made)
    assert made == path.read_text()
