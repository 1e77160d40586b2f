"""Freight by hand: chargeable weight, weight or measure, containers, minimum, seasons, charges, what is unknown.

The rules of rating are common practice; air freight's divisor of 6,000 cm3 to the kilogram and its step of
half a kilogram, once a consignment, are those of the air cargo tariff rules (from memory).
"""

from __future__ import annotations

import datetime as dt
import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import product
from ferrule.compute.freight import STRETCHES, Freight, Stretch, chargeable_kg, freight
from ferrule.compute.packing import Load
from ferrule.model.money import Money
from ferrule.model.records.firms import Lane

DAY = dt.date(2027, 1, 10)


def lane(text: str) -> Lane:
    """Return a lane in US dollars."""
    head = '[lane.l]\nname = "L"\nmode = "air"\ncurrency = "USD"\n'
    return product({"firms/f.toml": head + text}).lanes["l"]


def dollars(amount: Money, own: str) -> Fraction | None:
    """Convert to US dollars at 1 EUR = 1.10 USD; nothing else is known."""
    rate = {"USD": Fraction(1), "EUR": Fraction("1.1")}.get(amount.within(own).currency)
    return None if rate is None else rate * Fraction(amount.number)


def load(kg: str | None = "100", m3: str | None = "0.5", cartons: int = 4, *, units: int = 40) -> Load:
    return Load(
        sku="SKU",
        units=units,
        cartons=cartons,
        pallets=2,
        gross_kg=None if kg is None else Fraction(kg),
        m3=None if m3 is None else Fraction(m3),
        missing={"mass": ("mass unknown",)} if kg is None else {"volume": ("size unknown",)} if m3 is None else {},
    )  # fmt: skip


def asked(text: str, of: Load | None = None, on: dt.date | None = DAY) -> Freight:
    return freight(lane(text), of or load(), on, dollars)


def test_volume_weight() -> None:
    """0.40 x 0.30 x 0.25 m = 0.03 m3 = 30,000 cm3; at 6,000 cm3 to the kilogram 5.0 kg."""
    assert chargeable_kg(lane("divisor = 6000"), load("3", "0.03")) == 5
    assert chargeable_kg(lane("divisor = 5000"), load("3", "0.03")) == 6


@pytest.mark.parametrize(
    ("text", "kg", "m3", "expected"),
    [
        ("divisor = 6000", "6.2", "0.03", "6.2"),  # gross is more than volume
        ("divisor = 6000", None, "0.03", "5"),
        ("divisor = 6000", "4", None, "4"),
        ("divisor = 6000", None, None, None),
        ("", "4", "9", "4"),  # no divisor: gross only
        ("", None, "9", None),
        ('weight_step = "0.5 kg"', "118.01", "0", "118.5"),
        ('weight_step = "0.5 kg"', "118.5", "0", "118.5"),
        ('weight_step = "500 g"', "118.51", "0", "119"),
        ('weight_step = "1 kg"\ndivisor = 6000', "4.1", "0.0301", "6"),  # 5.01666... kg of volume
        ('weight_step = "1 m"', "4.1", "0", "4.1"),  # no step of weight
    ],
)
def test_chargeable_weight(text: str, kg: str | None, m3: str | None, expected: str | None) -> None:
    found = chargeable_kg(lane(text), load(kg, m3))
    assert found == (None if expected is None else Fraction(expected))


def test_weight_rounds_up_once_a_shipment_and_not_once_a_carton() -> None:
    """Ten cartons of 9.2 kg: 92 kg at 5.40 is 496.80. Carton by carton it would be 10 x 9.5 kg = 513.00."""
    found = asked('per_kg = 5.4\nweight_step = "0.5 kg"', load("92", "0.3", 10))
    assert found.chargeable_kg == 92
    assert found.total == Fraction("496.8")
    assert 10 * math.ceil(Fraction("9.2") / Fraction("0.5")) * Fraction("0.5") * Fraction("5.4") == 513


