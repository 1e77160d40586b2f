"""Settings of scenarios and levers: what they change, what they leave alone, and what is said of wrong ones."""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import msgspec
import pytest
import tomli
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from msgspec import Struct

from builders import HEAD, load
from ferrule.diagnostics.finding import Finding, Place
from ferrule.diagnostics.finding import Path as KeyPath
from ferrule.diagnostics.registry import all_rules
from ferrule.load.build import Loaded, load_product
from ferrule.load.identity import subject_of
from ferrule.load.keypath import field_types, overlap, shape_of
from ferrule.load.locate import Positions, spot_of
from ferrule.load.schema import toml_value
from ferrule.load.settings import (
    Conflict,
    Setting,
    apply_settings,
    conflicts,
    lever_settings,
    scenario_settings,
)
from ferrule.model.due import parse_due
from ferrule.model.money import parse_price
from ferrule.model.percent import parse_percent
from ferrule.model.product import Product
from ferrule.model.records.about import Record

EXAMPLE = Path(__file__).parents[2] / "example-product"

FILES = {
    "product.toml": HEAD
    + """
[calendar.south]
closures = [{ name = "winter", from = 2027-02-01, to = 2027-02-19 }]
""",
    "parts.toml": """
[part."A.1"]
name = "Board"

[part.BOLT]
name = "Bolt"
safety_stock = 100

[[part.BOLT.source]]
maker = "oxfen"
seller = "norholt"
price = [{ from = 1, each = 0.20 }, { from = 500, each = 0.10 }]

[[part.BOLT.source]]
maker = "belcast"
seller = "norholt"
""",
    "top.toml": """
[assembly]
id = "TOP"
steps = [{ name = "final assembly", cost = 3.10 }, { name = "test", cost = 0.40 }]
sale = { web = { list_price = "189 EUR" } }

[[line]]
item = 10
part = "A.1"
qty = 1

[[line]]
item = 20
part = "BOLT"
qty = 4

[[line]]
item = 30
part = "A.1"
qty = 1
effective = { to_serial = 100 }

[[line]]
item = 30
part = "BOLT"
qty = 1
effective = { from_serial = 101 }
""",
    "firms.toml": """
[firm.harbour]
name = "Harbour"
currency = "USD"
payment = [{ share = "30 %", due = "order" }, { share = "rest", due = "shipment" }]

[firm.norholt]
name = "Norholt"

[channel.web]
name = "Web shop"
kind = "direct"

[lane.sea]
name = "By sea"
mode = "sea"

[[duty]]
destination = "EU"
code = "8519 81"
rate = "2 %"
basis = "freight-inclusive"

[[duty]]
destination = "EU"
code = "8519 81"
origin = "VN"
rate = "0 %"
basis = "freight-inclusive"

[[duty]]
destination = "US"
code = "8519.81"
rate = "3 %"
basis = "freight-exclusive"

[[rate]]
rate = "1 EUR = 1.08 USD"

[[rate]]
rate = "1 EUR = 0.85 GBP"
date = 2026-11-20

[[rate]]
rate = "1 EUR = 0.86 GBP"
date = 2026-11-21
""",
    "stock.toml": """
[[stock]]
part = "BOLT"
place = "harbour"
qty = 40
counted = 2026-11-16
""",
    "plan.toml": """
[plan]
id = "first"
start = 2026-11-30
end = "week 50"

[[build]]
name = "spring"
sku = "TOP"
qty = 1200

[[build]]
name = "2027"
sku = "TOP"
qty = 300

[[overhead]]
name = "help at the packing table, week 1.5"
amount = "280 EUR"
every = "week"

[[sales]]
sku = "TOP"
channel = "web"
build = "spring"

[[sales]]
sku = "TOP"
channel = "web"
""",
}


def setting(key: str, value: Any, name: str = "s") -> Setting:
    return Setting(key=key, value=value, place=Place(file="plan.toml", path=("scenario", name, "set", key)))


def small(more: str = "", **files: str) -> Loaded:
    """Return the small product, with more text at the end of its plan and some files replaced."""
    texts = FILES | {path.replace("_toml", ".toml"): text for path, text in files.items()}
    return load(texts | {"plan.toml": texts["plan.toml"] + more})


def varied(loaded: Loaded, *written: tuple[str, Any], plan: str = "first") -> Product:
    """Return the product under settings that must be in order."""
    made = apply_settings(loaded, plan, [setting(key, value) for key, value in written])
    assert made.findings == ()
    assert made.loaded is not None
    return made.loaded.product


def words(loaded: Loaded, *written: tuple[str, Any], plan: str = "first") -> list[str]:
    made = apply_settings(loaded, plan, [setting(key, value) for key, value in written])
    assert made.findings == ()
    return [change.words for change in made.changes]


def parts_of(node: Any) -> Mapping[Any, Any] | None:
    """Return what a node is made of, or None for a value."""
    if isinstance(node, Struct):
        return {name: getattr(node, name) for name in node.__struct_fields__}
    if isinstance(node, Mapping):
        return node
    return dict(enumerate(node)) if isinstance(node, tuple) else None


def differences(before: Any, after: Any) -> dict[str, tuple[str, str]]:
    """Return every place at which two products differ, with both values as text; by path with points."""
    return dict(_differences(before, after, ""))


def _differences(before: Any, after: Any, path: str) -> Iterator[tuple[str, tuple[str, str]]]:
    if before == after:
        return
    ours, theirs = parts_of(before), parts_of(after)
    if ours is None or theirs is None or ours.keys() != theirs.keys() or type(before) is not type(after):
        yield path, (str(before), str(after))
        return
    for key in ours:
        yield from _differences(ours[key], theirs[key], f"{path}.{key}" if path else str(key))


@cache
def example_files() -> tuple[tuple[str, bytes], ...]:
    found = [path for path in sorted(EXAMPLE.rglob("*.toml")) if ".revisions" not in path.parts]
    return tuple((path.relative_to(EXAMPLE).as_posix(), path.read_bytes()) for path in found)


@cache
def example() -> Loaded:
    loaded = load_product(example_files())
    assert loaded.findings == ()
    return loaded


# --- the settings of the example ----------------------------------------------------------------------

