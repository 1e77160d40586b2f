"""How reports name amounts and counts in sentences, and the caution that money reports end with."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from ferrule.model.exact import Exact, shown_amount
from ferrule.model.product import Product

__all__ = [
    "CAUTION",
    "FINANCE",
    "counted",
    "listed",
    "money",
    "percent",
    "plan_name",
    "plan_title",
    "quantity",
]

CAUTION = (
    "Arithmetic on the data you supplied. Not legal, tax, customs, safety or financial advice; have the marked "
    "items confirmed by a qualified person."
)
FINANCE = (
    "A cash view, not a solvency opinion: sales tax, covenants and what a bank may ask are not in it; "
    "have tax, duty and loan figures confirmed."
)


def counted(number: int, one: str, many: str = "") -> str:
    """Return a count with its noun: ``1 part``, ``2 parts``."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def listed(words: Sequence[str]) -> str:
    """Return words as a sentence lists them: ``a, b and c``."""
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)


def money(amount: Exact, places: int = 2) -> str:
    """Return an amount of money with its places."""
    return shown_amount(amount, places)


def quantity(number: Exact, places: int = 3) -> str:
    """Return a quantity to three places at most, without zeros at the end."""
    text = shown_amount(number, places)
    return text.rstrip("0").rstrip(".") if "." in text else text


def percent(share: Fraction, places: int = 1) -> str:
    """Return a share of one as a percentage."""
    return f"{shown_amount(share * 100, places)} %"


def plan_name(product: Product, plan: str) -> tuple[tuple[str, str], ...]:
    """Return a plan's name in words as a fact; none where it has none."""
    name = product.plans[plan].plan.name
    return (("name", name),) if name else ()


def plan_title(product: Product, plan: str) -> str:
    """Return a plan's name in words, its short one where it has none."""
    return product.plans[plan].plan.name or plan
