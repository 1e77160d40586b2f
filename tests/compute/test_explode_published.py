"""Structures printed in textbooks, exploded.

Heizer and Render, Operations Management, chapter "Material Requirements Planning": speaker kit (Examples 1
to 3; structure and gross totals seen in a text copy, G follows from F), bracket and bill J (problems 14.3
and 14.1; results seen, the bracket's structure from memory). Ptak and Smith, Orlicky's Material
Requirements Planning, 3rd edition, pages 104 and 105 (truck chain) and 103 (low-level codes; levels seen,
codes derived). Titles and numbers of these books are from memory where a copy did not name them.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from builders import CONTEXT, product, structure_files
from ferrule.compute.explode import explode, levels
from ferrule.compute.structure import structure_of

SPEAKER_KIT = {"A": {"B": 2, "C": 3}, "B": {"D": 2, "E": 2}, "C": {"E": 2, "F": 2}, "F": {"D": 2, "G": 1}}
BRACKET = {
    "bracket": {"base": 1, "spring": 2, "clamp": 4},
    "base": {"clamp": 1, "housing": 2},
    "clamp": {"handle": 1, "casting": 1},
    "housing": {"bearing": 2, "shaft": 1},
}
TRUCK = {
    "truck": {"transmission-A": 1},
    "transmission-A": {"gearbox-B": 1},
    "gearbox-B": {"gear-C": 1},
    "gear-C": {"forging-D": 1},
}

PUBLISHED = [
    ("A", 50, SPEAKER_KIT, {"B": 100, "C": 150, "D": 800, "E": 500, "F": 300, "G": 300}),
    (
        "bracket",
        50,
        BRACKET,
        {
            "base": 50,
            "spring": 100,
            "clamp": 250,
            "handle": 250,
            "casting": 250,
            "housing": 100,
            "bearing": 200,
            "shaft": 100,
        },
    ),
    ("J", 200, {"J": {"K": 1, "L": 4, "M": 2}}, {"K": 200, "L": 800, "M": 400}),
    ("truck", 100, TRUCK, {"transmission-A": 100, "gearbox-B": 100, "gear-C": 100, "forging-D": 100}),
]


@pytest.mark.parametrize(("root", "qty", "bom", "totals"), PUBLISHED, ids=[row[0] for row in PUBLISHED])
def test_printed_gross_totals(
    root: str, qty: int, bom: dict[str, dict[str, int]], totals: dict[str, int]
) -> None:
    made = product(structure_files(bom))
    found = explode(made, structure_of(made, CONTEXT), root, Decimal(qty))
    assert found.quantities == totals
    assert found.at_least == frozenset()


def test_speaker_kit_low_level_codes() -> None:
    made = product(structure_files(SPEAKER_KIT))
    assert dict(levels(structure_of(made, CONTEXT))) == {
        "A": 0,
        "B": 1,
        "C": 1,
        "E": 2,
        "F": 2,
        "D": 3,
        "G": 3,
    }


def test_low_level_code_is_the_deepest_level() -> None:
    """Orlicky, figure 6-4: P stands on levels 2 and 3, E on 4 and 5."""
    bom = {
        "X": {"A": 1, "H": 1},
        "A": {"P": 1, "B": 1},
        "B": {"P": 1},
        "P": {"D": 1},
        "D": {"E": 1},
        "H": {"B": 1, "I": 1},
        "I": {"M": 1},
        "M": {"E": 1},
    }
    made = product(structure_files(bom))
    codes = levels(structure_of(made, CONTEXT))
    assert {name: codes[name] for name in "PDE"} == {"P": 3, "D": 4, "E": 5}