#: Scenario or lever of the first season → every place that differs, as the files and their settings read.
CHANGES: dict[str, dict[str, tuple[str, str] | None]] = {
    "air-first": {
        "plans.first-season.build.0.lane": ("halden-sea", "halden-air"),
        "plans.first-season.build.1.lane": ("halden-sea", "halden-air"),
    },
    "tariff-up": {"duties.0.rate": ("2 %", "12 %")},
    "dollar-up": {"rates.0.rate": ("1 EUR = 1.08 USD", "1 EUR = 1.02 USD")},
    "season-slips": {
        "plans.first-season.build.0.receive_by": ("2027-05-28", "2027-06-25"),
        "plans.first-season.build.1.receive_by": ("2027-05-28", "2027-06-25"),
    },
    "small-first-build": {
        "plans.first-season.build.0.qty": ("1200", "600"),
        "plans.first-season.build.1.qty": ("120", "60"),
    },
    "retailer-late": {"channels.larkfield.payment.0.due": ("receipt + 60 days", "receipt + 88 days")},
    "deposit-lower": {"firms.harbour.payment.0.share": ("30 %", "10 %")},
    "late-and-dear": {
        "channels.larkfield.payment.0.due": ("receipt + 60 days", "receipt + 88 days"),
        "rates.0.rate": ("1 EUR = 1.08 USD", "1 EUR = 1.02 USD"),
    },
    "balance-30": {"firms.harbour.payment.1.due": ("shipment", "shipment + 30 days")},
    "balance-90": {
        "firms.harbour.payment.1.due": ("shipment", "shipment + 90 days"),
        "firms.harbour.factory.markup.1.rate": ("9 %", "10 %"),
    },
    "small-deposit": {"firms.harbour.payment.0.share": ("30 %", "10 %")},
    "retailer-30": {
        "channels.larkfield.payment.0.due": ("receipt + 60 days", "receipt + 30 days"),
        "channels.larkfield.margin": ("45 %", "47 %"),
    },
    "mould-by-unit": {"tools.T-001.schedule": None},
    "processor-terms": {
        "parts.U-MCU.source.0.payment": None,
        "parts.U-MCU.source.0.price.0.each": ("5.6", "5.75"),
    },
    "print-60": {"firms.mossgrove.payment.0.due": ("receipt + 30 days", "receipt + 60 days")},
    "certification-later": {"tools.C-001.schedule": None},
    "web-weekly": {
        "channels.web.settlement.lag": ("7 days", "3 days"),
        "channels.web.fee.0.percent": ("1.9 %", "2.2 %"),
    },
}  # None: a list of another length; what stands in it is told below


def of_plan(loaded: Loaded, plan: str, name: str) -> tuple[Setting, ...]:
    scenario = name in loaded.product.plans[plan].scenario
    return (scenario_settings if scenario else lever_settings)(loaded, plan, name)


def test_the_table_names_every_scenario_and_lever_of_the_first_season() -> None:
    plan = example().product.plans["first-season"]
    assert set(CHANGES) == {*plan.scenario, *plan.lever}


@pytest.mark.parametrize("name", CHANGES)
def test_example_setting_changes_exactly_that_fact(name: str) -> None:
    made = apply_settings(example(), "first-season", of_plan(example(), "first-season", name))
    assert made.findings == ()
    assert made.loaded is not None
    found = differences(example().product, made.loaded.product)
    assert set(found) == set(CHANGES[name])
    assert {path: pair for path, pair in CHANGES[name].items() if pair not in (None, found[path])} == {}
    assert len(made.changes) == len(found)


def test_example_lists_that_are_set_whole() -> None:
    def product(name: str) -> Product:
        made = apply_settings(example(), "first-season", lever_settings(example(), "first-season", name))
        assert made.loaded is not None
        return made.loaded.product

    def terms(payments: Any) -> list[tuple[str, str]]:
        return [(str(each.share), str(each.due)) for each in payments]

    assert terms(product("mould-by-unit").tools["T-001"].schedule) == [
        ("40 %", "order"),
        ("30 %", "first shots"),
        ("2.40 USD per unit", "shipment"),
        ("rest", "approval + 52 weeks"),
    ]
    assert terms(product("certification-later").tools["C-001"].schedule) == [("100 %", "approval + 14 days")]
    assert terms(product("processor-terms").parts["U-MCU"].source[0].payment) == [
        ("100 %", "shipment + 30 days")
    ]


def test_example_second_season() -> None:
    made = apply_settings(example(), "second-season", scenario_settings(example(), "second-season", "half"))
    assert made.loaded is not None
    assert differences(example().product, made.loaded.product) == {
        "plans.second-season.build.0.qty": ("2400", "1200")
    }


def test_example_words() -> None:
    def told(name: str) -> list[str]:
        settings = of_plan(example(), "first-season", name)
        return [change.words for change in apply_settings(example(), "first-season", settings).changes]

    assert told("balance-30") == ["firm harbour, payment 2, due: shipment -> shipment + 30 days"]
    assert told("small-first-build") == [
        "build spring, qty: 1200 -> 600",
        "build spring-sets, qty: 120 -> 60",
    ]
    assert told("dollar-up") == ["rate EUR USD: 1 EUR = 1.08 USD -> 1 EUR = 1.02 USD"]
    assert told("tariff-up") == ["duty EU, rate: 2 % -> 12 %"]
    terms = "rest shipment + 30 days, discount 1 %, discount within 10 days"
    assert told("processor-terms") == [
        f"part U-MCU, source 1, payment: 30 % order; {terms} -> 100 % shipment + 30 days",
        "part U-MCU, source 1, price 1, each: 5.6 -> 5.75",
    ]


# --- the grammar --------------------------------------------------------------------------------------

