"""What a qualified person has to confirm before a landed cost is relied on."""

from __future__ import annotations

import pytest

from cost_builders import SEA, TOP, cost, part, whole
from ferrule.model.product import Product
from ferrule.report.cost import describe_cost

CODE = 'customs_code = [{ destination = "EU", code = "1" }]\n'
SEEN = CODE.replace(
    'code = "1"', 'code = "1", checked = 2026-11-10, checked_by = "broker", evidence = "letter"'
)


def to_confirm(made: Product) -> str:
    document = describe_cost(made, [cost(made, 100, lane="sea")], "work tree", None, ())
    first, *_ = document.cautions
    return first


@pytest.mark.parametrize(
    ("code", "said"),
    [
        (CODE, "tariff number 1, never checked; origin not stated"),
        (SEEN, "tariff number 1, checked 2026-11-10 by broker (letter); origin not stated"),
    ],
)
def test_code_origin_rate_and_basis_are_named_with_who_checked_them(code: str, said: str) -> None:
    made = whole(part("P", (1, "5")), "", head=TOP.replace(CODE, code))
    rest = "duty 5 % and freight-exclusive value for EU, checked 2026-11-20 by nobody named"
    assert to_confirm(made) == f"to confirm: {said}; {rest}"


def test_without_a_duty_all_of_it_is_to_confirm() -> None:
    made = whole(part("P", (1, "5")), "", lane=SEA[: SEA.index("[[duty]]")])
    assert to_confirm(made) == "to confirm: tariff number, duty and origin of TOP for EU"
