"""What Incoterms 2020 says of each rule, and a published customs fee.

International Chamber of Commerce, Incoterms 2020 (in force 1 January 2020): who pays the main carriage and
insurance, who clears for export and import, who unloads at the destination. Seen in secondary summaries of the rule
book (the ICC wall chart as kept by a university, and freight forwarders' summaries); the chart itself says
it is no substitute for the rule book.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from builders import product
from ferrule.compute.landing import IN_PRICE, Shipment, in_price, landed
from ferrule.compute.packing import Load
from ferrule.model.incoterms import RULES, Incoterm

# rule: main carriage paid by the seller, insurance, export and import cleared by the seller, unloading by the
# seller. Under the D rules the seller has no obligation to insure, but the risk of the way is his.
CHART = {
    "EXW": (False, "none", False, False, False),
    "FCA": (False, "none", True, False, False),
    "CPT": (True, "none", True, False, False),
    "CIP": (True, "owed", True, False, False),
    "DAP": (True, "seller's risk", True, False, False),
    "DPU": (True, "seller's risk", True, False, True),
    "DDP": (True, "seller's risk", True, True, False),
    "FAS": (False, "none", True, False, False),
    "FOB": (False, "none", True, False, False),
    "CFR": (True, "none", True, False, False),
    "CIF": (True, "owed", True, False, False),
}
# Where the risk passes: on board for these alone of the rules that leave the main carriage to the buyer.
ON_BOARD = {"FOB"}


def test_all_eleven_rules_are_divided() -> None:
    assert list(IN_PRICE) == list(RULES) == list(CHART)


@pytest.mark.parametrize("rule", CHART)
def test_the_price_pays_what_the_chart_gives_the_seller(rule: str) -> None:
    carriage, insurance, export, imported, unloading = CHART[rule]
    paid = IN_PRICE[rule]
    assert ("carriage" in paid) == carriage
    assert ("insurance" in paid) == (insurance != "none")
    assert ("export" in paid) == export
    assert ("import" in paid) == ("duty" in paid) == imported
    assert ("loading" in paid) == (carriage or rule in ON_BOARD)
    assert ("arrival" in in_price(Incoterm(rule, "terminal"), "port")) == unloading
    assert ("delivery" in paid) == rule.startswith("D")


# 19 CFR 24.23(b)(1)(i): merchandise processing fee of 0.3464 % ad valorem on a formal entry, not under 25 and
# not over 485 dollars before the yearly adjustment (19 U.S.C. 58c). Figures from memory; they change.
@pytest.mark.parametrize(
    ("value", "fee"), [(5000, "25"), (7217, "25"), (7218, "25.003152"), (100000, "346.4"), (200000, "485")]
)
def test_processing_fee_of_an_entry(value: int, fee: str) -> None:
    text = """
[[duty]]
destination = "US"
code = "8519 81 41"
basis = "freight-exclusive"
rate = "0 %"
fee = [{ name = "merchandise processing", rate = "0.3464 %", floor = "25 USD", ceiling = "485 USD" }]
"""
    found = landed(
        Shipment(
            currency="USD",
            term=Incoterm("FCA", "Port Halden"),
            load=Load(sku="SKU", units=1000),
            price=Fraction(value, 1000),
        ),
        None,
        product({"firms/f.toml": text}).duties[0],
        lambda amount, _: Fraction(amount.number),
    )
    assert found.of("entry fee") == Fraction(fee)