#: Key path, value → the one place that differs.
PATHS = [
    ('part."A.1".safety_stock', 5, "parts.A.1.safety_stock"),
    ("part.BOLT.source.1.seller", "harbour", "parts.BOLT.source.1.seller"),
    ("part.BOLT.source.oxfen.seller", "harbour", "parts.BOLT.source.0.seller"),
    ("part.BOLT.source.oxfen+norholt.seller", "harbour", "parts.BOLT.source.0.seller"),
    ("part.BOLT.source.0.price.1.each", 9, "parts.BOLT.source.0.price.1.each"),
    ('part.BOLT.source.0.price."500".each', 9, "parts.BOLT.source.0.price.1.each"),
    ("assembly.TOP.lead_time", "2 weeks", "assemblies.TOP.lead_time"),
    ("assembly.TOP.line.20.qty", 5, "lines.TOP.1.qty"),
    ('assembly.TOP.line."20".qty', 5, "lines.TOP.1.qty"),
    ("assembly.TOP.line.30+BOLT.qty", 5, "lines.TOP.3.qty"),
    ('assembly.TOP.line."30+A.1".qty', 5, "lines.TOP.2.qty"),
    ("assembly.TOP.steps.1.cost", 5, "assemblies.TOP.steps.1.cost"),
    ("assembly.TOP.steps.final assembly.cost", 5, "assemblies.TOP.steps.0.cost"),
    ('assembly.TOP.steps."final assembly".cost', 5, "assemblies.TOP.steps.0.cost"),
    ("assembly.TOP.sale.web.list_price", "199 EUR", "assemblies.TOP.sale.web.list_price"),
    ("firm.harbour.payment.shipment.due", "arrival", "firms.harbour.payment.1.due"),
    ("lane.sea.per_m3", 120, "lanes.sea.per_m3"),
    ("duty.US.rate", "9 %", "duties.2.rate"),
    ('duty.US."8519.81".rate', "9 %", "duties.2.rate"),
    ("duty.EU.VN.rate", "9 %", "duties.1.rate"),
    ("duty.EU.8519 81.VN.rate", "9 %", "duties.1.rate"),
    ("duty.EU.8519 81.any.rate", "9 %", "duties.0.rate"),
    ("rate.EUR.USD", "1 EUR = 2 USD", "rates.0.rate"),
    ("rate.USD.EUR", "1 EUR = 2 USD", "rates.0.rate"),
    ("rate.EUR.USD.rate", "1 USD = 2 EUR", "rates.0.rate"),
    ("rate.USD.EUR.pegged", True, "rates.0.pegged"),
    ("rate.GBP.EUR.2026-11-21", "1 EUR = 2 GBP", "rates.2.rate"),
    ("plan.opening", "5 EUR", "plans.first.plan.opening"),
    ("build.spring.qty", 5, "plans.first.build.0.qty"),
    ('build."2027".qty', 5, "plans.first.build.1.qty"),
    ("build.1.qty", 5, "plans.first.build.1.qty"),
    ('overhead."help at the packing table, week 1.5".amount', "5 EUR", "plans.first.overhead.0.amount"),
    ("sales.TOP+web+spring.qty", 5, "plans.first.sales.0.qty"),
    ("sales.TOP+web.qty", 5, "plans.first.sales.1.qty"),
    ("stock.BOLT+harbour.qty", 5, "stock.0.qty"),
    ("product.stage", "pvt", "head.stage"),
    ("policy.quote_max_age", "5 days", "policy.quote_max_age"),
    ("conventions.attrition", "of-input", "conventions.attrition"),
    ("calendar.south.closures.winter.capacity", "40 %", "calendars.south.closures.0.capacity"),
]


@pytest.mark.parametrize(("key", "value", "place"), PATHS)
def test_key_path_leads_to_one_fact(key: str, value: Any, place: str) -> None:
    loaded = small()
    assert loaded.findings == ()
    assert list(differences(loaded.product, varied(loaded, (key, value)))) == [place]


def test_what_is_not_written_yet_can_be_set() -> None:
    loaded = small()
    product = varied(
        loaded,
        ("firm.norholt.payment", [{"share": "100 %", "due": "invoice + 30 days"}]),
        ("channel.web.settlement.lag", "3 days"),
        ("policy.capital_rate", "12 %"),
    )
    assert product.firms["norholt"].payment[0].due == parse_due("invoice + 30 days")
    settlement = product.channels["web"].settlement
    assert settlement is not None
    assert (str(settlement.lag), settlement.reserve) == ("3 days", None)
    assert product.policy.capital_rate == parse_percent("12 %")
    assert product.policy.quote_max_age == loaded.product.policy.quote_max_age  # a default as in a file
    assert words(loaded, ("channel.web.settlement.lag", "3 days")) == [
        "channel web, settlement, lag: not stated -> 3 days"
    ]


def test_words_count_entries_from_one_and_lines_by_item() -> None:
    assert words(
        small(),
        ("assembly.TOP.line.20.qty", 5),
        ("assembly.TOP.steps.test.cost", 1),
        ("part.BOLT.source.0.price.1.each", 1),
        ('build."2027".qty', 1),
        ("rate.GBP.EUR.2026-11-21.pegged", True),
    ) == [
        "assembly TOP, line 20, qty: 4 -> 5",
        "assembly TOP, steps test, cost: 0.40 -> 1",
        "part BOLT, source 1, price 2, each: 0.10 -> 1",
        "build 2027, qty: 300 -> 1",
        "rate GBP EUR 2026-11-21, pegged: not stated -> true",
    ]


def test_nothing_that_was_loaded_changes() -> None:
    loaded = small()
    trees = copy.deepcopy({file: document.tree for file, document in loaded.documents.items()})
    made = apply_settings(loaded, "first", [setting("firm.harbour.payment.1.due", "arrival")])
    assert {file: document.tree for file, document in loaded.documents.items()} == trees
    assert made.loaded is not None
    again = [file for file, reading in made.loaded.readings.items() if reading is not loaded.readings[file]]
    assert again == ["firms.toml"]  # no other file is read again


@pytest.mark.parametrize(
    ("key", "value", "table"),
    [
        ("firm.harbour.payment.0.share", "10 %", "firms"),
        ("part.U-MCU.source.0.price.0.each", 5, "parts"),
        ("duty.EU.rate", "12 %", "duties"),
        ("tool.T-001.schedule", [], "tools"),
        ("build.spring.qty", 600, "plans"),
        ("channel.web.settlement.lag", "3 days", "channels"),
        ("assembly.W20-SINGLE.factory", "saltreed", "assemblies"),
    ],
)
def test_what_a_setting_does_not_touch_stays_the_very_same_object(key: str, value: Any, table: str) -> None:
    before, after = example().product, varied(example(), (key, value), plan="first-season")
    assert differences(getattr(before, table), getattr(after, table))
    others = [name for name in Product.__struct_fields__ if name not in {table, "homes"}]
    assert [name for name in others if getattr(before, name) is not getattr(after, name)] == []
    rows = [(one, getattr(after, table)[place]) for place, one in _entries(getattr(before, table))]
    assert [one is other for one, other in rows].count(False) == 1


