"""Cartons, pallets, mass and volume of a quantity: hand-worked cases, part-full cartons, what is not stated."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import CONTEXT, product
from ferrule.compute.packing import Load, Measured, fits, load_of
from ferrule.compute.structure import Context
from ferrule.model.product import Product
from ferrule.model.records.firms import Lane

CARTON = """
outer = ["0.40 m", "30 cm", "250 mm"]
gross = "9.2 kg"
per_layer = 8
layers = 5
units = 20
"""


def packed(
    packing: str = CARTON, *, line: str = "qty = 1\nper = 20", sku: str = "", own: str = 'mass = "800 g"'
) -> Product:
    """Return a product with one SKU and its master carton."""
    return product(
        {
            "parts/p.toml": f'[part.CTN]\n{own}\n[part.CTN.packing]\nrole = "master carton"\n{packing}',
            "assemblies/sku.toml": f'[assembly]\nid = "SKU"\n{sku}\n[[line]]\nitem = 1\npart = "CTN"\n{line}\n',
        }
    )


def lane(text: str) -> Lane:
    return product({"firms/f.toml": f'[lane.l]\nname = "L"\nmode = "sea"\n{text}'}).lanes["l"]


def figures(load: Load) -> tuple[int, int, int | None, int | None, Fraction | None, Fraction | None]:
    return load.full, load.part_units, load.cartons, load.pallets, load.gross_kg, load.m3


# One carton: 0.40 x 0.30 x 0.25 m = 0.03 m3, 9.2 kg; a pallet holds 8 x 5 = 40 cartons.
@pytest.mark.parametrize(
    ("units", "expected"),
    [
        (0, (0, 0, 0, 0, 0, 0)),
        (1, (0, 1, 1, 1, Fraction("9.2"), Fraction("0.03"))),
        (20, (1, 0, 1, 1, Fraction("9.2"), Fraction("0.03"))),
        (21, (1, 1, 2, 1, Fraction("18.4"), Fraction("0.06"))),
        (800, (40, 0, 40, 1, Fraction(368), Fraction("1.2"))),
        (801, (40, 1, 41, 2, Fraction("377.2"), Fraction("1.23"))),
    ],
)
def test_whole_cartons_and_pallets(units: int, expected: tuple[object, ...]) -> None:
    load = load_of(packed(), "SKU", units)
    assert figures(load) == expected
    assert (load.shipped, load.unknown, load.per_carton) == (units, (), 20)


# 50 units at 20 a carton: two full cartons and one of 10, half a carton.
@pytest.mark.parametrize(
    ("says", "expected", "behind"),
    [
        ("", (2, 10, 3, 1, Fraction("27.6"), Fraction("0.09")), 0),
        ('part_full = "full size"', (2, 10, 3, 1, Fraction("27.6"), Fraction("0.09")), 0),
        ('part_full = "cut down"', (2, 10, 3, 1, Fraction(23), Fraction("0.075")), 0),
        ('part_full = "not shipped"', (2, 0, 2, 1, Fraction("18.4"), Fraction("0.06")), 10),
    ],
)
def test_a_part_full_carton_goes_as_its_record_says(
    says: str, expected: tuple[object, ...], behind: int
) -> None:
    load = load_of(packed(CARTON + says), "SKU", 50)
    assert figures(load) == expected
    assert (load.left_behind, load.shipped) == (behind, 50 - behind)


def test_fewer_than_a_carton_stay_behind_altogether() -> None:
    load = load_of(packed(CARTON + 'part_full = "not shipped"'), "SKU", 19)
    assert (load.shipped, load.left_behind, load.cartons, load.gross_kg) == (0, 19, 0, Fraction(0))


def test_the_only_carton_cut_down_is_the_heaviest() -> None:
    assert load_of(packed(CARTON + 'part_full = "cut down"'), "SKU", 5).carton_kg == Fraction("2.3")
    assert load_of(packed(CARTON + 'part_full = "cut down"'), "SKU", 25).carton_kg == Fraction("9.2")


def test_mass_without_a_gross_mass_is_content_and_carton() -> None:
    """20 x 410 g + 800 g = 9.0 kg a carton; three cartons."""
    made = packed('units = 20\nouter = ["1 m", "1 m", "1 m"]', sku='mass = "410 g"')
    load = load_of(made, "SKU", 60)
    assert (load.gross_kg, load.m3, load.carton_kg) == (Fraction(27), Fraction(3), Fraction(9))
    assert load.unknown == ("how CTN stands on a pallet is not known",)
    assert (load.pallets, load.stack_m) == (None, None)


@pytest.mark.parametrize(
    ("packing", "line", "per"),
    [
        ("", "qty = 1\nper = 24", 24),
        ("", "qty = 2\nper = 24", 12),
        ("", "qty = 1", 1),
        ("units = 6", "qty = 1\nper = 24", 6),
        ("", "qty = 3\nper = 10", None),
        ("", "per = 24", None),
    ],
)
def test_units_per_carton(packing: str, line: str, per: int | None) -> None:
    load = load_of(packed(packing, line=line), "SKU", 48)
    assert load.per_carton == per
    if per is None:
        assert load.missing["cartons"] == ("how many SKU go into CTN is not known",)


def test_without_a_master_carton_the_units_own_mass_and_size_are_the_least() -> None:
    sku = '[assembly]\nid = "SKU"\nmass = "0.5 kg"\nsize = ["10 cm", "10 cm", "20 cm"]\n'
    load = load_of(product({"assemblies/s.toml": sku}), "SKU", 30)
    assert (load.gross_kg, load.m3, load.cartons) == (Fraction(15), Fraction("0.06"), None)
    assert load.unknown == ("SKU has no master carton: mass and size are its own",)


BARE = product({"assemblies/s.toml": '[assembly]\nid = "SKU"\n'})


@pytest.mark.parametrize(
    ("made", "kg", "m3", "missing"),
    [
        (packed("units = 20", own=""), None, None, {"mass": 2, "volume": 1, "pallets": 1}),
        (packed("units = 20"), Fraction("1.6"), None, {"mass": 1, "volume": 1, "pallets": 1}),
        (packed("units = 20", sku='mass = "0.1 kg"', own=""), 4, None, {"mass": 1, "volume": 1, "pallets": 1}),
        (packed("units = 20", sku='size = ["1 m", "1 m", "1 m"]'), Fraction("1.6"), 40, {"mass": 1, "volume": 1, "pallets": 1}),
        (packed('units = 20\ngross = "2 l"'), Fraction("1.6"), None, {"mass": 1, "volume": 1, "pallets": 1}),
        (BARE, None, None, {"mass": 2, "volume": 2, "pallets": 1, "cartons": 1}),
    ],
)  # fmt: skip
def test_what_is_not_stated_is_named_and_never_zero(
    made: Product, kg: Fraction | None, m3: Fraction | None, missing: Mapping[Measured, int]
) -> None:
    load = load_of(made, "SKU", 40)
    assert (load.gross_kg, load.m3) == (kg, m3)
    assert {figure: len(words) for figure, words in load.missing.items()} == missing


PHANTOM = {
    "parts/p.toml": "".join(
        f'[part.{name}]\n[part.{name}.packing]\nrole = "master carton"\nunits = {units}\n'
        for name, units in (("OLD", 10), ("NEW", 12))
    ),
    "assemblies/kit.toml": """