def test_the_working_is_in_words() -> None:
    found = asked('per_kg = 5.4\nweight_step = "0.5 kg"\ndivisor = 6000', load("118.2", "0.5"))
    (item,) = found.items
    assert (item.name, item.stretch, item.words) == (
        "freight",
        "carriage",
        "5.4 USD per kg x 118.5 kg chargeable",
    )
    assert item.amount == Fraction("639.9")
    third = Load(sku="SKU", units=1, gross_kg=Fraction(275, 6))
    assert asked("per_kg = 6", third).items[0].words == "6 USD per kg x 45.833 kg chargeable"


# 100 kg and 0.5 m3, 4 cartons, 2 pallets. By measure 0.5 x 96 = 48; by weight 100 x 0.5 = 50.
@pytest.mark.parametrize(
    ("text", "amount", "words"),
    [
        ("per_m3 = 96", "48", "96 USD per m3 x 0.5 m3"),
        ("per_m3 = 96\nper_kg = 0.5", "50", "0.5 USD per kg x 100 kg chargeable"),
        ("per_m3 = 96\nper_kg = 0.4", "48", "96 USD per m3 x 0.5 m3"),
        ("per_container = 30\ncontainer_m3 = 0.5", "30", "30 USD per container x 1 container"),
        ("per_container = 30\ncontainer_m3 = 0.3", "60", "30 USD per container x 2 containers"),
        ("per_container = 30\ncontainer_m3 = 0.3\nper_m3 = 96", "48", "96 USD per m3 x 0.5 m3"),
        ("per_container = 30\ncontainer_m3 = 0.5\nper_m3 = 96", "30", "30 USD per container x 1 container"),
        ("per_m3 = 96\nminimum = 47.99", "48", "96 USD per m3 x 0.5 m3"),
        ("per_m3 = 96\nminimum = 48", "48", "96 USD per m3 x 0.5 m3"),
        ("per_m3 = 96\nminimum = 240", "240", "96 USD per m3 x 0.5 m3, minimum 240 USD"),
        ('per_m3 = "80 EUR"', "44", "80 EUR per m3 x 0.5 m3"),
    ],
)
def test_weight_or_measure_containers_and_minimum(text: str, amount: str, words: str) -> None:
    (item,) = asked(text).items
    assert (item.amount, item.words, item.unknown) == (Fraction(amount), words, ())


SEASON = 'per_m3 = 200\nsurcharge = [{ name = "peak", from = 2026-12-15, to = 2027-01-24, percent = "18 %" }]'


# Freight 0.5 x 200 = 100, so 18 % is 18. Both ends of the season are in it.
@pytest.mark.parametrize(
    ("day", "amount"),
    [
        (dt.date(2026, 12, 14), "100"),
        (dt.date(2026, 12, 15), "118"),
        (dt.date(2027, 1, 24), "118"),
        (dt.date(2027, 1, 25), "100"),
    ],
)
def test_a_surcharge_counts_in_its_season(day: dt.date, amount: str) -> None:
    assert asked(SEASON, on=day).total == Fraction(amount)


@pytest.mark.parametrize(
    ("surcharge", "extra", "stretch"),
    [
        ('percent = "10 %"', "10", "carriage"),
        ('from = 2027-01-10, percent = "10 %"', "10", "carriage"),
        ('from = 2027-01-11, percent = "10 %"', None, "carriage"),
        ('to = 2027-01-10, percent = "10 %"', "10", "carriage"),
        ('to = 2027-01-09, percent = "10 %"', None, "carriage"),
        ('amount = { name = "f", amount = 0.2, per = "kg" }', "20", "carriage"),
        ('amount = { name = "f", amount = 3, per = "pallet", covers = "arrival" }', "6", "arrival"),
    ],
)
def test_surcharges_by_percent_or_amount(surcharge: str, extra: str | None, stretch: str) -> None:
    found = asked(f'per_m3 = 200\nsurcharge = [{{ name = "s", {surcharge} }}]')
    rest = [(item.name, item.amount, item.stretch) for item in found.items[1:]]
    assert rest == ([] if extra is None else [("s", Fraction(extra), stretch)])