def _entries(table: Any) -> Any:
    return table.items() if isinstance(table, Mapping) else enumerate(table)


def test_fields_beside_the_one_that_is_set_stay_the_very_same_objects() -> None:
    before, after = (
        example().product,
        varied(example(), ("firm.harbour.payment.0.share", "10 %"), plan="first-season"),
    )
    one, other = before.firms["harbour"], after.firms["harbour"]
    assert one.factory is other.factory
    assert one.payment[1] is other.payment[1]
    assert [str(each.share) for each in other.payment] == ["10 %", "rest"]


def test_no_settings_no_change() -> None:
    loaded = small()
    made = apply_settings(loaded, "first", [])
    assert made.loaded is not None
    assert (made.loaded.product, made.changes) == (loaded.product, ())


def test_digests_stay() -> None:
    loaded = small()
    hashed = msgspec.structs.replace(loaded.product, digests={"docs/a.pdf": "ab"})
    loaded = msgspec.structs.replace(loaded, product=hashed)
    assert varied(loaded, ("build.spring.qty", 5)).digests == {"docs/a.pdf": "ab"}


def test_indexes_are_those_of_the_file_where_an_entry_could_not_be_read() -> None:
    payment = '{ share = "30 %", due = "order" }'
    loaded = small(firms_toml=FILES["firms.toml"].replace(payment, '{ share = "30 %", due = 1 }'))
    assert [finding.rule for finding in loaded.findings] == ["malformed-value"]
    product = varied(loaded, ("firm.harbour.payment.1.due", "arrival"))
    assert [str(each.due) for each in product.firms["harbour"].payment][-1] == "arrival"
    duty = FILES["firms.toml"].replace('destination = "EU"\ncode', "code", 1)
    loaded = small(firms_toml=duty)
    assert [str(each.rate) for each in loaded.product.duties] == ["0 %", "3 %"]
    product = varied(loaded, ("duty.US.rate", "9 %"))
    assert [str(each.rate) for each in product.duties] == ["0 %", "9 %"]


@pytest.mark.parametrize(
    "junk",
    ["line = [10, 20]", "line = 5", "line = [{ part = 1 }, 20, { item = 20 }]", "[[line]]\nitem = [20]"],
)
def test_lines_that_could_not_be_read_break_nothing(junk: str) -> None:
    text = FILES["top.toml"]
    head = text[: text.index("[[line]]")]
    loaded = small(top_toml=f"{junk}\n{head}" if "[[" not in junk else f"{head}{junk}\n")
    assert loaded.findings
    for key in ("assembly.TOP.line.20.qty", "assembly.TOP.line.None.qty", "assembly.TOP.steps.0.cost"):
        made = apply_settings(loaded, "first", [setting(key, 5)])
        assert (made.loaded is None) == bool(made.findings)


def test_old_faults_of_a_record_are_not_those_of_a_setting() -> None:
    loaded = small(firms_toml=FILES["firms.toml"].replace('currency = "USD"', "curency = 1"))
    assert [finding.rule for finding in loaded.findings] == ["unknown-key"]
    assert str(varied(loaded, ("firm.harbour.payment.1.due", "arrival")).firms["harbour"].payment[1].due) == (
        "arrival"
    )


# --- wrong settings -----------------------------------------------------------------------------------

