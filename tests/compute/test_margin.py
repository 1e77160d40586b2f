"""Margins worked by hand, what happens to each kind of fee and to what is not known, and break-even quantities."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import product
from ferrule.compute.margin import ChannelMargin, blended, breakeven_quantity, channel_margin
from ferrule.compute.rates import rates_of
from ferrule.load.build import load_product
from ferrule.model.money import Money
from ferrule.model.percent import Percent
from ferrule.model.product import Product
from ferrule.model.records.assembly import Assembly, Sale
from ferrule.model.records.firms import Allowance, Channel, Fee

KNOWN = """\
name = "Shops"
kind = "retail"
currency = "EUR"
tax_included = false
margin = "45 %"
allowance = [{ name = "damaged goods", rate = "2 %" }]
returns = "9 %"
return_cost = 3
recovery = "20 %"
warranty = "2 %"
delivery = 1.50
"""
SALE = "list_price = 80\nwarranty_handling = 0\n"


def made(channel: str = KNOWN, sale: str = SALE, extra: str = "") -> Product:
    return product(
        {
            "firms/c.toml": f"[channel.shops]\n{channel}\n{extra}",
            "assemblies/a.toml": f'[assembly]\nid = "SKU"\n[assembly.sale.shops]\n{sale}',
        }
    )


def asked(
    held: Product, landed: Fraction | None = Fraction(22), chargebacks: Fraction | None = None
) -> ChannelMargin:
    return channel_margin(held, rates_of(held), "SKU", "shops", landed, chargebacks=chargebacks)


def without(*lines: str) -> str:
    kept = [line for line in KNOWN.splitlines() if not line.startswith(lines)]
    assert len(kept) < len(KNOWN.splitlines())
    return "\n".join(kept) + "\n"


def cents(amount: Fraction | None) -> str:
    assert amount is not None
    return f"{Decimal(amount.numerator) / Decimal(amount.denominator):.2f}"


def test_the_worked_example_and_the_calculation_that_stops_early() -> None:
    """List 80, margin 45 %, allowance 2 %: 80 x 0.55 x 0.98 = 43.12. Less 22 landed: 21.12.

    43.12 x 0.91 = 39.2392; less 22 and 1.50: 15.7392;
    returns 0.09 x (3 - 0.20 x 22) = 0.09 x -1.40 = -0.126, so 15.8652;
    warranty 0.02 x (22 + 1.50 + 0) = 0.47, so 15.3952 = 9622/625, shown 15.40.
    """
    found = asked(made())
    assert found.revenue == Fraction("43.12")
    assert (found.returned, found.return_cost) == (Fraction("3.8808"), Fraction("-0.126"))
    assert found.fees == 0
    assert (found.delivery, found.warranty) == (Fraction("1.5"), Fraction("0.47"))
    assert found.margin == Fraction("15.3952") == Fraction(9622, 625)
    assert (found.unknown, found.at_most, found.revenue_at_most) == ((), False, False)
    assert found.naive == Fraction("21.12")
    assert found.naive_words == "revenue 43.12 EUR less landed cost 22.00 EUR is 21.12 EUR"


def test_the_working_says_each_step() -> None:
    assert asked(made()).working == (
        ("list price", Fraction(80)),
        ("margin of the channel, 45 %", Fraction(-36)),
        ("damaged goods, 2 %", Fraction("-0.88")),
        ("revenue given back on returns, 9 %", Fraction("-3.8808")),
        ("landed cost", Fraction(-22)),
        ("delivery", Fraction("-1.5")),
        ("cost of returns, 9 %", Fraction("-0.27")),
        ("recovered from returns, 20 % of landed cost", Fraction("0.396")),
        ("warranty, 2 % of landed cost, delivery and handling", Fraction("-0.47")),
    )


def test_margin_and_allowances_multiply() -> None:
    """80 x 0.55 x 0.98 x 0.95 = 40.964, not 80 x 0.55 x (1 - 0.07) = 40.92."""
    two = '[{ name = "damaged goods", rate = "2 %" }, { name = "display", rate = "5 %" }]'
    found = asked(made(without("allowance") + f"allowance = {two}"))
    assert found.revenue == Fraction("40.964")


@pytest.mark.parametrize(
    ("tax", "revenue"),
    [
        # 80 / 1.25 = 64; 64 x 0.539 = 34.496.
        ('tax_included = true\ntax = "25 %"', "34.496"),
        # A tax that comes on top is none of ours.
        ('tax_included = false\ntax = "25 %"', "43.12"),
    ],
)
def test_tax_comes_off_only_where_the_price_contains_it(tax: str, revenue: str) -> None:
    found = asked(made(without("tax_included") + tax))
    assert found.revenue == Fraction(revenue)
    assert not found.at_most


def test_the_sale_goes_before_the_channel() -> None:
    """Tax 60 % in place of 25 %: 80 / 1.60 = 50; x 0.539 = 26.95. All of it below from the sale.

    26.95 x 0.90 = 24.255, less 22 and 2: 0.255; less 0.10 x (5 - 0.5 x 22) = -0.6: 0.855;
    less 0.01 x (22 + 2 + 1) = 0.25: 0.605.
    """
    sale = (
        'list_price = 80\ntax = "60 %"\nreturns = "10 %"\nreturn_cost = 5\nrecovery = "50 %"\n'
        'warranty = "1 %"\nwarranty_handling = 1\ndelivery = 2\n'
    )
    found = asked(made(without("tax_included") + 'tax_included = true\ntax = "25 %"', sale))
    assert found.revenue == Fraction("26.95")
    assert found.margin == Fraction("0.605")


def test_a_tax_that_only_the_sale_states_is_in_its_price() -> None:
    found = asked(made(without("tax_included"), SALE + 'tax = "25 %"\n'))
    assert found.revenue == Fraction("34.496")
    assert not found.at_most


@pytest.mark.parametrize(
    ("fee", "expected"),
    [
        # Net revenue 34.496 (list 80 with 25 % tax in it), returns 9 %.
        ('percent = "10 %"', "3.4496"),
        ('percent = "10 %", base = "net revenue", returned = true', "3.139136"),  # x 0.91
        ('percent = "10 %", base = "list price"', "8"),
        ('percent = "10 %", base = "price with tax"', "8"),
        ("fixed = 0.30", "0.3"),
        ('fixed = 0.30, percent = "1 %", base = "list price", returned = true', "1.001"),  # 1.10 x 0.91
        ('fixed = "0.54 USD"', "0.5"),
    ],
)
def test_a_fee_is_charged_on_its_base_and_comes_back_only_where_it_says_so(fee: str, expected: str) -> None:
    channel = without("tax_included") + 'tax_included = true\ntax = "25 %"\n'
    rate = '[[rate]]\nrate = "1 EUR = 1.08 USD"\n'
    plain = asked(made(channel, extra=rate))
    found = asked(made(channel + f'fee = [{{ name = "card", {fee} }}]', extra=rate))
    assert found.fees == Fraction(expected)
    assert found.margin is not None
    assert plain.margin is not None
    assert plain.margin - found.margin == Fraction(expected)
    assert not found.at_most


def test_a_fee_on_the_price_with_a_tax_that_comes_on_top() -> None:
    """80 and 25 % are 100 to the buyer; 3 % of that is 3.00. Without the rate it is at least 2.40."""
    fee = 'fee = [{ name = "card", percent = "3 %", base = "price with tax" }]'
    assert asked(made(KNOWN + 'tax = "25 %"\n' + fee)).fees == 3
    found = asked(made(KNOWN + fee))
    assert found.fees == Fraction("2.4")
    assert (found.unknown, found.revenue_at_most) == (("the rate of sales tax",), False)


def test_a_fixed_fee_without_a_currency_is_in_the_home_currency_and_the_rest_in_the_channels() -> None:
    """Channel in dollars at 1.10: list 88 USD = 80 EUR, delivery 1.65 = 1.50, return 3.30 = 3, fee 0.30 EUR."""
    channel = without("currency", "return_cost", "delivery") + (
        'currency = "USD"\nreturn_cost = 3.30\ndelivery = 1.65\nfee = [{ name = "card", fixed = 0.30 }]'
    )
    extra = '[[rate]]\nrate = "1 EUR = 163.5 JPY"\n[[rate]]\nrate = "1 EUR = 1.10 USD"\n'
    found = asked(made(channel, "list_price = 88\nwarranty_handling = 0\n", extra))
    assert found.list_price == 80
    assert found.margin == Fraction("15.3952") - Fraction("0.30")
    assert found.rates == (1,)


def test_a_sale_in_a_channel_without_a_currency_takes_that_of_its_file() -> None:
    files = {
        "firms/c.toml": f'[channel.shops]\n{without("currency")}[[rate]]\nrate = "1 EUR = 1.10 USD"\n',
        "assemblies/a.toml": f'[assembly]\nid = "SKU"\ncurrency = "USD"\n[assembly.sale.shops]\n'
        f"{SALE.replace('80', '88')}",
    }
    assert asked(product(files)).margin == Fraction("15.3952")


def test_chargebacks_are_unknown_until_they_are_given() -> None:
    stated = 'chargeback = [{ name = "part-full carton", amount = 18, per = "carton" }]'
    held = made(KNOWN + stated)
    assert asked(held).unknown == ("the channel's chargebacks on one unit",)
    assert asked(held).chargebacks is None
    given_ = asked(held, chargebacks=Fraction("0.40"))
    assert (given_.margin, given_.unknown) == (Fraction("14.9952"), ())
    assert asked(held, chargebacks=Fraction(0)).unknown == ()


UNKNOWN = [
    # What is not stated, what says so, and the bound: 15.3952 and what the term took.
    (without("delivery"), SALE, "the delivery of one unit", "16.9252"),  # + 1.50 + 0.02 x 1.50
    (without("warranty"), SALE, "the share of units replaced under warranty", "15.8652"),  # + 0.47
    (KNOWN, "list_price = 80\n", "the handling of a warranty case", "15.3952"),
    (without("return_cost"), SALE, "the cost of one return", "15.6652"),  # + 0.27
    # A return recovers at best all of 22: 0.09 x 22 = 1.98 in place of 0.396.
    (without("recovery"), SALE, "the share of landed cost recovered from a return (taken as 100 %)", "16.9792"),
    # No returns: 43.12 - 22 - 1.50 - 0.47.
    (without("returns"), SALE, "the share of units that come back", "19.15"),
    # No margin kept: revenue 78.40; x 0.91 = 71.344; the rest as before, -23.844.
    (without("margin"), SALE, "the margin that the channel keeps", "47.5"),
    (without("tax_included"), SALE, "whether the list price contains sales tax", "15.3952"),
    (KNOWN.replace("false", "true"), SALE, "the rate of sales tax", "15.3952"),
    (KNOWN + 'fee = [{ name = "card" }]', SALE, "the amount of fee card", "15.3952"),
    (
        KNOWN + 'fee = [{ name = "card", fixed = "1 USD" }]',
        SALE,
        "the fixed amount of fee card: no exchange rate joins USD and EUR",
        "15.3952",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("channel", "sale", "words", "bound"), UNKNOWN)
def test_what_is_not_known_is_named_and_the_margin_is_at_most(
    channel: str, sale: str, words: str, bound: str
) -> None:
    found = asked(made(channel, sale))
    assert found.unknown == (words,)
    assert found.at_most
    assert found.margin == Fraction(bound)


def test_unknown_costs_are_none_and_an_uncertain_revenue_says_so() -> None:
    found = asked(made(without("delivery", "warranty", "returns", "margin", "tax_included")))
    costs = (found.delivery, found.warranty, found.returned, found.return_cost)
    assert costs == (None, None, None, None)
    assert found.revenue_at_most
    assert found.naive_words == "revenue at most 78.40 EUR less landed cost 22.00 EUR is at most 56.40 EUR"


def test_a_landed_cost_that_is_a_lower_bound_makes_the_margin_an_upper_one() -> None:
    """The same figures as with 22.00 that is known, and each says which way it can move."""
    held = made()
    sure = asked(held)
    found = channel_margin(held, rates_of(held), "SKU", "shops", Fraction(22), landed_at_least=True)
    assert (found.margin, found.naive) == (sure.margin, sure.naive)
    assert (sure.at_most, sure.naive_at_most, found.at_most, found.naive_at_most) == (
        False,
        False,
        True,
        True,
    )
    assert found.unknown == (*sure.unknown, "part of the landed cost")
    assert found.naive_words == "revenue 43.12 EUR less landed cost at least 22.00 EUR is at most 21.12 EUR"


def test_without_a_landed_cost_there_is_a_bound_and_no_naive_figure() -> None:
    """43.12 x 0.91 - 1.50 - 0.09 x 3 - 0.02 x 1.50 = 37.4392."""
    found = asked(made(), None)
    assert (found.margin, found.naive, found.landed) == (Fraction("37.4392"), None, None)
    assert found.unknown == ("the landed cost",)
    assert found.naive_words == "revenue 43.12 EUR less a landed cost that is not known"


def test_without_returns_and_warranty_their_costs_do_not_matter() -> None:
    channel = (
        without("returns", "return_cost", "recovery", "warranty") + 'returns = "0 %"\nwarranty = "0 %"\n'
    )
    found = asked(made(channel, "list_price = 80\n"))
    assert (found.unknown, found.margin) == ((), Fraction("19.62"))


def test_a_unit_sold_far_below_its_cost_is_at_best_given_back() -> None:
    """Landed 200 against 43.12: with all of it recovered, a return loses only 3, delivery and warranty.

    None back: 43.12 - 200 - 1.50 - 0.02 x 201.50 = -162.41. All back: 0 - 200 - 1.50 - (3 - 200) - 4.03 = -8.53.
    """
    found = asked(made(without("returns", "recovery")), Fraction(200))
    assert found.margin == Fraction("-8.53")
    assert ("revenue given back on returns, 100 % at best", Fraction("-43.12")) in found.working


def test_who_sells_directly_keeps_the_margin() -> None:
    found = asked(made(without("margin", "kind") + 'kind = "direct"\n'))
    assert (found.revenue, found.unknown) == (Fraction("78.4"), ())


def test_where_there_is_no_price_there_is_no_margin() -> None:
    yen = asked(made(sale='list_price = "9000 JPY"\n'))
    assert (yen.margin, yen.revenue, yen.working) == (None, None, ())
    assert yen.unknown == ("the list price: no exchange rate joins JPY and EUR",)
    held = made()
    for sku, channel in (("SKU", "web"), ("OTHER", "shops")):
        found = channel_margin(held, rates_of(held), sku, channel, Fraction(22))
        assert (found.margin, found.unknown) == (None, (f"how {sku} is sold in channel {channel}",))


def test_an_amount_is_shown_in_the_places_of_its_currency() -> None:
    held = product(
        {
            "product.toml": '[product]\nid = "T"\nname = "T"\ncurrency = "JPY"\nstage = "dvt"\n',
            "firms/c.toml": '[channel.shops]\nname = "S"\nkind = "direct"\ntax_included = false\n',
            "assemblies/a.toml": '[assembly]\nid = "SKU"\n[assembly.sale.shops]\nlist_price = 9000.5\n',
        }
    )
    words = asked(held, Fraction(3000)).naive_words
    assert words == "revenue 9,001 JPY less landed cost 3,000 JPY is 6,001 JPY"


EXAMPLE = [
    # 189 / 1.21 = 18900/121 = 156.20. Of it 94 % is kept, and 99 % of that after the platform's returned 1 %:
    # 18900/121 x 0.9306 = 1598.94/11. Card 1.9 % of 189 and 0.25 = 3.841. Delivery 7.40.
    # Returns 0.06 x (6 - 0.40 x 55.50) = -0.972. Warranty 0.02 x (55.50 + 7.40 + 5) = 1.358.
    # 1598.94/11 - 3.841 - 55.50 - 7.40 + 0.972 - 1.358 = 1598.94/11 - 67.127 = 860.543/11.
    ("W20-SINGLE", "web", Fraction(18900, 121), Fraction("860.543") / 11, "78.23", "100.70", ()),
    # 199 / 1.19 x 0.55 x 0.985 x 0.98 = 105.652085/1.19 = 88.78; x 0.96 = 101.4260016/1.19. Delivery 1.10.
    # Returns 0.04 x (4 - 0.45 x 55.50) = -0.839. Warranty at least 0.02 x (55.50 + 1.10) = 1.132.
    # 101.4260016/1.19 - 55.50 - 1.10 + 0.839 - 1.132 = 101.4260016/1.19 - 56.893 = 33.7233316/1.19.
    (
        "W20-SINGLE", "larkfield", Fraction("105.652085") / Fraction("1.19"),
        Fraction("33.7233316") / Fraction("1.19"), "28.34", "33.28", ("the handling of a warranty case",),
    ),
    # 549 / 1.19 x 0.530915 = 291.472335/1.19; x 0.96 = 279.8134416/1.19; less 56.893 as above.
    (
        "W20-SET3", "larkfield", Fraction("291.472335") / Fraction("1.19"),
        Fraction("212.1107716") / Fraction("1.19"), "178.24", "189.43", ("the handling of a warranty case",),
    ),
]  # fmt: skip


@pytest.mark.parametrize("case", EXAMPLE, ids=lambda case: f"{case[0]} in {case[1]}")
def test_the_example_product_at_a_landed_cost_of_55_50(case: tuple[Any, ...], checkout: Path) -> None:
    sku, channel, revenue, margin, shown, naive, unknown = case
    folder = checkout / "example-product"
    files = ((str(path.relative_to(folder)), path.read_bytes()) for path in sorted(folder.rglob("*.toml")))
    held = load_product(files).product
    found = channel_margin(held, rates_of(held), sku, channel, Fraction("55.50"), chargebacks=Fraction(0))
    assert (found.revenue, found.margin, found.unknown) == (revenue, margin, unknown)
    assert (cents(found.margin), cents(found.naive)) == (shown, naive)


def test_the_blend_weighs_by_units() -> None:
    """900 at 78 and 300 at 28: (70,200 + 8,400) / 1,200 = 65.50."""
    assert blended([(Fraction(78), 900), (Fraction(28), 300)]) == Fraction("65.5")
    assert blended([(Fraction(78), 900), (None, 0)]) == 78
    assert blended([(Fraction(78), 900), (None, 1)]) is None
    assert blended([]) is None


BREAKEVEN = [
    # Fixed cost, contribution of a unit, whole units that cover it.
    ("120000", "21.5", 5582),  # 120,000 / 21.5 = 5,581.395...
    # J. Heizer, B. Render, "Operations Management", supplement on capacity: fixed 10,000, price 4.00, labour
    # 1.50 and material 0.75; 5,714 units in the book (from memory), 5,714.29 before rounding up.
    ("10000", "1.75", 5715),
    # Textbook exercise, fixed 48,000, variable 45, price 75, then 95; results recomputed.
    ("48000", "30", 1600),
    ("48000", "50", 960),
    # Open textbook for managerial accounting (Acctg 211), chapter on break-even analysis: fixed 20,000,
    # variable 250, price 400; 133.33 units, result recomputed.
    ("20000", "150", 134),
    # OpenStax, "Principles of Accounting, Volume 2: Managerial Accounting", 2019, section 3.2 (from memory):
    # fixed 18,000, variable 20, price 100.
    ("18000", "80", 225),
    ("0", "5", 0),
    ("1", "1000", 1),
]


@pytest.mark.parametrize(("fixed", "contribution", "units"), BREAKEVEN)
def test_break_even_rounds_up(fixed: str, contribution: str, units: int) -> None:
    assert breakeven_quantity(Fraction(fixed), Fraction(contribution)) == units


@pytest.mark.parametrize("contribution", ["0", "-3"])
def test_nothing_breaks_even_at_a_loss(contribution: str) -> None:
    assert breakeven_quantity(Fraction(100), Fraction(contribution)) is None


@pytest.mark.property
@given(st.fractions(1, 10**6), st.fractions(Fraction(1, 100), 1000))
def test_one_unit_fewer_does_not_cover_it(fixed: Fraction, contribution: Fraction) -> None:
    units = breakeven_quantity(fixed, contribution)
    assert units is not None
    assert (units - 1) * contribution < fixed <= units * contribution


def percents(most: int) -> st.SearchStrategy[Percent]:
    return st.builds(Percent, st.decimals(0, most, places=1))


def amounts(most: int) -> st.SearchStrategy[Money]:
    return st.builds(Money, st.decimals(0, most, places=2))


FACTS: dict[str, st.SearchStrategy[Any]] = {
    "tax_included": st.booleans(),
    "tax": percents(30),
    "margin": percents(60),
    "returns": percents(50),
    "return_cost": amounts(20),
    "recovery": percents(100),
    "warranty": percents(20),
    "delivery": amounts(20),
    "warranty_handling": amounts(20),
    "landed": st.fractions(0, 300, max_denominator=100),
}
fees = st.builds(
    Fee,
    name=st.just("card"),
    percent=percents(5),
    fixed=amounts(2),
    base=st.sampled_from(["net revenue", "list price", "price with tax"]),
    returned=st.booleans(),
)
ELSEWHERE = ("warranty_handling", "landed")


def stated(facts: dict[str, Any], charged: list[Fee], cuts: list[Allowance]) -> ChannelMargin:
    """Return the margin of a list price of 100 with these facts; what is not among them is not stated."""
    own = {name: fact for name, fact in facts.items() if name not in ELSEWHERE}
    channel = Channel(name="S", kind="retail", fee=tuple(charged), allowance=tuple(cuts), **own)
    sale = Sale(list_price=Money(Decimal(100)), warranty_handling=facts.get("warranty_handling"))
    assembly = Assembly(id="SKU", sale={"shops": sale})
    held = Product(head=product({}).head, channels={"shops": channel}, assemblies={"SKU": assembly})
    return channel_margin(held, rates_of(held), "SKU", "shops", facts.get("landed"))


def share(percent: Percent) -> Fraction:
    return Fraction(percent.number) / 100


def by_formula(facts: dict[str, Any], charged: list[Fee], cuts: list[Allowance]) -> Fraction:
    """Return the margin by the formula, written down once more, for a list price of 100."""
    tax = 1 + share(facts["tax"])
    revenue = 100 / tax if facts["tax_included"] else Fraction(100)
    revenue *= 1 - share(facts["margin"])
    for cut in cuts:
        revenue *= 1 - share(cut.rate)
    ret, landed = share(facts["returns"]), facts["landed"]
    bases = {
        "net revenue": revenue,
        "list price": Fraction(100),
        "price with tax": Fraction(100) if facts["tax_included"] else 100 * tax,
    }
    margin: Fraction = revenue * (1 - ret) - landed - Fraction(facts["delivery"].number)
    for fee in charged:
        assert fee.percent is not None
        assert fee.fixed is not None
        whole = bases[fee.base] * share(fee.percent) + Fraction(fee.fixed.number)
        margin -= whole * (1 - ret) if fee.returned else whole
    margin -= ret * (Fraction(facts["return_cost"].number) - share(facts["recovery"]) * landed)
    handling = Fraction(facts["delivery"].number) + Fraction(facts["warranty_handling"].number)
    warranty: Fraction = share(facts["warranty"]) * (landed + handling)
    return margin - warranty


charges = st.lists(fees, max_size=3)
reductions = st.lists(st.builds(Allowance, name=st.just("display"), rate=percents(20)), max_size=3)


@pytest.mark.property
@given(st.fixed_dictionaries(FACTS), charges, reductions)
def test_the_margin_is_the_formula_and_its_parts_add_up(
    facts: dict[str, Any], charged: list[Fee], cuts: list[Allowance]
) -> None:
    found = stated(facts, charged, cuts)
    assert found.unknown == ()
    assert found.margin == by_formula(facts, charged, cuts)
    assert sum(amount for _, amount in found.working) == found.margin
    parts = (found.returned, found.fees, found.landed, found.delivery, found.return_cost, found.warranty)
    assert found.revenue is not None
    assert found.revenue - sum(part for part in parts if part is not None) == found.margin


@pytest.mark.property
@given(st.fixed_dictionaries(FACTS), charges, reductions, st.sets(st.sampled_from(sorted(FACTS))))
def test_knowing_more_can_only_lower_the_margin(
    facts: dict[str, Any], charged: list[Fee], cuts: list[Allowance], forgotten: set[str]
) -> None:
    less = {name: fact for name, fact in facts.items() if name not in forgotten}
    bound = stated(less, charged, cuts)
    assert bound.margin is not None
    assert bound.margin >= by_formula(facts, charged, cuts)
    assert sum(amount for _, amount in bound.working) == bound.margin
    if not bound.at_most:
        assert bound.margin == by_formula(facts, charged, cuts)
