"""Landed cost by hand: terms, insurance, customs value, duty, fees on the entry, import tax; and its laws."""

from __future__ import annotations

from fractions import Fraction
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import product
from ferrule.compute.freight import STRETCHES, Stretch
from ferrule.compute.landing import IN_PRICE, Landed, Shipment, Where, duty_for, in_price, landed
from ferrule.compute.packing import Load
from ferrule.model.incoterms import RULES, Incoterm, parse_incoterm
from ferrule.model.money import Money
from ferrule.model.records.firms import Duty, Lane


def lane(text: str) -> Lane:
    head = '[lane.l]\nname = "L"\nmode = "sea"\ncurrency = "USD"\nto = "Wexmouth warehouse"\n'
    return product({"firms/f.toml": head + text}).lanes["l"]


def border(text: str, basis: str = "freight-exclusive") -> Duty:
    head = f'[[duty]]\ndestination = "EU"\ncode = "8519 81 95"\nbasis = "{basis}"\n'
    return product({"firms/f.toml": head + text}).duties[0]


def dollars(amount: Money, own: str) -> Fraction | None:
    """Take everything as US dollars, bare amounts included; francs cannot be converted."""
    return None if amount.within(own).currency == "CHF" else Fraction(amount.number)


def shipment(
    term: str = "FCA Port Halden",
    price: str | Fraction | None = "20",
    *,
    units: int = 1,
    free: tuple[str | None, str | None] = ("0", "0"),
    where: Where | None = None,
) -> Shipment:
    """Return units of 1 kg that fill 1 m3; ``free`` is what the factory gets free: consigned parts, tools."""
    consigned, tools = free
    return Shipment(
        currency="USD",
        term=parse_incoterm(term),
        load=Load(sku="SKU", units=units, cartons=1, pallets=1, gross_kg=Fraction(units), m3=Fraction(1)),
        price=None if price is None else Fraction(price),
        consigned=None if consigned is None else Fraction(consigned),
        tools=None if tools is None else Fraction(tools),
        where=where,
    )


def came_to(what: Shipment, way: str, dues: str, basis: str = "freight-exclusive") -> Landed:
    return landed(what, lane(way), border(dues, basis), dollars)


#: Freight 1.00 for a shipment of 1 m3, insured at 0.4 % of 110 %, and an entry that costs nothing.
FREE_ENTRY = '{ name = "entry", amount = 0, per = "entry", covers = "import" }'
ROAD = f'per_m3 = 1\ninsurance = {{ rate = "0.4 %", of = "110 %" }}\ncharge = [{FREE_ENTRY}]\n'


def test_a_worked_case_comes_to_23_6674() -> None:
    """FCA 20.00, freight 1.00, insurance 0.4 % of 110 % of 21.00 = 0.0924, duty 5 % of (20.00 + 1.50) = 1.0750.

    With 1.50 of consigned parts: 20 + 1 + 0.0924 + 1.075 + 1.5 = 23.6674.
    """
    found = came_to(shipment(free=("1.5", "0")), ROAD, 'rate = "5 %"')
    assert {element.kind: element.amount for element in found.elements} == {
        "goods": 20, "consigned": Fraction("1.5"), "carriage": 1, "insurance": Fraction("0.0924"),
        "import": 0, "duty": Fraction("1.075"),
    }  # fmt: skip
    assert found.total == found.per_unit == Fraction("23.6674")
    assert found.customs_value == Fraction("21.5")
    assert found.duty_on_assists == found.duty_on_consigned.amount == Fraction("0.075")
    assert found.unknown == ()


def test_freight_inclusive_duty_is_1_12962() -> None:
    """5 % of (20 + 1.50 + 1.00 + 0.0924) = 5 % of 22.5924."""
    found = came_to(shipment(free=("1.5", "0")), ROAD, 'rate = "5 %"', "freight-inclusive")
    assert found.customs_value == Fraction("22.5924")
    assert found.of("duty") == Fraction("1.12962")


def test_words_show_the_working() -> None:
    found = came_to(shipment(free=("1.5", "0")), ROAD, 'rate = "5 %"')
    assert [element.words for element in found.elements if element.words] == [
        "1 USD per m3 x 1 m3",
        "0.4 % of 110 % of 21.00 USD of goods and freight",
        "0 USD per entry",
        "5 % of 21.50 USD of customs value",
    ]