KNOWN_FIELDS = (
    "known here: name, roles, country, calendar, currency, payment, credit_limit, minimum_order, "
    "small_order_fee, late_interest, bank_costs, rate_band, factory, agreement, disclosure and 2 more"
)
DUE_FORMS = (
    'write "order" or "shipment + 30 days" or "end of month + 30 days" or '
    '"invoice + end of month + 10 days" or "factory balance"'
)
UNUSABLE = "setting-unusable"
#: Key path, value as TOML, rule, message, hint, and where within the value.
WRONG: list[tuple[str, str, str, str, str, KeyPath]] = [
    # names
    ("firn.harbour.currency", '"EUR"', UNUSABLE, '"firn" is no kind of record to set', 'did you mean "firm"?', ()),
    ("firm.harbor.currency", '"EUR"', UNUSABLE, 'no firm is called "harbor"', 'did you mean "harbour"?', ()),
    ("firm.Harbour.currency", '"EUR"', UNUSABLE, 'no firm is called "Harbour"', 'did you mean "harbour"?', ()),
    ("lane.zzz.per_m3", "1", UNUSABLE, 'no lane is called "zzz"', "known here: sea", ()),
    ("tool.T-001.amount", "1", UNUSABLE, 'no tool is called "T-001"', "", ()),
    (
        "part.A.1.safety_stock", "5", UNUSABLE, 'no part is called "A"',
        'write part."A.1": a name with a point stands in quotes', (),
    ),
    ("part.TOP.lead_time", "5", UNUSABLE, 'no part is called "TOP"', "write assembly.TOP", ()),
    ("build.sprin.qty", "5", UNUSABLE, 'no build is called "sprin"', 'did you mean "spring"?', ()),
    ("loan.overdraft.limit", "5", UNUSABLE, "loan has no entries", "", ()),
    (
        "assembly.TOP.steps.tset.cost", "5", UNUSABLE,
        'no entry of assembly TOP, steps is called "tset"', 'did you mean "test"?', (),
    ),
    (
        "assembly.TOP.line.40.qty", "5", UNUSABLE,
        'no entry of assembly TOP, line is called "40"', "known here: 10, 20, 30", (),
    ),
    (
        "assembly.TOP.sale.shop.list_price", "5", UNUSABLE,
        'no entry of assembly TOP, sale is called "shop"', "known here: web", (),
    ),
    ("duty.GB.rate", '"5 %"', UNUSABLE, 'no duty is for "GB"', "known here: EU, US", ()),
    (
        "duty.US.8519 81.rate", '"5 %"', UNUSABLE,
        'no duty US has code or origin "8519 81"', "known here: 8519.81, any", (),
    ),
    (
        "rate.EUR.JPY", '"1 EUR = 150 JPY"', UNUSABLE,
        'no exchange rate is between "EUR" and "JPY"', "known here: EUR.GBP, EUR.USD", (),
    ),
    ("rate.EUR", '"1 EUR = 2 USD"', UNUSABLE, "an exchange rate goes by two currencies", "known here: EUR.GBP, EUR.USD", ()),
    # more than one
    (
        "duty.EU.rate", '"5 %"', UNUSABLE, "2 records are called duty EU",
        "write one of: duty.EU.8519 81.any, duty.EU.8519 81.VN", (),
    ),
    (
        "rate.EUR.GBP", '"1 EUR = 1 GBP"', UNUSABLE, "2 records are called rate EUR GBP",
        "write one of: rate.EUR.GBP.2026-11-20, rate.EUR.GBP.2026-11-21", (),
    ),
    (
        "part.BOLT.source.norholt.moq", "5", UNUSABLE, '2 entries of part BOLT, source are called "norholt"',
        "write one of: part.BOLT.source.0, part.BOLT.source.1", (),
    ),
    (
        "assembly.TOP.line.30.qty", "5", UNUSABLE, '2 entries of assembly TOP, line are called "30"',
        'write one of: assembly.TOP.line."30+A.1", assembly.TOP.line.30+BOLT', (),
    ),
    (
        "assembly.TOP.line.BOLT.qty", "5", UNUSABLE, '2 entries of assembly TOP, line are called "BOLT"',
        "write one of: assembly.TOP.line.20+BOLT, assembly.TOP.line.30+BOLT", (),
    ),
    # indexes
    (
        "firm.harbour.payment.2.due", '"order"', UNUSABLE,
        "firm harbour, payment has no entry 2, counted from 0", "0 is order, 1 is shipment", (),
    ),
    (
        "part.BOLT.source.0.price.500.each", "5", UNUSABLE,
        "part BOLT, source 1, price has no entry 500, counted from 0",
        'did you mean part.BOLT.source.0.price."500"?', (),
    ),
    ("build.2027.qty", "5", UNUSABLE, "build has no entry 2027, counted from 0", 'did you mean build."2027"?', ()),
    (
        "firm.norholt.payment.0.due", '"order"', UNUSABLE,
        "firm norholt, payment has no entries", "set it as a whole: firm.norholt.payment", (),
    ),
    # the path itself
    (
        "firm.harbour", '{ currency = "EUR" }', UNUSABLE,
        "the path ends at firm harbour; a setting changes a field of it",
        f"go on with a field; {KNOWN_FIELDS}", (),
    ),
    ("build", "5", UNUSABLE, "the path ends at `build` and names none of them", "write build.NAME.FIELD", ()),
    (
        "firm.harbour.currency.code", '"EUR"', UNUSABLE,
        'firm harbour, currency is one value, and the path goes on with "code"', "write firm.harbour.currency", (),
    ),
    *[
        (
            key, "5", UNUSABLE, f'"{shown}" is not a key path',
            'write KIND.NAME.FIELD, such as firm.harbour.payment.1.due; a name with a point in quotes: "A.1"', (),
        )
        for key, shown in (
            ("", ""), (".", "."), ("firm..currency", "firm..currency"), ("firm.harbour.", "firm.harbour."),
            ('part."A.1.moq', 'part."A.1.moq'), ('part."A.1"x.moq', 'part."A.1"x.moq'),
        )
    ],
    # names that stay
    (
        "build.spring.name", '"autumn"', UNUSABLE,
        "a setting cannot change `name`, by which a record is known", 'leave it as it is: "spring"', (),
    ),
    (
        "assembly.TOP.id", '"T2"', UNUSABLE,
        "a setting cannot change `id`, by which a record is known", 'leave it as it is: "TOP"', (),
    ),
    (
        "assembly.TOP.line.10", '{ item = 11, part = "BOLT" }', UNUSABLE,
        "a setting cannot change `item`, by which a record is known", "leave it as it is: 10", (),
    ),
    (
        "duty.US.destination", '"GB"', UNUSABLE,
        "a setting cannot change `destination`, by which a record is known", 'leave it as it is: "US"', (),
    ),
    (
        "rate.EUR.USD", '"1 EUR = 150 JPY"', UNUSABLE,
        '"1 EUR = 150 JPY" is no exchange rate between EUR and USD', 'write one such as "1 EUR = 1.08 USD"', (),
    ),
    # fields and values, in the words of the reader
    (
        "firm.harbour.curency", '"EUR"', "unknown-key",
        "`curency` is no key of this firm table", "did you mean `currency`?", (),
    ),
    (
        "firm.harbour.paymet.0.due", '"order"', "unknown-key",
        "`paymet` is no key of this firm table", "did you mean `payment`?", (),
    ),
    (
        "firm.harbour.payment.1.due", '"Net 30"', "malformed-value",
        '`due`: "Net 30" is not an event with a lag',
        DUE_FORMS, (),
    ),
    ("build.spring.qty", '"600"', "malformed-value", '`qty`: "600" is text, not a number', "write 600", ()),
    (
        "assembly.TOP.line.10.fitted", '"no"', "wrong-type",
        '`fitted` must be true or false, not the text "no"', "write fitted = false", (),
    ),
    (
        "conventions.attrition", '"add"', "not-a-choice",
        '`attrition` cannot be the text "add"', 'did you mean "add-on"?', (),
    ),
    (
        "firm.norholt.payment", '[{ share = "100 %", due = "order" }, { share = "half", due = "order" }]',
        "malformed-value", "", "", (1, "share"),
    ),
    (
        "lane.sea.insurance.of", '"110 %"', "missing-key",
        "`rate` is missing in this insurance table", 'add it, such as rate = "0.4 %"', (),
    ),
]  # fmt: skip


@pytest.mark.parametrize(("key", "value", "rule", "message", "hint", "inside"), WRONG)
def test_wrong_setting(  # noqa: PLR0913, PLR0917
    key: str, value: str, rule: str, message: str, hint: str, inside: KeyPath
) -> None:
    text = f"\n[scenario.s]\nset = {{ {toml_value(key)} = {value} }}\n"
    loaded = small(text)
    assert [(f.rule, f.place.file, f.place.path) for f in loaded.findings] == [
        (rule, "plan.toml", ("scenario", "s", "set", key, *inside))
    ]
    (finding,) = loaded.findings
    if message:
        assert (finding.message, finding.hint) == (message, hint)
    settings = scenario_settings(loaded, "first", "s")
    made = apply_settings(loaded, "first", settings)
    assert made.loaded is None
    assert made.findings == loaded.findings


