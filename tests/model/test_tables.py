"""Tables of the model against published ones."""

from __future__ import annotations

from ferrule.model.countries import COUNTRIES, TERRITORIES
from ferrule.model.currencies import MINOR_UNITS
from ferrule.model.designator_classes import CLASSES, OUTSIDE
from ferrule.model.units import UNITS

# ISO 4217 list one, table dated 2026-01-01: codes by number of decimals (13 further codes are no payable money).
NONE = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF"
THREE = "BHD IQD JOD KWD LYD OMR TND"
FOUR = "CLF UYW"
# UN/ECE Recommendation 20, revision 17 (2021): common code and conversion to the coherent SI unit. It prints the
# ounce as 0.02834952 kg; ours is the exact sixteenth of the pound it prints, 0.45359237 / 16.
REC20 = {
    "m": ("MTR", "1"), "cm": ("CMT", "0.01"), "mm": ("MMT", "0.001"), "in": ("INH", "0.0254"), "ft": ("FOT", "0.3048"), "yd": ("YRD", "0.9144"),
    "kg": ("KGM", "1"), "g": ("GRM", "0.001"), "mg": ("MGM", "0.000001"), "t": ("TNE", "1000"), "lb": ("LBR", "0.45359237"), "oz": ("ONZ", "0.028349523125"),
    "m2": ("MTK", "1"), "cm2": ("CMK", "0.0001"), "mm2": ("MMK", "0.000001"), "l": ("LTR", "0.001"), "ml": ("MLT", "0.000001"), "m3": ("MTQ", "1"),
    "cm3": ("CMQ", "0.000001"), "s": ("SEC", "1"), "min": ("MIN", "60"), "h": ("HUR", "3600"), "each": ("EA", "1"), "pair": ("PR", "2"), "dozen": ("DZN", "12"),
}  # fmt: skip
# IEEE 315-1975, clause 22.4 (ASME Y14.44): letters seen in secondary lists.
SEEN = "A AR AT B BT C CB CP CR D DC DL DS E F FL G H HY J K L LS M MK MP P PS Q R RT RV S T TB TC U V VR W X Y Z".split()
SUBSTITUTES = {
    "BR": "D",
    "CN": "C",
    "FB": "E",
    "LED": "DS",
    "RN": "R",
    "SW": "S",
    "XTAL": "Y",
    "IC": "U",
    "VDR": "RV",
    "HW": "H",
}


def test_currencies() -> None:
    by_places = {places: {c for c, p in MINOR_UNITS.items() if p == places} for places in (0, 2, 3, 4)}
    assert by_places[0] == set(NONE.split())
    assert by_places[3] == set(THREE.split())
    assert by_places[4] == set(FOUR.split())
    assert (len(by_places[2]), len(MINOR_UNITS)) == (139, 165)
    assert not {"XXX", "XTS", "XAU", "XDR"} & set(MINOR_UNITS)


def test_units() -> None:
    assert {name: (UNITS[name].code, format(UNITS[name].factor, "f")) for name in REC20} == REC20
    assert len({unit.code for unit in UNITS.values()}) == len(UNITS)


def test_countries() -> None:
    """ISO 3166-1 has 249 officially assigned codes."""
    assert len(COUNTRIES) == 249
    assert {"VN", "DE", "IE", "GB", "TW", "US", "XK"} - COUNTRIES == {"XK"}
    assert {"EU"} == TERRITORIES - COUNTRIES


def test_designator_classes() -> None:
    assert set(SEEN) <= set(CLASSES)
    assert {letters: OUTSIDE[letters] for letters in SUBSTITUTES} == SUBSTITUTES
    assert not set(OUTSIDE) & set(CLASSES)
    assert all(standard in CLASSES or not standard for standard in OUTSIDE.values())


def test_parts_list_fields_have_a_home() -> None:
    """The data fields of a parts list by ISO 7573:2008, ISO 7573:1983 and ASME Y14.34, each under our name."""
    from ferrule.model.records.assembly import Assembly, Line
    from ferrule.model.records.common import Document
    from ferrule.model.records.part import Part, Source
    from ferrule.model.records.product import Head

    homes = {
        "item reference": (Line, "item"), "quantity": (Line, "qty"), "unit": (Part, "unit"), "part number": (Line, "part"), "part name": (Part, "name"),
        "technical data": (Part, "rating"), "material": (Part, "material"), "reference designation": (Line, "designators"), "remarks": (Line, "note"),
        "maker's number": (Source, "maker_part"), "document": (Document, "file"), "revision": (Assembly, "rev"), "owner": (Head, "company"),
    }  # fmt: skip
    for field, (record, name) in homes.items():
        assert name in record.__struct_encode_fields__, field
