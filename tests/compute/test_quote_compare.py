"""Quotes on an equal basis and a product as if one were agreed, worked by hand."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from builders import TODAY, product
from ferrule.compute.answered import answered_product, price_text
from ferrule.compute.cost import CostAsk, unit_cost
from ferrule.compute.quote_compare import Compared, compare_answers
from ferrule.model.answers import Answer, AnswerLine
from ferrule.model.product import Product

PRODUCT = product({
    "firms/f.toml": """
[firm.one]
name = "One"
[firm.two]
name = "Two"
[firm.factory]
name = "Old factory"
roles = ["factory"]
[firm.factory.factory]
markup = [{ name = "profit", rate = "50 %", base = ["labour"] }]
[firm.new]
name = "New factory"
roles = ["factory"]
[firm.new.factory]
markup = [{ name = "handling", rate = "10 %", base = ["turnkey material"] }]
[[rate]]
rate = "1 EUR = 1.25 USD"
date = 2026-11-20
""",
    "parts/p.toml": """
[part.A]
name = "A"
[[part.A.source]]
seller = "one"
status = "approved"
currency = "EUR"
price = [{ from = 1, each = 9 }]
[part.B]
name = "B"
[[part.B.source]]
seller = "two"
status = "approved"
currency = "EUR"
price = [{ from = 1, each = 7 }]
""",
    "assemblies/top.toml": """
