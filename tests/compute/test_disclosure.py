"""What a recipient sees at each level, under which line ids, what forbids it, and what a reader could infer."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import CONTEXT, TODAY, product
from ferrule.compute.disclosed_fields import FIELDS, LEVELS, fields_at
from ferrule.compute.disclosure import (
    Slice,
    default_parts,
    line_id,
    refusal,
    secret_places,
    slice_of,
    watermark_of,
)
from ferrule.compute.inference import inferred, revealed
from ferrule.compute.structure import structure_of
from ferrule.model.product import Product
from ferrule.model.records.disclosures import Level

FILES = {
    "firms/f.toml": """
[firm.maker]
name = "Alder Works"
[firm.seller]
name = "Brook Supply"
disclosure = { level = "outline" }
[firm.factory]
name = "Cove Assembly"
roles = ["factory"]
disclosure = { level = "build", agreement = { title = "NDA", signed = 2026-01-05, valid_until = 2027-01-04 } }
""",
    "parts/p.toml": """
[part.CAP]
name = "Capacitor"
class = "electrical"
value = "100n"
package = "0603"
rating = "16 V"
rev = "B"
note = "internal remark"
mass = "2 g"
size = ["1 mm", "2 mm", "3 mm"]
moisture = { level = "3", floor_life = "168 h" }
static_sensitive = true
safety_critical = true
lifecycle = { status = "active", evidence = "their list" }
substances = [{ rule = "2011/65/EU", statement = "docs/s.txt", date = 2026-05-04 }]
document = [
  { kind = "drawing", file = "docs/deep/cap.pdf", rev = "B", sha256 = "ab12" },
  { kind = "quote", file = "docs/quotes/q.pdf" },
]
characteristic = [{ name = "height", nominal = "3 mm", low = "2.9 mm", high = "3.1 mm", method = "gauge", measured = ["3.05 mm"] }]
[[part.CAP.source]]
maker = "maker"
maker_part = "AW-1"
seller = "seller"
seller_part = "BS-77"
origin = "JP"
currency = "EUR"
price = [{ from = 1, each = 0.0123 }]
[[part.CAP.source]]
maker = "maker"
maker_part = "AW-BAD"
status = "denied"

[part.CASE]
name = "Case"
class = "fabricated"
material = "PC/ABS"
finish = "green"

[part.CHIP]
name = "Secret chip"
class = "electrical"
value = "XC7"
package = "QFN-48"
supply = "consigned"
rev = "Z"
[[part.CHIP.source]]
maker = "maker"
maker_part = "AW-CHIP"

[part.FW]
name = "Firmware"
class = "firmware"
""",
    "assemblies/top.toml": """
[assembly]
id = "TOP"
name = "Top"
[assembly.sale.web]
list_price = "5 EUR"
[[line]]
item = 10
part = "BOARD"
qty = 2
[[line]]
item = 20
part = "CASE"
qty = 1
note = "torque 0.4 Nm"
""",
    "assemblies/board.toml": """