[assembly]
id = "KIT"
phantom = true
[[line]]
item = 1
part = "OLD"
qty = 1
effective = { to_serial = 500 }
[[line]]
item = 1
part = "NEW"
qty = 1
effective = { from_serial = 501 }
""",
    "assemblies/sku.toml": '[assembly]\nid = "SKU"\n[[line]]\nitem = 1\npart = "KIT"\nqty = 1\n',
}


@pytest.mark.parametrize(
    ("context", "per"), [(CONTEXT, 12), (Context(day=CONTEXT.day, serial=500), 10), (None, 10)]
)
def test_the_carton_of_a_phantom_and_of_the_asked_serial(context: Context | None, per: int) -> None:
    assert load_of(product(PHANTOM), "SKU", 1, context).per_carton == per


def test_a_carton_that_is_not_fitted_is_none() -> None:
    assert load_of(packed(line="qty = 1\nfitted = false"), "SKU", 1).per_carton is None


@pytest.mark.parametrize(("sku", "units"), [("NOBODY", 1), ("SKU", -1)])
def test_what_cannot_be_packed_raises(sku: str, units: int) -> None:
    with pytest.raises(ValueError, match="cannot be packed"):
        load_of(packed(), sku, units)


# The carton: 9.2 kg, 250 mm high; 800 units fill five layers, 1.25 m; 20 units stand in one.
@pytest.mark.parametrize(
    ("limits", "units", "words"),
    [
        ("", 800, []),
        ('carton_limit = "9.2 kg"\npallet_height = "1.25 m"', 800, []),
        ('carton_limit = "9.1 kg"', 800, ["a carton of 9.2 kg is over the limit of 9.1 kg"]),
        ('pallet_height = "124 cm"', 800, ["a pallet of 1.25 m is over the limit of 124 cm"]),
        ('pallet_height = "124 cm"', 801, ["a pallet of 1.25 m is over the limit of 124 cm"]),
        ('pallet_height = "124 cm"', 640, []),
        ('pallet_height = "124 cm"', 641, ["a pallet of 1.25 m is over the limit of 124 cm"]),
        ('carton_limit = "20 m"', 1, ["whether a carton is over the limit of 20 m is not known"]),
    ],
)
def test_limits_of_a_lane(limits: str, units: int, words: list[str]) -> None:
    assert list(fits(load_of(packed(), "SKU", units), lane(limits))) == words


def test_a_mass_that_is_only_a_lower_bound_may_still_be_too_much() -> None:
    load = load_of(packed("units = 20", own='mass = "5 kg"'), "SKU", 20)
    assert fits(load, lane('carton_limit = "4 kg"')) == ("a carton of 5 kg is over the limit of 4 kg",)
    doubt = ("whether a carton is over the limit of 6 kg is not known",)
    assert fits(load, lane('carton_limit = "6 kg"')) == doubt
    height = ("whether a pallet is over the limit of 1 m is not known",)
    assert fits(load, lane('pallet_height = "1 m"')) == height


@pytest.mark.property
@given(
    units=st.integers(0, 500),
    per=st.integers(1, 30),
    layer=st.integers(1, 9),
    layers=st.integers(1, 6),
    says=st.sampled_from(["full size", "cut down", "not shipped"]),
)
def test_every_unit_is_in_a_carton_or_stays(units: int, per: int, layer: int, layers: int, says: str) -> None:
    """Packing one by one gives the same cartons and pallets."""
    text = f'units = {per}\ngross = "1 kg"\nper_layer = {layer}\nlayers = {layers}\npart_full = "{says}"'
    load = load_of(packed(text), "SKU", units)
    filled = [0]
    for _ in range(units):
        filled = [*filled[:-1], filled[-1] + 1] if filled[-1] < per else [*filled, 1]
    going = [n for n in filled if n and (n == per or says != "not shipped")]
    pallets = [going[n : n + layer * layers] for n in range(0, len(going), layer * layers)]
    assert (load.cartons, load.pallets) == (len(going), len(pallets))
    assert load.shipped == sum(going)
    assert load.full * per + load.part_units + load.left_behind == units
    weigh = Fraction(1, per) if says == "cut down" else None
    assert load.gross_kg == sum((n * weigh if weigh else Fraction(1) for n in going), Fraction(0))