def test_share_within_a_list_has_the_words_of_the_reader() -> None:
    written = 'payment = [{ share = "half", due = "order" }]\n'
    in_file = small(
        firms_toml=FILES["firms.toml"].replace('name = "Norholt"\n', f'name = "Norholt"\n{written}')
    )
    in_plan = small(
        f"\n[scenario.s]\nset = {{ 'firm.norholt.{written.replace(' = ', chr(39) + ' = ', 1).strip()} }}\n"
    )
    ((one,), (other,)) = (in_file.findings, in_plan.findings)
    assert (one.rule, one.message, one.hint) == (other.rule, other.message, other.hint)
    assert other.place.path == ("scenario", "s", "set", "firm.norholt.payment", 0, "share")


def test_all_faults_come_at_once_and_each_once() -> None:
    loaded = small(
        """
[scenario.a]
set = { "build.sprng.qty" = 1, "build.spring.qty" = "x", "plan.opening" = "5 EUR" }

[scenario.b]
base = "a"
set = { "plan.flor" = 1 }

[lever.c]
set = { "firm.x.payment" = [] }
price = { "firm.harbour.currency" = 1 }
"""
    )
    places = [finding.place.path[:2] + finding.place.path[3:] for finding in loaded.findings]
    assert sorted(places) == [
        ("lever", "c", "firm.harbour.currency"),
        ("lever", "c", "firm.x.payment"),
        ("scenario", "a", "build.spring.qty"),
        ("scenario", "a", "build.sprng.qty"),
        ("scenario", "b", "plan.flor"),
    ]


def test_place_is_the_setting_in_the_text() -> None:
    text = (
        "\n[scenario.s]\nset = { 'firm.norholt.payment' = [{ share = 'half', due = 'order' }], 'x.y' = 1 }\n"
    )
    loaded = small(text)
    whole = FILES["plan.toml"] + text
    spots = [spot_of(finding.place, whole, Positions(whole)) for finding in loaded.findings]
    lines = whole.split("\n")
    marked = [lines[spot.line - 1][spot.column - 1 : spot.end_column - 1] for spot in spots]
    assert sorted(marked) == ["'half'", "'x.y'"]
    assert subject_of(loaded.documents["plan.toml"].tree, loaded.findings[0].place.path) == (
        "plan/first/scenario/s/set/x.y"
    )


def test_path_without_quotes_is_a_table_to_toml() -> None:
    loaded = small("\n[scenario.s]\nset = { build.spring.qty = 600 }\n")
    (finding,) = loaded.findings
    assert finding.message == '"build" is only the start of a key path; the whole path stands in quotes'
    assert finding.hint == 'write "build.spring.qty" = ...'
    assert finding.place.path == ("scenario", "s", "set", "build")


def test_record_that_could_not_be_read() -> None:
    loaded = small(
        "\n[scenario.s]\nset = { 'lane.sea.per_m3' = 1 }\n",
        firms_toml=FILES["firms.toml"].replace('mode = "sea"\n', ""),
    )
    assert [(finding.rule, finding.message) for finding in loaded.findings][-1] == (
        "setting-unusable",
        'lane "sea" could not be read',
    )


def test_every_rule_named_has_a_page() -> None:
    assert {rule for _, _, rule, _, _, _ in WRONG} <= set(all_rules())


@pytest.mark.parametrize("depth", [20, 300])
def test_deep_value_is_a_finding(depth: int) -> None:
    loaded = small(f"\n[scenario.s]\nset = {{ 'firm.norholt.payment' = {'[' * depth}{']' * depth} }}\n")
    assert loaded.findings


# --- scenarios, levers, several settings --------------------------------------------------------------

PLAN = """
[scenario.a]
set = { "build.spring.qty" = 1, "plan.opening" = "1 EUR" }

[scenario.b]
base = "a"
set = { "plan.opening" = "2 EUR", "plan.floor" = "2 EUR" }

[scenario.c]
base = "b"
set = { "build.spring.qty" = 3 }

[scenario.ring]
base = "gnir"
set = { "build.spring.qty" = 4 }

[scenario.gnir]
base = "ring"
set = { "build.spring.qty" = 5 }

[scenario.plain]
base = "as-agreed"
set = { "build.spring.qty" = 6 }

[lever.deposit]
set = { "firm.harbour.payment.0.share" = "10 %" }

[lever.later]
set = { "firm.harbour.payment.1.due" = "arrival" }
price = { "firm.harbour.payment.order.share" = "40 %", "rate.USD.EUR" = "1 EUR = 1 USD" }

[lever.all-new]
set = { "firm.harbour.payment" = [{ share = "100 %", due = "arrival" }], "rate.EUR.USD.pegged" = true }
"""


def test_scenario_takes_its_base_first_and_its_own_settings_after() -> None:
    loaded = small(PLAN)
    assert [(each.key, each.value) for each in scenario_settings(loaded, "first", "c")] == [
        ("build.spring.qty", 1),
        ("plan.opening", "1 EUR"),
        ("plan.opening", "2 EUR"),
        ("plan.floor", "2 EUR"),
        ("build.spring.qty", 3),
    ]
    made = apply_settings(loaded, "first", scenario_settings(loaded, "first", "c"))
    assert made.loaded is not None
    assert differences(loaded.product, made.loaded.product) == {
        "plans.first.plan.opening": ("None", "2 EUR"),
        "plans.first.plan.floor": ("None", "2 EUR"),
        "plans.first.build.0.qty": ("1200", "3"),
    }
    assert [change.words for change in made.changes] == [  # what was set over is not told
        "plan, opening: not stated -> 2 EUR",
        "plan, floor: not stated -> 2 EUR",
        "build spring, qty: 1200 -> 3",
    ]


def test_chain_of_scenarios_ends() -> None:
    loaded = small(PLAN)
    assert [each.value for each in scenario_settings(loaded, "first", "ring")] == [5, 4]
    assert [each.value for each in scenario_settings(loaded, "first", "plain")] == [6]
    assert scenario_settings(loaded, "first", "as-agreed") == ()
    with pytest.raises(KeyError):
        scenario_settings(loaded, "first", "none")