[assembly]
id = "TOP"
name = "Top"
factory = "factory"
currency = "EUR"
steps = [
  { name = "assemble", cost = 4, yield = "100 %" },
  { name = "test", cost = 2, kind = "test", per = "test", yield = "80 %" },
]
[[line]]
item = 10
part = "A"
qty = 2
supply = "turnkey"
[[line]]
item = 20
part = "B"
qty = 1
supply = "turnkey"
""",
})  # fmt: skip


def line(
    part: str, *prices: str | None, amounts: tuple[int | None, ...] = (100, 1000), **more: object
) -> AnswerLine:
    return AnswerLine(
        id=f"L{part}",
        part=part,
        amounts=tuple(None if amount is None else Decimal(amount) for amount in amounts),
        prices=tuple(None if price is None else Fraction(price) for price in prices),
        **{"currency": "EUR", **more},  # type: ignore[arg-type]
    )


def answer(
    recipient: str, *lines: AnswerLine, quantities: tuple[int, ...] = (100, 1000), assembly: str | None = None
) -> Answer:
    return Answer(
        file=f"{recipient}.csv",
        form="text",
        watermark="Q",
        recipient=recipient,
        assembly=assembly,
        quantities=quantities,
        lines=lines,
        differences=(),
    )


def basis(found: Compared) -> list[list[Fraction | None]]:
    return [[each.basis for each in row] for row in found.totals]


def test_the_basis_holds_what_all_priced_and_a_hole_costs_nothing() -> None:
    one = answer("one", line("A", "2", "1.50"), line("B", "3", None))
    two = answer("two", line("A", "2.50", "1.25", currency="USD"), line("B", "5", "4"))
    found = compare_answers(PRODUCT, [one, two])
    # at 100: 100 x 2 + 100 x 3; 100 x 2.50 USD at 1.25 + 100 x 5. At 1,000 only A: 1,000 x 1.50; 1,000 x 1 EUR
    assert basis(found) == [[500, 1500], [700, 1000]]
    assert [[each.least for each in row] for row in found.totals] == [[True, False], [False, True]]
    assert [[(int(each.whole), each.holes) for each in row] for row in found.totals] == [
        [(500, 0), (1500, 1)],
        [(700, 0), (5000, 0)],
    ]
    assert [(found.in_basis(qty), found.asked(qty)) for qty in (100, 1000)] == [(2, 2), (1, 2)]


def test_what_is_not_the_same_is_not_in_the_basis() -> None:
    one = answer("one", line("A", "2", "2"), line("B", "3", "3", currency="JPY"), line("C", "1", "1"))
    two = answer(
        "two",
        line("A", "1", "1", substituted=True),
        line("B", "3", "3"),
        line("C", "1", "1", amounts=(200, 2000)),
    )
    found = compare_answers(PRODUCT, [one, two])
    assert [row.why_not for row in found.lines if row.qty == 100] == [
        "another article of two",
        "no rate for JPY",
        "different amounts asked",
    ]
    assert basis(found) == [[None, None], [None, None]]
    assert not any(each.least for row in found.totals for each in row)
    assert [row[0].substituted for row in found.totals] == [0, 1]


def test_an_amount_that_is_not_known_is_a_hole() -> None:
    found = compare_answers(PRODUCT, [answer("one", line("A", "2", "2", amounts=(None, None)))])
    assert [(int(each.whole), each.holes, each.basis) for each in found.totals[0]] == [(0, 1, None)] * 2


def test_only_quantities_asked_of_all_are_compared() -> None:
    one = answer("one", line("A", "2", "1"))
    two = answer("two", line("A", "3", amounts=(1000,)), quantities=(1000,))
    found = compare_answers(PRODUCT, [one, two])
    assert found.quantities == (1000,)
    assert basis(found) == [[1000], [3000]]


def test_what_we_supply_is_in_no_total() -> None:
    found = compare_answers(
        PRODUCT, [answer("one", line("A", "2", "2"), line("B", None, None, supplied_by_us=True))]
    )
    assert [(int(each.whole), each.holes) for each in found.totals[0]] == [(200, 0), (2000, 0)]


def test_equal_totals_are_both_least_and_one_alone_is_not() -> None:
    same = [answer(name, line("A", "2", "2")) for name in ("one", "two")]
    assert all(each.least for row in compare_answers(PRODUCT, same).totals for each in row)
    assert not any(each.least for each in compare_answers(PRODUCT, same[:1]).totals[0])


def test_one_off_charges_stand_apart() -> None:
    one = answer(
        "one",
        line("A", "2", "2", charge=Decimal(30)),
        line("B", "1", "1", charge=Decimal(50), currency="USD"),
    )
    two = answer("two", line("A", "2", "2", charge=Decimal(30), currency="JPY"))
    assert compare_answers(PRODUCT, [one, two]).charges == (Fraction(70), None)


@given(st.lists(st.tuples(st.integers(1, 500), st.integers(1, 500)), min_size=1, max_size=6))
def test_the_basis_never_prefers_whoever_left_most_open(prices: list[tuple[int, int]]) -> None:
    full = answer("one", *(line(f"P{at}", str(one), str(one)) for at, (one, _) in enumerate(prices)))
    holes = answer(
        "two",
        *(line(f"P{at}", *(["1000"] * 2 if at == 0 else [None] * 2)) for at, _ in enumerate(prices)),
    )
    found = compare_answers(PRODUCT, [full, holes])
    assert basis(found) == [[100 * prices[0][0], 1000 * prices[0][0]], [100_000, 1_000_000]]
    assert [row[0].least for row in found.totals] == [True, False]


# --- as if it were agreed --------------------------------------------------------------------------------


def cost(of: Product, qty: int) -> tuple[Fraction, bool]:
    found = unit_cost(of, CostAsk(sku="TOP", qty=Fraction(qty), name=str(qty), day=TODAY))
    return found.total, found.is_bound


WORK = line("TOP", "6", "5")
PARTS = (line("A", "3", "2", amounts=(200, 2000)), line("B", "1", "1"))


def test_the_product_as_it_stands() -> None:
    # a good unit takes 1 / 0.8 starts: 1.25 x (2 x 9 + 7) + 1.25 x 4 x 1.5 + 1.25 x 2; no mark-up on tests
    assert cost(PRODUCT, 100) == (Fraction("31.25") + Fraction("7.5") + Fraction("2.5"), False)


def test_a_factory_that_priced_all_is_costed_at_its_prices_and_its_own_percentages() -> None:
    agreed = answered_product(PRODUCT, answer("new", WORK, *PARTS, assembly="TOP"))
    # at 80: too few for the price of the work at 100; at 100: work 6 on a good one, parts 1.25 x (2 x 3 + 1) with 10 %
    assert cost(agreed, 100) == (6 + Fraction("1.1") * Fraction("8.75"), False)
    assert cost(agreed, 1000) == (5 + Fraction("1.1") * Fraction("6.25"), False)
    assert agreed.assemblies["TOP"].factory == "new"
    assert cost(agreed, 80)[1] is True


def test_a_hole_makes_the_unit_at_least_and_never_falls_back_on_the_old_price() -> None:
    work = answered_product(PRODUCT, answer("new", line("TOP", None, None), *PARTS, assembly="TOP"))
    assert cost(work, 100) == (Fraction("1.1") * Fraction("8.75"), True)
    part = answered_product(PRODUCT, answer("new", WORK, PARTS[0], line("B", None, None), assembly="TOP"))
    assert cost(part, 100) == (6 + Fraction("1.1") * Fraction("7.5"), True)


def test_a_substitute_is_no_price_of_what_was_asked() -> None:
    other = answered_product(
        PRODUCT, answer("new", WORK, PARTS[0], replace(PARTS[1], substituted=True), assembly="TOP")
    )
    assert cost(other, 100) == (6 + Fraction("1.1") * Fraction("7.5"), True)


def test_a_sellers_prices_replace_the_sources_and_nothing_else() -> None:
    agreed = answered_product(PRODUCT, answer("two", line("A", "3", "2")))
    # 1.25 x (2 x 3 + 7) + work as before
    assert cost(agreed, 100) == (Fraction("16.25") + 10, False)
    assert agreed.assemblies == PRODUCT.assemblies
    assert agreed.parts["B"] == PRODUCT.parts["B"]


def test_a_price_that_never_ends_is_kept_to_eight_places() -> None:
    assert price_text(Fraction(1, 3)) == Decimal("0.33333333")
    assert price_text(Fraction(1, 8)) == Decimal("0.125")