[assembly]
id = "BOARD"
name = "Board"
[[line]]
item = 10
part = "CAP"
qty = 3
designators = "C1-C3"
[[line]]
item = 20
part = "CHIP"
qty = 1
designators = "U1"
[[line]]
item = 30
part = "FW"
qty = 1
""",
}
PRODUCT = product(FILES)


def sliced(
    level: Level, recipient: str = "factory", of: Product = PRODUCT, root: str | None = "TOP"
) -> Slice:
    return slice_of(
        of,
        structure_of(of, CONTEXT),
        recipient,
        level=level,
        key="k",
        root=root,
        parts=None if root else default_parts(of, recipient),
        quantities=(100, 1000),
        planned={"CAP": ((Decimal(6100), dt.date(2027, 1, 4)), (Decimal(50), None))},
    )


def texts(found: Slice, part: str) -> dict[str, str]:
    line = next(line for line in found.lines if line.part == part)
    return {field.key: line.text(field.key) for field in found.fields if line.text(field.key)}


OUTLINE = {"what": "electrical", "name": "Capacitor", "unit": "each"}
BUILD = OUTLINE | {
    "part": "CAP",
    "rev": "B",
    "places": "BOARD item 10",
    "in_one": "6",
    "designators": "C1, C2, C3",
    "value": "100n; 16 V",
    "package": "0603",
    "makers": "Alder Works AW-1 (trial, not approved)",
    "documents": "drawing cap.pdf rev B sha256 ab12",
    "characteristics": "height 3 mm (2.9 mm to 3.1 mm) by gauge",
    "handling": "moisture class 3, 168 h out of the bag; protect from static",
    "size": "2 g; 1 mm x 2 mm x 3 mm",
}
PRICE = BUILD | {"planned": "6100 by 2027-01-04; 50 by a day not fixed"}
ALL = PRICE | {
    "lifecycle": "active",
    "substances": "2011/65/EU, statement of 2026-05-04",
    "origin": "JP",
    "safety": "safety-critical: no change without our word",
}


@pytest.mark.parametrize(
    ("level", "cells"), [("outline", OUTLINE), ("build", BUILD), ("price", PRICE), ("all", ALL)]
)
def test_each_level_adds_its_fields_and_no_others(level: Level, cells: dict[str, str]) -> None:
    assert texts(sliced(level), "CAP") == cells


def test_levels_nest_and_every_field_has_one() -> None:
    before: set[str] = set()
    for level in LEVELS:
        now = {field.key for field in fields_at(level)}
        assert before <= now
        before = now
    assert before == {field.key for field in FIELDS}
    assert fields_at("nothing") == ()


def test_what_we_supply_is_a_line_without_contents() -> None:
    assert texts(sliced("all"), "CHIP") == {
        "what": "supplied by us",
        "name": "part supplied by us",
        "unit": "each",
        "places": "BOARD item 20",
        "in_one": "2",
        "designators": "U1",
        "package": "QFN-48",
    }


def test_nothing_below_what_we_supply_is_shown() -> None:
    ours = product(
        FILES
        | {
            "assemblies/board.toml": FILES["assemblies/board.toml"].replace(
                'name = "Board"', 'supply = "consigned"'
            )
        }
    )
    assert [line.part for line in sliced("build", of=ours).lines] == ["TOP", "BOARD", "CASE"]
    assert [line.opaque for line in sliced("build", of=ours).lines] == [False, True, False]


def test_a_factory_is_asked_for_the_work_and_all_it_buys_but_no_firmware() -> None:
    found = sliced("build")
    assert sorted(line.part for line in found.lines) == ["BOARD", "CAP", "CASE", "CHIP", "TOP"]
    assert {line.part for line in found.lines if line.work} == {"TOP", "BOARD"}
    amounts = {line.part: [int(amount or 0) for amount in line.amounts] for line in found.lines}
    assert amounts == {
        "TOP": [100, 1000],
        "BOARD": [200, 2000],
        "CASE": [100, 1000],
        "CAP": [600, 6000],
        "CHIP": [200, 2000],
    }
    assert texts(found, "CASE")["material"] == "PC/ABS; green"
    assert texts(found, "CASE")["notes"] == "torque 0.4 Nm"


def test_a_seller_sees_at_outline_what_it_told_us_itself_and_nothing_of_the_structure() -> None:
    found = sliced("outline", "seller", root=None)
    assert [line.part for line in found.lines] == ["CAP"]
    assert texts(found, "CAP") == OUTLINE | {"own_maker": "Alder Works AW-1", "own_number": "BS-77"}
    assert found.lines[0].amounts == (Decimal(100), Decimal(1000))
    assert found.lines[0].makers == ("AW-1",)


def test_an_unknown_quantity_is_not_asked_as_nought() -> None:
    hole = product(FILES | {"assemblies/board.toml": FILES["assemblies/board.toml"].replace("qty = 3\n", "")})
    line = next(line for line in sliced("build", of=hole).lines if line.part == "CAP")
    assert line.amounts == (None, None)
    assert line.text("in_one") == ""


# --- line ids --------------------------------------------------------------------------------------------


def test_line_ids_are_stable_and_differ_between_recipients() -> None:
    one, again, other = sliced("build"), sliced("outline"), sliced("build", "seller")
    ids = {line.part: line.id for line in one.lines}
    assert ids == {line.part: line.id for line in again.lines}
    assert not set(ids.values()) & {line.id for line in other.lines}


@given(st.text(max_size=30), st.text(max_size=30))
def test_a_line_id_needs_the_key_and_spells_nothing(part: str, recipient: str) -> None:
    found = line_id("one key", "T", recipient, part)
    assert found != line_id("another key", "T", recipient, part)
    assert len(found) == 13
    assert set(found[1:]) <= set("ABCDEFGHJKLMNPQRSTUVWXYZ23456789")


def test_an_outline_is_not_in_the_order_of_the_structure() -> None:
    ids = [line.id for line in sliced("outline").lines]
    assert ids == sorted(ids)
    assert sliced("build").lines[0].part == "TOP"


def test_a_mark_tells_day_recipient_and_content_apart() -> None:
    marks = {
        watermark_of("k", recipient, day, content)
        for recipient in ("a", "b")
        for day in (TODAY, dt.date(2026, 11, 26))
        for content in ("x", "y")
    }
    assert len(marks) == 8


# --- what forbids it -------------------------------------------------------------------------------------

PAPER = 'agreement = { title = "NDA", signed = 2026-01-05, valid_until = 2026-11-24 }'


@pytest.mark.parametrize(
    ("stated", "message"),
    [
        ("", "f may see nothing"),
        ('disclosure = { level = "nothing" }', "f may see nothing"),
        ('disclosure = { level = "outline" }', None),
        (
            'disclosure = { level = "build" }',
            "f has level build, and no signed confidentiality agreement is on record",
        ),
        ('disclosure = { level = "all", agreement = { title = "NDA" } }', "f has level all, and no signed"),
        (f'disclosure = {{ level = "price", {PAPER} }}', "the agreement with f ended on 2026-11-24"),
        (
            'disclosure = { level = "build", agreement = { title = "NDA", signed = 2026-11-26 } }',
            "the agreement with f is signed on 2026-11-26, after 2026-11-25",
        ),
        ('disclosure = { level = "build", agreement = { title = "NDA", signed = 2026-11-25 } }', None),
    ],
)
def test_a_level_needs_its_paper(stated: str, message: str | None) -> None:
    firm = product({"firms/f.toml": f'[firm.f]\nname = "F"\n{stated}\n'}).firms["f"]
    refused = refusal("f", firm, TODAY)
    assert (refused is None) == (message is None)
    if refused is not None and message is not None:
        assert refused.message.startswith(message)
        assert refused.hint


@pytest.mark.parametrize(
    ("word", "places"),
    [
        ("CAPACITOR", [("part", "CAP", ("name",))]),
        ("cap.pdf", [("part", "CAP", ("document", 0, "file"))]),
        ("torque", [("assembly", "TOP", ("line", 1, "note"))]),
        ("aw-1", [("part", "CAP", ("source", 0, "maker_part"))]),
        ("xc7", []),
        ("aw-chip", []),
        ("internal remark", []),
        ("docs/deep", []),
        ("secret  chip", []),
    ],
)
def test_secret_words_are_found_where_they_would_be_shown_and_only_there(
    word: str, places: list[tuple[str, str, tuple[str | int, ...]]]
) -> None:
    head = f'[product]\nid = "T"\nname = "T"\ncurrency = "EUR"\nstage = "dvt"\n[policy]\nsecret_words = ["{word}"]\n'
    of = product(FILES | {"product.toml": head})
    found = secret_places(of, "factory", sliced("build", of=of))
    assert [(each.piece.kind, each.piece.number, each.piece.path) for each in found] == places


# --- the statement ---------------------------------------------------------------------------------------


def test_the_statement_names_every_field_that_says_something() -> None:
    found = {(row.heading, row.level, row.lines) for row in revealed(sliced("build"))}
    assert ("designators", "build", 2) in found
    assert ("material and finish", "build", 1) in found
    assert ("quantities asked", "outline", 5) in found
    assert not {heading for heading, _, _ in found} & {"planned", "origin", "your number"}


def whats(found: Slice, of: Product = PRODUCT) -> dict[str, str]:
    return {each.what: each.words for each in inferred(of, found)}


def test_inferences_follow_what_is_shown() -> None:
    outline, build = whats(sliced("outline")), whats(sliced("build"))
    assert set(outline) == {"our volume", "how many in one", "our margin"}
    assert "divided by 100" in outline["how many in one"]
    assert set(build) == {
        "our volume",
        "structure",
        "what we supply",
        "where we are weak",
        "which files we hold",
        "our margin",
    }
    assert "price on the shelf is public" in build["our margin"]
    assert {"our season", "our markets"} <= set(whats(sliced("all")))
    assert set(whats(sliced("outline", "seller", root=None))) == {"our volume", "that we know it"}


def test_a_break_that_is_a_planned_build_is_told() -> None:
    plan = '[plan]\nid = "p"\nstart = 2026-11-30\nend = "week 9"\n[[build]]\nname = "b"\nsku = "TOP"\nqty = 1000\n'
    of = product(FILES | {"plans/p.toml": plan})
    assert "1,000 is the size of a planned build" in whats(sliced("outline", of=of), of)["our volume"]