def test_lever_sets_and_then_pays_its_price() -> None:
    loaded = small(PLAN)
    found = lever_settings(loaded, "first", "later")
    assert [each.key for each in found] == [
        "firm.harbour.payment.1.due",
        "firm.harbour.payment.order.share",
        "rate.USD.EUR",
    ]
    assert [each.place.path[2] for each in found] == ["set", "price", "price"]


def test_conflicts_are_found_under_other_spellings_and_in_parts() -> None:
    loaded = small(PLAN)
    names = ("deposit", "later", "all-new")
    found = conflicts(loaded, "first", {name: lever_settings(loaded, "first", name) for name in names})
    assert [(each.names, [s.key for s in each.settings], each.subject) for each in found] == [
        (
            ("deposit", "later"),
            ["firm.harbour.payment.0.share", "firm.harbour.payment.order.share"],
            "firm harbour, payment 1, share",
        ),
        (
            ("deposit", "all-new"),
            ["firm.harbour.payment.0.share", "firm.harbour.payment"],
            "firm harbour, payment",
        ),
        (
            ("later", "all-new"),
            ["firm.harbour.payment.1.due", "firm.harbour.payment"],
            "firm harbour, payment",
        ),
        (
            ("later", "all-new"),
            ["firm.harbour.payment.order.share", "firm.harbour.payment"],
            "firm harbour, payment",
        ),
    ]


def test_example_levers_conflict_only_over_the_balance() -> None:
    levers = example().product.plans["first-season"].lever
    groups = {name: lever_settings(example(), "first-season", name) for name in levers}
    (only,) = conflicts(example(), "first-season", groups)
    assert isinstance(only, Conflict)
    assert (only.names, only.subject) == (("balance-30", "balance-90"), "firm harbour, payment 2, due")
    assert [each.value for each in only.settings] == ["shipment + 30 days", "shipment + 90 days"]


def test_later_settings_look_into_what_earlier_ones_set_whole() -> None:
    terms = [{"share": "50 %", "due": "arrival"}, {"share": "rest", "due": "order"}]
    product = varied(
        small(),
        ("firm.norholt.payment", terms),
        ("firm.norholt.payment.0.share", "20 %"),
        ("firm.harbour.payment", terms),
        ("firm.harbour.payment.order.due", "start"),
    )
    shares = [(str(each.share), str(each.due)) for each in product.firms["norholt"].payment]
    assert shares == [("20 %", "arrival"), ("rest", "order")]
    assert [str(each.due) for each in product.firms["harbour"].payment] == ["arrival", "start"]


def test_entry_keeps_its_name_in_the_file_while_settings_change_it() -> None:
    keys: list[tuple[str, Any]] = [
        ("firm.harbour.payment.order.due", "kick-off"),
        ("firm.harbour.payment.order.share", "10 %"),
        ("firm.harbour.payment.order.due", "start"),
    ]
    payment = varied(small(), *keys).firms["harbour"].payment[0]
    assert (str(payment.share), str(payment.due)) == ("10 %", "start")


def test_list_made_shorter_has_no_entry_for_a_later_setting() -> None:
    made = apply_settings(
        small(),
        "first",
        [
            setting("firm.harbour.payment", [{"share": "100 %", "due": "arrival"}]),
            setting("firm.harbour.payment.1.due", "order"),
        ],
    )
    assert [finding.message for finding in made.findings] == [
        "firm harbour, payment has no entry 1, counted from 0"
    ]


def test_settings_that_need_one_another_fit_together() -> None:
    product = varied(small(), ("lane.sea.insurance.of", "115 %"), ("lane.sea.insurance.rate", "0.5 %"))
    insurance = product.lanes["sea"].insurance
    assert insurance is not None
    assert (str(insurance.of), str(insurance.rate)) == ("115 %", "0.5 %")


def test_price_by_name_of_its_quantity() -> None:
    product = varied(small(), ('part.BOLT.source.oxfen.price."1".each', "0.30 EUR"))
    assert product.parts["BOLT"].source[0].price[0].each == parse_price("0.30 EUR")


# --- types --------------------------------------------------------------------------------------------


def _records(base: type[Record]) -> Iterator[type[Record]]:
    for record in base.__subclasses__():
        yield record
        yield from _records(record)


def test_every_field_of_every_record_has_a_shape() -> None:
    records = sorted(_records(Record), key=lambda record: record.__name__)
    assert len(records) > 50
    seen = set()
    for record in records:
        for kind in field_types(record).values():
            shape, inner = shape_of(kind)
            seen.add(shape)
            assert shape == "record" or "records." not in repr(kind) or shape_of(inner)[0] != "names"
            assert shape != "value" or "records." not in repr(kind), (record, kind)
    assert seen == {"record", "list", "names", "value"}


# --- laws ---------------------------------------------------------------------------------------------

Fact = tuple[str, KeyPath, str]  # file, path, key path of the setting
_NEVER = {"waiver", "disclosure", "role", "rule", "scenario", "lever"}
_NAMES = {"id", "name", "item"}


def spelled(word: object) -> str:
    text = str(word)
    if isinstance(word, int):
        return text
    return f'"{text}"' if "." in text or text.isdigit() else text


def _key(tree: dict[str, Any], path: KeyPath, plan: str, before: Mapping[str, int]) -> str | None:
    """Return the key path of a place in a file, worked out from the file's own text, for a setting of a plan."""
    table, *rest = path
    if table in ("assembly", "plan"):
        names = [table, tree[table]["id"]] if table == "assembly" else [table]
        return (
            ".".join(map(spelled, [*names, *rest])) if table != "plan" or tree["plan"]["id"] == plan else None
        )
    if table == "line":
        line = tree["line"][rest[0]]
        shared = [each["item"] for each in tree["line"]].count(line["item"]) > 1
        name = f"{line['item']}+{line['part']}" if shared else line["item"]
        return ".".join(map(spelled, ["assembly", tree["assembly"]["id"], "line", name, *rest[1:]]))
    if "plan" in tree and tree["plan"]["id"] != plan:
        return None
    if table == "duty":
        entry = tree["duty"][rest[0]]
        rest = [entry["destination"], entry["code"], entry.get("origin", "any"), *rest[1:]]
    if table == "rate":
        written = tree["rate"][rest[0]]["rate"].split()
        rest = [written[1], written[4], *rest[1:]]
    if table in before:
        rest[0] = int(rest[0]) + before[str(table)]
    return ".".join(spelled(word) for word in [table, *rest])