def test_the_percent_is_of_the_freight_and_not_of_other_surcharges() -> None:
    two = 'surcharge = [{ name = "a", percent = "10 %" }, { name = "b", percent = "10 %" }]'
    assert asked(f"per_m3 = 10\nminimum = 100\n{two}").total == 120


def test_without_a_day_a_season_is_unknown_and_a_standing_surcharge_is_not() -> None:
    found = asked(SEASON[:-1] + ', { name = "fuel", percent = "5 %" }]', on=None)
    assert [(item.name, item.amount) for item in found.items] == [
        ("freight", 100),
        ("peak", None),
        ("fuel", 5),
    ]
    assert found.unknown == (
        "whether peak (2026-12-15 to 2027-01-24) applies is not known without a day of shipment",
    )


# 40 units in 4 cartons on 2 pallets, 100 kg, 0.5 m3, one container of 2 m3.
@pytest.mark.parametrize(
    ("charge", "amount", "words"),
    [
        ('amount = 140, per = "shipment"', "140", "140 USD per shipment"),
        ('amount = 140, per = "order"', "140", "140 USD per order"),
        ('amount = 140, per = "build"', "140", "140 USD per build"),
        ('amount = "95 EUR", per = "entry"', "104.5", "95 EUR per entry"),
        ('amount = 48, per = "pallet"', "96", "48 USD per pallet x 2 pallets"),
        ('amount = 1.5, per = "carton"', "6", "1.5 USD per carton x 4 cartons"),
        ('amount = 60, per = "container"', "60", "60 USD per container x 1 container"),
        ('amount = 0.12, per = "kg"', "12", "0.12 USD per kg x 100 kg chargeable"),
        ('amount = 32, per = "m3"', "16", "32 USD per m3 x 0.5 m3"),
        ('amount = 0.1, per = "unit"', "4", "0.1 USD per unit x 40 units"),
        ('amount = 32, per = "m3", minimum = 45', "45", "32 USD per m3 x 0.5 m3, minimum 45 USD"),
        ('amount = 32, per = "m3", minimum = 16', "16", "32 USD per m3 x 0.5 m3"),
    ],
)
def test_charges(charge: str, amount: str, words: str) -> None:
    found = asked(f'per_m3 = 0\ncontainer_m3 = 2\ncharge = [{{ name = "c", {charge} }}]')
    item = found.items[1]
    assert (item.name, item.amount, item.words, item.stretch) == ("c", Fraction(amount), words, "carriage")
    assert found.unknown == ()


def test_charges_stand_by_the_stretch_they_cover() -> None:
    covers: list[Stretch] = [s for s in STRETCHES if s not in {"insurance", "duty"}]
    rows = ", ".join(
        f'{{ name = "{c}", amount = {n}, per = "shipment", covers = "{c}" }}' for n, c in enumerate(covers, 1)
    )
    found = asked(f"per_m3 = 200\ncharge = [{rows}]")
    amounts = {c: [item.amount for item in found.of(c)] for c in STRETCHES}
    assert amounts == {
        "origin haul": [1], "export": [2], "loading": [3], "carriage": [100, 4], "insurance": [],
        "arrival": [5], "import": [6], "duty": [], "delivery": [7],
    }  # fmt: skip


def test_what_is_asked_once_ever_is_no_cost_of_a_shipment() -> None:
    found = asked('per_m3 = 200\ncharge = [{ name = "account set-up", amount = 50, per = "one-off" }]')
    assert (found.total, found.unknown) == (Fraction(100), ())
    assert found.notes == ("account set-up is asked once ever and is no cost of a shipment",)