def test_tools_are_in_the_value_and_not_in_the_cost_consigned_parts_in_both() -> None:
    """100 units at 20, consigned 1.50, tools 4.00: value 2,550, duty 5 % + 10 % = 382.50.

    Of it 60.00 come from the tools (400 x 15 %) and 22.50 from the consigned parts (150 x 15 %).
    Landed 2,000 + 150 + 1 + insurance 0.44 % of 2,001 = 8.8044 + 382.50 = 2,542.3044.
    """
    dues = 'rate = "5 %"\nextra = [{ name = "further measure", rate = "10 %" }]'
    found = came_to(shipment(units=100, free=("1.5", "4")), ROAD, dues)
    assert found.customs_value == 2550
    assert [(e.name, e.amount) for e in found.elements if e.kind == "duty"] == [
        ("duty", Fraction("127.5")),
        ("further measure", Fraction(255)),
    ]
    assert (found.duty_on_tools.amount, found.duty_on_consigned.amount) == (Fraction(60), Fraction("22.5"))
    assert found.duty_on_tools.per_unit == Fraction("0.6")
    assert found.duty_on_assists == Fraction("82.5")
    assert found.total == Fraction("2542.3044")
    assert found.per_unit == Fraction("25.423044")
    assert "tools" not in {element.kind for element in found.elements}


# The example product's fee: 0.3464 % of the value, at least 33.00, at most 650.00. 0.3464 % of 5,000 is 17.32;
# of 100,000 it is 346.40; of 200,000 it is 692.80. 33.00 is reached at 9,526.558..., 650.00 at 187,644.34...
FEE = 'rate = "0 %"\nfee = [{ name = "fee", rate = "0.3464 %", floor = "33.00 USD", ceiling = "650.00 USD" }]'


@pytest.mark.parametrize(
    ("price", "fee", "words"),
    [
        ("5000", "33", "0.3464 % of 5,000.00 USD of customs value, at least 33.00 USD"),
        ("100000", "346.4", "0.3464 % of 100,000.00 USD of customs value"),
        ("200000", "650", "0.3464 % of 200,000.00 USD of customs value, at most 650.00 USD"),
    ],
)
def test_a_fee_on_the_entry_keeps_to_its_floor_and_ceiling(price: str, fee: str, words: str) -> None:
    found = came_to(shipment(price=price), ROAD, FEE)
    assert [(e.amount, e.words) for e in found.elements if e.kind == "entry fee"] == [(Fraction(fee), words)]


def test_the_fee_is_asked_for_the_entry_and_not_for_each_unit() -> None:
    """200 units of 25: 5,000 on one entry, 33.00 in all, 0.165 a unit. Unit by unit it would be 6,600."""
    found = came_to(shipment(price="25", units=200), ROAD, FEE)
    (fee,) = [element for element in found.elements if element.kind == "entry fee"]
    assert (fee.amount, fee.per_unit) == (Fraction(33), Fraction("0.165"))


def test_a_fee_without_limits_and_one_that_cannot_be_converted() -> None:
    plain = came_to(shipment(price="5000"), ROAD, 'rate = "0 %"\nfee = [{ name = "fee", rate = "0.3464 %" }]')
    assert plain.of("entry fee") == Fraction("17.32")
    franc = came_to(shipment(price="5000"), ROAD, FEE.replace("33.00 USD", "33.00 CHF"))
    assert [e.amount for e in franc.elements if e.kind == "entry fee"] == [None]
    assert franc.unknown == ("33.00 CHF, at least due as fee, cannot be converted",)


TAX = 'rate = "5 %"\nimport_tax = "20 %"\n'


def test_import_tax_is_cash_where_it_comes_back_and_cost_where_it_does_not() -> None:
    """Landed before tax 23.6674, tools 2.00 more in the value (duty + 0.10): base 25.7674, tax 5.15348."""
    what = shipment(free=("1.5", "2"))
    back = came_to(what, ROAD, TAX + 'import_tax_recovered = "8 weeks"')
    assert back.total == Fraction("23.7674")
    assert back.recovered_tax is not None
    assert back.recovered_tax.amount == Fraction("5.15348")
    kept = came_to(what, ROAD, TAX)
    assert kept.recovered_tax is None
    assert kept.of("import tax") == Fraction("5.15348")
    assert kept.total == Fraction("28.92088")


