"""Where every figure of one sole source comes from."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from ferrule.compute.risk import Measure, SoleRisk
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.risk import CAUTIONS
from ferrule.report.wording import listed, money

__all__ = ["describe_why"]


def describe_why(product: Product, risk: SoleRisk, place: Callable[..., str], label: str) -> Document:
    """Return where every figure of one sole source comes from; ``place`` leads to a record's file and line."""
    home = product.head.currency
    rows: list[tuple[Cell, ...]] = [
        ("only maker", listed(risk.makers) or "not known", "", place(risk.kind, risk.part, "source")),
        ("weeks to replace", _weeks(risk.qualify), "qualify", place(risk.kind, risk.part, "qualify")),
        (
            "held",
            Amount(risk.held, 3, trim=True),
            "usable stock, and held for us by sellers",
            place(risk.kind, risk.part),
        ),
        ("used a week", Amount(risk.need, 1), f"sales of {listed(risk.skus)} with losses", ""),
        ("weeks of cover", _weeks(risk.cover), "held / used a week", ""),
        ("a week costs", _money(risk.worth), f"units a week x contribution, {listed(risk.skus)}", ""),
        ("exposure", _money(risk.exposure), "(weeks to replace - weeks of cover) x a week", ""),
        (
            "% a year",
            None if risk.chance is None else Amount(risk.chance * 100),
            "loss_chance",
            place(risk.kind, risk.part, "loss_chance"),
        ),
        ("expected a year", _money(risk.expected), "exposure x chance", ""),
        *(_measure(risk, each, place) for each in risk.measures),
    ]
    return Document(
        key="risk_why",
        title=f"Why {risk.part} is worth {'an unknown amount' if risk.exposure is None else money(risk.exposure)} {home} at risk",
        facts=(("part", risk.part), ("state", label), ("currency", home)),
        tables=(
            Table(
                key="figures",
                columns=(
                    Column("figure", "figure"),
                    Column("value", "value", "number"),
                    Column("working", "from"),
                    Column("place", "place", whole=True),
                ),
                rows=rows,
            ),
        ),
        notes=tuple(f"not known: {words}" for words in dict.fromkeys(risk.unknown)),
        cautions=CAUTIONS,
    )


def _measure(risk: SoleRisk, each: Measure, place: Callable[..., str]) -> tuple[Cell, ...]:
    if each.words == "extra cover":
        return each.words, _money(each.once), "weeks without it x used a week x price paid", ""
    return each.words, _money(each.once), "qualify_cost", place(risk.kind, risk.part, "qualify_cost")


def _weeks(number: Fraction | None) -> Cell:
    return None if number is None else Amount(number, 1, trim=True)


def _money(amount: Fraction | None) -> Cell:
    return None if amount is None else Amount(amount)
