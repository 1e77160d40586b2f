"""Hand-worked cases: diamonds, phantoms, unfitted lines, effectivity, units, what is not known."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from fractions import Fraction

import pytest

from builders import CONTEXT, TODAY, product, structure_files
from ferrule.compute.explode import explode, walk
from ferrule.compute.structure import Context, rings, structure_of
from ferrule.compute.whereused import above, ways_up
from ferrule.model.exact import shown
from ferrule.model.product import Product


def test_forty_layers_of_doubled_lines_are_exact() -> None:
    """Each layer uses the next twice, on two lines of two: 4^40 of the last, along 2^40 ways."""
    files = {"parts/x.toml": "[part.L40]\n"}
    for layer in range(40):
        lines = "".join(f'[[line]]\nitem = {item}\npart = "L{layer + 1}"\nqty = 2\n' for item in (1, 2))
        files[f"assemblies/{layer}.toml"] = f'[assembly]\nid = "L{layer}"\n{lines}'
    made = product(files)
    structure = structure_of(made, CONTEXT)
    assert explode(made, structure, "L0").quantities["L40"] == 4**40
    found = above(structure, "L40")
    assert found.quantities["L0"] == 4**40
    assert found.ways == 2**40
    first = next(walk(made, structure, "L0"))
    assert (first.level, first.edge.child, str(first.extended)) == (1, "L1", "2")


def test_long_decimals_stay_exact() -> None:
    bom = {f"L{n}": {f"L{n + 1}": Decimal("1.0000000001")} for n in range(40)}
    made = product(structure_files(bom))
    total = explode(made, structure_of(made, CONTEXT), "L0").quantities["L40"]
    assert Fraction(total) == Fraction("1.0000000001") ** 40
    assert isinstance(total, Decimal)


KIT = {
    "parts/p.toml": '[part.SCREW]\n[part.WEBBING]\nunit = "m"\n[part.GLUE]\nunit = "g"\nclass = "as-required"\n[part.LED]\n',
    "assemblies/top.toml": """
[assembly]
id = "TOP"
[[line]]
item = 1
part = "KIT"
qty = 2
[[line]]
item = 2
part = "WEBBING"
qty = 2
cut = "35 cm"
[[line]]
item = 3
part = "GLUE"
rate = "400 mg"
[[line]]
item = 4
part = "LED"
qty = 3
fitted = false
""",
    "assemblies/kit.toml": """
[assembly]
id = "KIT"
phantom = true
[[line]]
item = 1
part = "SCREW"
qty = 4
""",
}


def test_phantom_cut_rate_and_unfitted() -> None:
    made = product(KIT)
    found = explode(made, structure_of(made, CONTEXT), "TOP", Decimal(10))
    assert found.quantities == {"SCREW": 80, "WEBBING": 7, "GLUE": 4}
    assert found.depth == {"SCREW": 1, "WEBBING": 1, "GLUE": 1}


def test_tree_counts_a_phantoms_lines_as_the_parents() -> None:
    made = product(KIT)
    rows = [
        (row.level, row.edge.child, row.phantom, str(row.extended))
        for row in walk(made, structure_of(made, CONTEXT), "TOP")
    ]
    assert rows == [
        (1, "KIT", True, "2"),
        (1, "SCREW", False, "8"),
        (1, "WEBBING", False, "0.70"),
        (1, "GLUE", False, "0.4"),
    ]


SERIALS = """
[assembly]
id = "TOP"
[[line]]
item = 1
part = "OLD"
qty = 1
effective = { to_serial = 1500 }
[[line]]
item = 1
part = "NEW"
qty = 2
effective = { from_serial = 1501 }
[[line]]
item = 2
part = "SPRING"
qty = 1
effective = { from = 2027-03-01 }
[[line]]
item = 3
part = "PILOT"
qty = 1
effective = { builds = ["evt"] }
"""


@pytest.mark.parametrize(
    ("context", "parts"),
    [
        (CONTEXT, {"NEW": 2}),
        (Context(day=TODAY, serial=1500), {"OLD": 1}),
        (Context(day=TODAY, serial=1501), {"NEW": 2}),
        (Context(day=dt.date(2027, 2, 28)), {"NEW": 2}),
        (Context(day=dt.date(2027, 3, 1)), {"NEW": 2, "SPRING": 1}),
        (Context(day=TODAY, build="evt"), {"NEW": 2, "PILOT": 1}),
    ],
)
def test_effectivity_by_serial_day_and_build(context: Context, parts: dict[str, int]) -> None:
    made = product(
        {
            "parts/p.toml": "[part.OLD]\n[part.NEW]\n[part.SPRING]\n[part.PILOT]\n",
            "assemblies/top.toml": SERIALS,
        }
    )
    assert explode(made, structure_of(made, context), "TOP").quantities == parts


def unknown() -> Product:
    files = structure_files({"TOP": {"SUB": 2}, "SUB": {"A": 3}})
    files["assemblies/TOP.toml"] += '[[line]]\nitem = 9\npart = "A"\n'
    return product(files)


def test_an_unknown_quantity_makes_the_total_a_lower_bound() -> None:
    made = unknown()
    found = explode(made, structure_of(made, CONTEXT), "TOP")
    assert found.quantities == {"SUB": 2, "A": 6}
    assert found.at_least == {"A"}
    assert [(edge.parent, edge.child) for edge in found.unknown] == [("TOP", "A")]


def test_where_says_what_it_does_not_know() -> None:
    structure = structure_of(unknown(), CONTEXT)
    assert above(structure, "A").at_least == {"TOP"}
    assert sorted(str(way.qty) for way in ways_up(structure, "A")) == ["6", "None"]


def test_a_ring_is_named_once_for_each_line_that_closes_it() -> None:
    made = product(structure_files({"A": {"B": 1}, "B": {"C": 1}, "C": {"A": 1, "D": 1}, "D": {"D": 2}}))
    found = [[(edge.parent, edge.child) for edge in ring] for ring in rings(made)]
    assert sorted(found) == [[("A", "B"), ("B", "C"), ("C", "A")], [("D", "D")]]
    structure = structure_of(made, CONTEXT)
    assert structure.order is None
    with pytest.raises(ValueError, match="ring"):
        explode(made, structure, "A")


def test_one_carton_for_24_is_a_fraction_and_never_rounded() -> None:
    files = structure_files({"SKU": {"CARTON": 1}, "SET": {"SKU": 3}})
    files["assemblies/SKU.toml"] += "per = 24\n"
    made = product(files)
    structure = structure_of(made, CONTEXT)
    assert explode(made, structure, "SKU").quantities["CARTON"] == Fraction(1, 24)
    assert shown(explode(made, structure, "SET", Decimal(100)).quantities["CARTON"]) == "12.5"
    assert shown(explode(made, structure, "SKU", Decimal(1000)).quantities["CARTON"]) == "125/3"