#: A lane with a charge for every stretch, each another power of two, so that no two sums are the same.
COSTS: dict[Stretch, int] = {
    "origin haul": 1, "export": 2, "loading": 4, "carriage": 8, "arrival": 16, "import": 32, "delivery": 64,
}  # fmt: skip
COMPLETE = (
    "per_m3 = 8\n"
    'insurance = { rate = "10 %", of = "100 %" }\ncharge = ['
    + ", ".join(
        f'{{ name = "{c}", amount = {n}, per = "shipment", covers = "{c}" }}'
        for c, n in COSTS.items()
        if c != "carriage"
    )
    + "]"
)
PLACES: tuple[Where | None, ...] = (None, *get_args(Where))


@pytest.mark.parametrize("where", PLACES)
@pytest.mark.parametrize("rule", RULES)
def test_each_stretch_is_paid_exactly_once(rule: str, where: Where | None) -> None:
    """Duty 1 % of a value with everything in it, insurance, seven charges: in the price or added, never both."""
    what = shipment(f"{rule} Somewhere", "1000", where=where)
    found = came_to(what, COMPLETE, 'rate = "1 %"', "freight-inclusive")
    added = [element.kind for element in found.elements if element.kind in STRETCHES]
    assert sorted([*added, *found.in_price]) == sorted(STRETCHES)
    assert found.in_price == in_price(parse_incoterm(f"{rule} Somewhere"), where)
    assert {e.kind: e.amount for e in found.not_added} == {
        c: n for c, n in COSTS.items() if c in found.in_price
    }
    assert found.unknown == ()


@pytest.mark.property
@given(
    rule=st.sampled_from(list(RULES)),
    where=st.sampled_from(PLACES),
    works=st.integers(1, 10000),
    units=st.integers(1, 50),
)
def test_the_term_moves_costs_and_never_changes_their_sum(
    rule: str, where: Where | None, works: int, units: int
) -> None:
    """A seller who asks exactly what a term costs him lands every shipment at the same money.

    Ex works price and all 127 of the way; no duty and no insurance, whose bases differ by term on purpose.
    """
    term = Incoterm(rule, "Somewhere")
    carried = sum(n for stretch, n in COSTS.items() if stretch in in_price(term, where))
    what = shipment(f"{rule} Somewhere", Fraction(works + carried, units), units=units, where=where)
    way = COMPLETE.replace('rate = "10 %"', 'rate = "0 %"')
    assert came_to(what, way, 'rate = "0 %"').total == works + 127


def test_terms_that_pay_more_of_the_way_contain_those_that_pay_less() -> None:
    for less, more in [
        ("EXW", "FCA"), ("FCA", "CPT"), ("CPT", "CIP"), ("CIP", "DAP"), ("DAP", "DPU"), ("DPU", "DDP"),
        ("EXW", "FAS"), ("FAS", "FOB"), ("FOB", "CFR"), ("CFR", "CIF"), ("CIF", "DAP"),
    ]:  # fmt: skip
        assert IN_PRICE[less] <= IN_PRICE[more]


@pytest.mark.parametrize(
    ("term", "where", "added"),
    [
        ("FCA Port Halden works", "works", {"origin haul", "loading", "carriage", "insurance", "arrival", "import", "duty", "delivery"}),
        ("CPT Wexmouth port", None, {"insurance", "arrival", "import", "duty", "delivery"}),
        ("CPT Wexmouth warehouse", None, {"insurance", "import", "duty"}),
        ("CIP Wexmouth warehouse", None, {"import", "duty"}),
        ("CFR Wexmouth warehouse", None, {"insurance", "arrival", "import", "duty", "delivery"}),
        ("DAP Wexmouth warehouse", None, {"import", "duty"}),
        ("DAP Wexmouth port", "port", {"arrival", "import", "duty", "delivery"}),
        ("DPU Wexmouth port", "port", {"import", "duty", "delivery"}),
        ("DDP Wexmouth port", "port", {"arrival", "delivery"}),
    ],
)  # fmt: skip
def test_the_named_place_decides(term: str, where: Where | None, added: set[str]) -> None:
    """The lane ends at Wexmouth warehouse: carriage paid to that very place runs to our door."""
    found = came_to(shipment(term, "1000", where=where), COMPLETE, 'rate = "1 %"')
    assert {element.kind for element in found.elements} - {"goods", "consigned"} == added


@pytest.mark.parametrize(
    ("term", "note"),
    [
        ("DAP Wexmouth quay", "the place of DAP Wexmouth quay is taken to be our door, Wexmouth warehouse"),
        ("FCA", "FCA names no place, and the place decides who pays for what"),
    ],
)
def test_a_place_that_says_too_little_is_noted(term: str, note: str) -> None:
    assert note in came_to(shipment(term), ROAD, 'rate = "1 %"').notes


