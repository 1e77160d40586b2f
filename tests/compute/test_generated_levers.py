"""Levers read off the terms in use: what each sets, by path, and where a step ends."""

from __future__ import annotations

import pytest

from builders import load, product
from ferrule.compute.generated_levers import generate_levers
from ferrule.compute.ledger import CashEvent
from ferrule.load.keypath import Ground, find_target, key_path
from ferrule.model.product import Product

FIRMS = """\
[firm.works]
name = "Works"
payment = {works}
[firm.haul]
name = "Haul"
payment = [{{ share = "100 %", due = "invoice + 14 days" }}]
[channel.shop]
name = "Shop"
kind = "retail"
customer = "works"
payment = [{{ share = "100 %", due = "receipt + 21 days" }}]
[channel.web]
name = "Web"
kind = "direct"
settlement = {{ lag = "7 days" }}
[lane.sea]
name = "Sea"
mode = "sea"
carrier = "haul"
to = "store"
destination = "EU"
[lane.air]
name = "Air"
mode = "air"
to = "store"
destination = "EU"
[lane.air-elsewhere]
name = "Air to the far door"
mode = "courier"
to = "harbour"
destination = "EU"
[lane.abroad]
name = "Abroad"
mode = "air"
to = "store"
destination = "GB"
[lane.road]
name = "Road"
mode = "road"
to = "store"
destination = "EU"
"""
PLAN = """\
[plan]
id = "p"
start = 2027-01-04
end = "week 20"
[[build]]
name = "one"
sku = "TOP"
qty = 10
factory = "works"
lane = "sea"
[[sales]]
sku = "TOP"
channel = "shop"
qty = 5
[[sales]]
sku = "TOP"
channel = "web"
qty = 5
"""
DEPOSIT = '[{ share = "30 %", due = "order" }, { share = "rest", due = "shipment + 14 days" }]'


def files(works: str = DEPOSIT, plan: str = PLAN, more: str = "") -> dict[str, str]:
    return {
        "firms/all.toml": FIRMS.format(works=works) + more,
        "plans/p.toml": plan,
        "assemblies/top.toml": '[assembly]\nid = "TOP"\nname = "Top"\n',
    }


def event(*home: str | int, kind: str = "factory") -> CashEvent:
    return CashEvent(
        day=None, amount=None, own=None, currency="EUR", kind=kind, document="", payer="", payee="",
        words="", reason="", home=home,
    )  # fmt: skip


def proposed(made: Product, *events: CashEvent) -> dict[str, tuple[dict[str, str], bool | None]]:
    found = generate_levers(made, made.plans["p"], events)
    return {each.name: ({key_path(path): value for path, value in each.settings}, each.ask) for each in found}


LANE = {"one by air, air": ({"build.one.lane": "air"}, None)}
BUILD = event("plan", "p", "build", 0)


def test_a_factory_with_a_deposit() -> None:
    assert proposed(product(files()), BUILD) == LANE | {
        "works balance +30 days": ({"firm.works.payment.1.due": "shipment + 44 days"}, True),
        "works balance -30 days": ({"firm.works.payment.1.due": "shipment - 16 days"}, False),
        "works deposit -20 points": ({"firm.works.payment.0.share": "10 %"}, True),
        "works deposit +20 points": ({"firm.works.payment.0.share": "50 %"}, False),
    }


def test_a_deposit_goes_no_lower_than_nothing_and_the_other_share_gives_way() -> None:
    works = '[{ share = "12.5 %", due = "order" }, { share = "87.5 %", due = "shipment" }]'
    found = proposed(product(files(works)), BUILD)
    assert found["works deposit -12.5 points"][0] == {
        "firm.works.payment.0.share": "0 %",
        "firm.works.payment.1.share": "100 %",
    }
    assert found["works deposit +20 points"][0] == {
        "firm.works.payment.0.share": "32.5 %",
        "firm.works.payment.1.share": "67.5 %",
    }


@pytest.mark.parametrize(
    ("due", "later", "sooner"),
    [
        ("receipt + 8 weeks", "receipt + 86 days", "receipt + 26 days"),
        ("end of month + 15 days", "end of month + 45 days", "end of month - 15 days"),
        ("shipment + 2 months", "shipment + 3 months", "shipment + 1 month"),
        ("shipment + 40 working days", "shipment + 62 working days", "shipment + 18 working days"),
        ("shipment - 10 days", "shipment + 20 days", "shipment - 40 days"),
        ("shipment + 30 days", "shipment + 60 days", "shipment"),
        ("order", "order + 30 days", None),  # nobody is paid before the order
    ],
)
def test_thirty_days_in_the_words_of_the_terms(due: str, later: str, sooner: str | None) -> None:
    found = proposed(product(files(f'[{{ share = "100 %", due = "{due}" }}]')), BUILD)
    key = "firm.works.payment.0.due"
    assert found["works +30 days"] == ({key: later}, True)
    assert found.get("works -30 days") == (None if sooner is None else ({key: sooner}, False))


def test_channels_pay_sooner_but_not_before_their_event() -> None:
    made = product(files())
    found = proposed(made, event("plan", "p", "sales", 0), event("plan", "p", "sales", 1))
    assert found == LANE | {
        "shop +30 days": ({"channel.shop.payment.0.due": "receipt + 51 days"}, False),
        "shop -30 days": ({"channel.shop.payment.0.due": "receipt"}, True),
        "web settlement +30 days": ({"channel.web.settlement.lag": "37 days"}, False),
        "web settlement -30 days": ({"channel.web.settlement.lag": "0 days"}, True),
    }


def test_terms_of_a_build_of_a_source_and_of_a_tool_come_before_the_firms() -> None:
    own = 'payment = [{ share = "100 %", due = "shipment + 5 days" }]\n'
    texts = files(plan=PLAN.replace('lane = "sea"\n', own))
    texts["parts/all.toml"] = (
        '[part."A.1"]\nname = "A"\nclass = "electrical"\n[[part."A.1".source]]\nseller = "haul"\n'
        '[[part."A.1".source]]\nseller = "works"\npayment = [{ share = "100 %", due = "receipt + 9 days" }]\n'
    )
    texts["tools/all.toml"] = '[tool.T-1]\nname = "Mould"\nkind = "mould"\nfirm = "haul"\n'
    made = product(texts)
    found = proposed(
        made,
        BUILD,
        event("part", "A.1", "source", 0),
        event("part", "A.1", "source", 1),
        event("tool", "T-1", "amount"),
        event("lane", "sea", kind="freight"),
        event("lane", "sea", kind="duty"),
    )
    assert {name: settings for name, (settings, ask) in found.items() if ask} == {
        "one +30 days": {"build.one.payment.0.due": "shipment + 35 days"},
        "A.1 +30 days": {'part."A.1".source.1.payment.0.due': "receipt + 39 days"},
        "haul +30 days": {"firm.haul.payment.0.due": "invoice + 44 days"},
    }


def test_every_path_leads_to_a_field_whatever_records_are_called() -> None:
    """Names with points, of digits only, in quotes: paths of generated settings find what they name."""
    loaded = load(files(more='[firm."1"]\nname = "One"\n[firm."a.b"]\nname = "Two"\n'))
    ground = Ground(loaded=loaded, plan="p")
    for name in ("1", "a.b", "works"):
        target = find_target(ground, key_path(("firm", name, "payment")))
        assert target.path == ("firm", name, "payment")
    assert key_path(("part", 'say "hi"', "source", 0)) == 'part."say \\"hi\\"".source.0'