def _places(node: Any, path: KeyPath = ()) -> Iterator[KeyPath]:
    if path:
        yield path
    inside = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, value in inside:
        yield from _places(value, (*path, key))


def standing(tree: Any, path: KeyPath) -> Any:
    for key in path:
        tree = tree[key]
    return tree


@cache
def facts() -> list[Fact]:
    """Return every fact of the example that a setting of the first season can name."""
    found: list[Fact] = []
    counted = {"stock": 0, "order": 0, "movement": 0, "made": 0}
    for file, document in example().documents.items():
        tree = document.tree
        for path in _places(tree):
            needed = 2 if path[0] in ("product", "policy", "conventions", "plan", "assembly") else 3
            if path[0] in _NEVER or len(path) < needed:
                continue
            key = _key(tree, path, "first-season", counted)
            if key is not None:
                found.append((file, path, key))
        for table in counted:
            counted[table] += len(tree.get(table, ()))
    return found


def drawn() -> st.SearchStrategy[Fact]:
    return st.deferred(lambda: st.sampled_from(facts()))


def _alike(path: KeyPath) -> KeyPath:
    """Return a place as one of its sort: fields by name, records and entries by none."""
    keyed = path[0] in ("part", "firm", "channel", "lane", "tool", "calendar")
    words = [("*" if isinstance(key, int) else key) for key in path]
    return (*words[:1], "*", *words[2:]) if keyed else tuple(words)


@cache
def others() -> dict[KeyPath, list[Any]]:
    """Return by sort of place every value that the example has there."""
    found: dict[KeyPath, list[Any]] = {}
    for file, path, _ in facts():
        value = standing(example().documents[file].tree, path)
        rows = found.setdefault(_alike(path), [])
        if value not in rows:
            rows.append(value)
    return found


def varying(fact: Fact) -> bool:
    """Return whether another value may stand at a place: it is no name, and no entry with one."""
    _, path, _ = fact
    names = _NAMES | ({"destination", "code", "origin"} if path[0] == "duty" else set())
    return path[-1] not in names and not isinstance(path[-1], int) and path[0] != "rate"


def applied(*written: tuple[Fact, Any]) -> Product:
    return varied(example(), *((key, value) for (_, _, key), value in written), plan="first-season")


def test_every_fact_of_the_example_has_a_key_path_that_leads_to_it() -> None:
    assert len(facts()) > 2000
    made = apply_settings(
        example(),
        "first-season",
        [setting(key, standing(example().documents[file].tree, path)) for file, path, key in facts()],
    )
    assert made.findings == ()
    assert {(change.target.file, change.target.path) for change in made.changes} == {
        (file, path) for file, path, _ in facts()
    }
    assert made.loaded is not None
    assert made.loaded.product == example().product


@given(drawn())
@settings(max_examples=100, suppress_health_check=list(HealthCheck))
def test_setting_the_present_value_changes_nothing(fact: Fact) -> None:
    file, path, _ = fact
    assert applied((fact, standing(example().documents[file].tree, path))) == example().product


@given(st.data())
@settings(max_examples=60, suppress_health_check=list(HealthCheck))
def test_editing_the_file_gives_the_same_product(data: st.DataObject) -> None:
    fact = data.draw(drawn().filter(varying))
    file, path, _ = fact
    value = data.draw(st.sampled_from(others()[_alike(path)]))
    texts = dict(example_files())
    text = texts[file].decode()
    spot = spot_of(Place(file=file, path=path), text, Positions(text))
    assume(spot.line == spot.end_line)  # a table written under headers of its own is no single piece of text
    rows = text.split("\n")
    row = rows[spot.line - 1]
    rows[spot.line - 1] = row[: spot.column - 1] + toml_value(value) + row[spot.end_column - 1 :]
    try:
        texts[file] = "\n".join(rows).encode()
        assume(standing(tomli.loads(texts[file].decode()), path) is not None)
    except tomli.TOMLDecodeError:  # a header, not a value, stands at the place
        assume(condition=False)
    assert applied((fact, value)) == load_product(texts.items()).product


@given(st.data())
@settings(max_examples=60, suppress_health_check=list(HealthCheck))
def test_order_of_settings_on_different_facts_does_not_matter(data: st.DataObject) -> None:
    chosen: list[tuple[Fact, Any]] = []
    for _ in range(data.draw(st.integers(2, 4))):
        fact = data.draw(drawn().filter(varying))
        if all(fact[0] != other[0] or not overlap(fact[1], other[1]) for other, _ in chosen):
            chosen.append((fact, data.draw(st.sampled_from(others()[_alike(fact[1])]))))
    assert applied(*chosen) == applied(*data.draw(st.permutations(chosen)))


_WORDS = [
    "firm",
    "harbour",
    "payment",
    "0",
    "1",
    "due",
    "rate",
    "EUR",
    "USD",
    "duty",
    "part",
    '"',
    ".",
    "line",
]
_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=8) | st.dates(),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5) | st.sampled_from(_WORDS), inner)
    ),
    max_leaves=6,
)


@given(
    st.text(max_size=12)
    | st.lists(st.sampled_from(_WORDS), max_size=7).map(".".join)
    | st.tuples(drawn(), st.text(max_size=4)).map(lambda pair: pair[0][2] + pair[1])
    | drawn().map(lambda fact: fact[2]),
    _VALUES.filter(lambda value: value is not None),
)
@settings(max_examples=300, suppress_health_check=list(HealthCheck))
def test_any_setting_is_applied_or_told(key: str, value: Any) -> None:
    place = Place(file="plans/first-season.toml", path=("scenario", "s", "set", key))
    made = apply_settings(example(), "first-season", [Setting(key=key, value=value, place=place)])
    assert (made.loaded is None) == bool(made.findings)
    for finding in made.findings:
        assert isinstance(finding, Finding)
        assert finding.rule in all_rules()
        assert finding.place.path[: len(place.path)] == place.path
    for change in made.changes:
        assert change.words