def test_delivered_duty_paid_leaves_the_buyer_nothing_but_the_price() -> None:
    found = came_to(
        shipment("DDP Wexmouth warehouse", free=("1.5", None)), COMPLETE, TAX, "freight-inclusive"
    )
    assert found.total == Fraction("21.5")
    assert (found.value, found.recovered_tax, found.duty_on_assists) == ((), None, Fraction(0))
    assert found.unknown == ()


# A complete lane, price 1,000. Insurance is 10 % of the price and of the carriage the buyer pays.
@pytest.mark.parametrize(
    ("term", "basis", "more", "value"),
    [
        ("EXW Works", "freight-exclusive", "", "1000"),
        ("EXW Works", "freight-exclusive", "origin_haul = true", "1001"),
        ("FCA Port", "freight-exclusive", "origin_haul = true", "1000"),  # haul is in the price
        # 1,000 + haul 1 + loading 4 + carriage 8 + insurance 100.80
        ("EXW Works", "freight-inclusive", "", "1113.8"),
        ("EXW Works", "freight-inclusive", "origin_haul = false", "1112.8"),
        ("EXW Works", "freight-inclusive", "origin_haul = true\ninsurance = false", "1013"),
        ("EXW Works", "freight-exclusive", "insurance = true", "1100.8"),
        ("FOB Port", "freight-inclusive", "", "1108.8"),
        ("CFR Port", "freight-inclusive", "", "1100"),
        ("CIF Port", "freight-inclusive", "", "1000"),
        ("CFR Port", "freight-exclusive", "", "992"),  # carriage of 8 is taken out of the price
        ("DAP Wexmouth warehouse", "freight-exclusive", "", "992"),
        ("DAP Wexmouth warehouse", "freight-inclusive", "", "1000"),
    ],
)
def test_customs_value_by_term_and_basis(term: str, basis: str, more: str, value: str) -> None:
    found = came_to(shipment(term, "1000"), COMPLETE, f'rate = "1 %"\n{more}', basis)
    assert found.customs_value == Fraction(value)
    assert found.of("duty") == Fraction(value) / 100


def test_carriage_in_the_price_is_taken_out_with_a_word_or_left_in_with_one() -> None:
    dap = shipment("DAP Wexmouth warehouse", "1000")
    told = came_to(dap, COMPLETE, 'rate = "1 %"')
    assert told.notes == (
        "in the price and so in the customs value, untold: insurance, arrival, delivery",
        "carriage of 8.00 USD in the price is taken out of the customs value",
    )
    untold = landed(dap, None, border('rate = "1 %"'), dollars)
    assert "in the price and so in the customs value, untold: carriage" in untold.notes
    assert untold.customs_value == 1000
    season = 'surcharge = [{ name = "peak", from = 2026-12-15, percent = "18 %" }]\n'
    assert came_to(dap, season + COMPLETE, 'rate = "1 %"').customs_value == 1000


def test_carriage_is_not_taken_out_of_a_price_nobody_knows() -> None:
    found = came_to(shipment("DAP Wexmouth warehouse", None), COMPLETE, 'rate = "1 %"')
    assert (found.customs_value, found.of("duty")) == (Fraction(0), Fraction(0))


def test_what_no_charge_covers_is_in_the_freight_where_the_buyer_pays_that() -> None:
    found = came_to(shipment(), ROAD, 'rate = "5 %"')
    assert found.notes == ("no charge of its own, so taken to be in the freight: loading, arrival, delivery",)
    ended = came_to(shipment("CPT Wexmouth port"), ROAD, 'rate = "5 %"')
    assert ended.unknown == (
        "L states nothing for the stretch arrival",
        "L states nothing for the stretch delivery",
    )


def test_formalities_and_the_haul_are_never_in_the_freight() -> None:
    found = came_to(shipment("EXW Works"), "per_m3 = 1", 'rate = "5 %"')
    assert found.unknown == tuple(
        f"L states nothing for the stretch {stretch}" for stretch in ("origin haul", "export", "import")
    )
    assert "L states no insurance: the goods travel uninsured" in found.notes