@pytest.mark.parametrize(
    ("text", "kg", "m3", "amount", "unknown"),
    [
        ("", "100", "0.5", None, ("L states no rate of freight",)),
        ("minimum = 80", "100", "0.5", "80", ("L states no rate of freight",)),
        ("per_kg = 1", None, "0.5", None, ("mass unknown",)),
        ("per_kg = 1\nminimum = 80", None, "0.5", "80", ("mass unknown",)),
        ("per_kg = 1\ndivisor = 5000", None, "0.5", "100", ("mass unknown",)),  # at least the volume weight
        ("per_kg = 1\ndivisor = 5000", "100", None, "100", ("size unknown",)),
        (
            "per_kg = 1\nper_m3 = 96",
            "100",
            None,
            "100",
            ("size unknown",),
        ),  # the larger, and so at least this
        # The cheaper of 100 and of nobody knows what may be as little as nothing.
        ("per_kg = 1\nper_container = 50", "100", "0.5", None, ("L states no volume of a container",)),
        ("per_container = 50\ncontainer_m3 = 28", "100", None, None, ("size unknown",)),
        ('per_kg = "1 CHF"', "100", "0.5", None, ("1 CHF cannot be converted",)),
        ('per_kg = 1\nminimum = "900 CHF"', "100", "0.5", "100", ("900 CHF cannot be converted",)),
    ],
)
def test_unknown_stays_unknown(
    text: str, kg: str | None, m3: str | None, amount: str | None, unknown: tuple[str, ...]
) -> None:
    found = asked(text, load(kg, m3))
    assert found.items[0].amount == (None if amount is None else Fraction(amount))
    assert found.total == Fraction(amount or 0)
    assert found.unknown == unknown


@pytest.mark.parametrize(
    ("charge", "words"),
    [
        ('amount = 1, per = "kg"', "mass unknown"),
        ('amount = 1, per = "pack"', "a shipment has no number of packs to charge by"),
        ('amount = 1, per = "container"', "L states no volume of a container"),
        ('amount = "1 CHF", per = "shipment"', "1 CHF cannot be converted"),
    ],
)
def test_a_charge_that_cannot_be_counted_is_unknown(charge: str, words: str) -> None:
    found = asked(f'per_m3 = 200\ncharge = [{{ name = "c", {charge} }}]', load(None))
    assert (found.items[1].amount, found.total, found.unknown) == (None, Fraction(100), (words,))


def test_a_surcharge_on_unknown_freight_is_unknown() -> None:
    found = asked('per_kg = 1\nsurcharge = [{ name = "s", percent = "5 %" }, { name = "t" }]', load(None))
    assert [item.amount for item in found.items] == [None, None, None]
    assert found.unknown == ("mass unknown", "t states no amount")


def test_nothing_shipped_costs_nothing() -> None:
    assert asked("minimum = 240", load("0", "0", 0, units=0)) == Freight()


RATES = st.fixed_dictionaries(
    {},
    optional={
        "per_m3": st.integers(0, 200),
        "per_kg": st.integers(0, 20),
        "per_container": st.integers(0, 3000),
        "minimum": st.integers(0, 500),
        "divisor": st.sampled_from([5000, 6000]),
    },
)


@pytest.mark.property
@given(rates=RATES, first=st.integers(1, 60), more=st.integers(0, 60))
def test_more_cartons_never_cost_less(rates: dict[str, int], first: int, more: int) -> None:
    text = "".join(f"{name} = {value}\n" for name, value in rates.items())
    text += 'container_m3 = 1\nweight_step = "0.5 kg"\nsurcharge = [{ name = "s", percent = "7 %" }]\n'
    text += 'charge = [{ name = "c", amount = 3, per = "carton", minimum = 20 }]\n'

    def total(cartons: int) -> Fraction:
        return asked(
            text, load(str(cartons * 9), str(Fraction(3, 100) * cartons), cartons, units=cartons)
        ).total

    assert total(first) <= total(first + more)


@pytest.mark.property
@given(kg=st.integers(1, 5000), litres=st.integers(1, 5000), step=st.sampled_from(["0.5", "1", "0.3"]))
def test_chargeable_weight_is_the_least_step_that_covers_both(kg: int, litres: int, step: str) -> None:
    """Counted up step by step: 1 litre is 1/6 kg at 6,000."""
    found = chargeable_kg(
        lane(f'divisor = 6000\nweight_step = "{step} kg"'), load(str(kg), str(Fraction(litres, 1000)))
    )
    counted = Fraction(0)
    while counted < kg or counted < Fraction(litres, 6):
        counted += Fraction(step)
    assert found == counted