@pytest.mark.parametrize(
    ("what", "way", "dues", "total", "unknown"),
    [
        (shipment(price=None), ROAD, 'rate = "5 %"', "1.0044", "the price of a unit is not known"),
        (shipment(free=(None, "0")), ROAD, 'rate = "5 %"', "22.0924", "the value of consigned parts of a unit is not known"),
        (shipment(free=("0", None)), ROAD, 'rate = "5 %"', "22.0924", "the share of tools of a unit is not known"),
        (shipment(), ROAD, "", "21.0924", "the rate of duty on 8519 81 95 in EU is not stated"),
        (shipment(), ROAD.replace("per_m3 = 1", ""), 'rate = "5 %"', "21.088", "L states no rate of freight"),
    ],
)  # fmt: skip
def test_unknown_makes_a_lower_bound(what: Shipment, way: str, dues: str, total: str, unknown: str) -> None:
    """Price 20, freight 1, insurance 0.44 % of what is known of both, duty 5 % of what is known of the value."""
    found = came_to(what, way, dues)
    assert (found.total, found.unknown) == (Fraction(total), (unknown,))


def test_no_lane_and_no_duty_are_named() -> None:
    found = landed(shipment(), None, None, dollars)
    assert found.total == 20
    assert found.unknown == (
        "no lane is named for what the buyer pays: loading, carriage, arrival, import, delivery, insurance",
        "no duty is stated for these goods at this border",
    )
    assert found.duty_on_consigned.amount is None


def test_what_the_price_pays_for_is_not_missed_when_the_lane_does_not_tell_it() -> None:
    """DAP: the lane states no rate, and need not."""
    found = came_to(shipment("DAP Wexmouth warehouse"), f"charge = [{FREE_ENTRY}]", 'rate = "5 %"')
    assert (found.unknown, found.total) == ((), Fraction(21))


def test_nothing_shipped_has_no_landed_cost() -> None:
    with pytest.raises(ValueError, match="no unit is shipped"):
        landed(shipment(units=0), lane(ROAD), None, dollars)


DUTIES = "".join(
    f'[[duty]]\ndestination = "{place}"\ncode = "{code}"\nbasis = "freight-inclusive"\nrate = "{rate} %"\n{origin}'
    for place, code, rate, origin in [
        ("EU", "8519 81 95", 1, ""),
        ("EU", "8519 81 95", 2, 'origin = "VN"\n'),
        ("EU", "8519 81 95", 3, 'origin = "TH"\n'),
        ("US", "8519.81.41", 4, 'origin = "VN"\n'),
    ]
)


@pytest.mark.parametrize(
    ("destination", "code", "origin", "rate"),
    [
        ("EU", "8519 81 95", "VN", 2),
        ("EU", "85198195", "TH", 3),
        ("EU", "8519 81 95", "JP", 1),
        ("EU", "8519 81 95", None, 1),
        ("US", "8519 81 41", "VN", 4),
        ("US", "8519 81 41", "JP", None),
        ("US", "8519 81 41", None, None),
        ("GB", "8519 81 95", "VN", None),
        ("EU", "8519 81 96", "VN", None),
    ],
)
def test_the_duty_of_the_origin_wins(
    destination: str, code: str, origin: str | None, rate: int | None
) -> None:
    found = duty_for(product({"firms/f.toml": DUTIES}), destination, code, origin)
    assert (found.rate.number if found is not None and found.rate is not None else None) == rate


@pytest.mark.property
@given(
    units=st.integers(1, 300),
    price=st.fractions(0, 500, max_denominator=100),
    free=st.tuples(st.integers(0, 50), st.integers(0, 50)),
    rule=st.sampled_from(list(RULES)),
    basis=st.sampled_from(["freight-exclusive", "freight-inclusive"]),
)
def test_assists_raise_the_cost_by_their_duty_and_nothing_else(
    units: int, price: Fraction, free: tuple[int, int], rule: str, basis: str
) -> None:
    """Landed with assists = landed without + consigned parts + the duty on both."""
    dues = 'rate = "3 %"\nextra = [{ name = "e", rate = "4 %" }]'
    term, (consigned, tools) = f"{rule} Somewhere", free
    bare = came_to(shipment(term, price, units=units), COMPLETE, dues, basis)
    full = came_to(
        shipment(term, price, units=units, free=(str(consigned), str(tools))), COMPLETE, dues, basis
    )
    rate = Fraction(0) if rule == "DDP" else Fraction("0.07")
    assert full.duty_on_assists == (consigned + tools) * units * rate
    assert full.total == bare.total + consigned * units + full.duty_on_assists
