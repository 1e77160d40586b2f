"""How far a setting reaches: into payments only, into the cost of a unit, into purchases, or into everything.

What is worked out for a plan lies in layers: builds are exploded and dated, parts are bought for them, a unit is
costed at those purchases, and bills are paid. A setting is judged by the field it sets; what is not named here
may change everything.
"""

from __future__ import annotations

import enum

from ferrule.diagnostics.finding import Path

__all__ = ["REACHES", "Reach", "reach_of"]


class Reach(enum.IntEnum):
    """The lowest layer a setting changes; all above it follow."""

    PAYMENT = 0
    COST = 1
    PURCHASE = 2
    EVERYTHING = 3


_ANY = None
#: Starts of paths in files, any name or index where there is None, with how far what is set there reaches.
REACHES: tuple[tuple[tuple[str | None, ...], Reach], ...] = (
    (("firm", _ANY, "payment"), Reach.PAYMENT),
    (("lane", _ANY, "payment"), Reach.PAYMENT),
    (("channel", _ANY, "payment"), Reach.PAYMENT),
    (("channel", _ANY, "settlement"), Reach.PAYMENT),
    (("channel", _ANY, "margin"), Reach.PAYMENT),
    (("channel", _ANY, "fee"), Reach.PAYMENT),
    (("channel", _ANY, "allowance"), Reach.PAYMENT),
    (("channel", _ANY, "delivery"), Reach.PAYMENT),
    (("channel", _ANY, "returns"), Reach.PAYMENT),
    (("channel", _ANY, "return_cost"), Reach.PAYMENT),
    (("channel", _ANY, "return_lag"), Reach.PAYMENT),
    (("channel", _ANY, "recovery"), Reach.PAYMENT),
    (("channel", _ANY, "warranty"), Reach.PAYMENT),
    (("tool", _ANY, "schedule"), Reach.PAYMENT),
    (("part", _ANY, "source", _ANY, "payment"), Reach.PAYMENT),
    (("assembly", "sale", _ANY, "list_price"), Reach.PAYMENT),
    (("build", _ANY, "payment"), Reach.PAYMENT),
    (("plan", "opening"), Reach.PAYMENT),
    (("plan", "floor"), Reach.PAYMENT),
    (("overhead",), Reach.PAYMENT),
    (("one_off",), Reach.PAYMENT),
    (("funding",), Reach.PAYMENT),
    (("loan",), Reach.PAYMENT),
    (("sales", _ANY, "qty"), Reach.PAYMENT),
    (("sales", _ANY, "share"), Reach.PAYMENT),
    (("sales", _ANY, "curve"), Reach.PAYMENT),
    (("sales", _ANY, "from"), Reach.PAYMENT),
    (("sales", _ANY, "lag"), Reach.PAYMENT),
    (("sales", _ANY, "over_weeks"), Reach.PAYMENT),
    (("firm", _ANY, "factory", "markup"), Reach.COST),
    (("firm", _ANY, "factory", "handling"), Reach.COST),
    (("assembly", "markup"), Reach.COST),
    (("duty",), Reach.COST),
    (("lane", _ANY, "per_m3"), Reach.COST),
    (("lane", _ANY, "per_kg"), Reach.COST),
    (("lane", _ANY, "per_container"), Reach.COST),
    (("lane", _ANY, "minimum"), Reach.COST),
    (("lane", _ANY, "charge"), Reach.COST),
    (("lane", _ANY, "surcharge"), Reach.COST),
    (("lane", _ANY, "insurance"), Reach.COST),
    (("part", _ANY, "source", _ANY, "price"), Reach.PURCHASE),
    (("part", _ANY, "source", _ANY, "pack"), Reach.PURCHASE),
    (("part", _ANY, "source", _ANY, "charge"), Reach.PURCHASE),
    (("part", _ANY, "source", _ANY, "moq"), Reach.PURCHASE),
    (("part", _ANY, "source", _ANY, "multiple"), Reach.PURCHASE),
)


def reach_of(path: Path) -> Reach:
    """Return how far a setting of what stands at a path of a file reaches."""
    return next((reach for start, reach in REACHES if _begins(path, start)), Reach.EVERYTHING)


def _begins(path: Path, start: tuple[str | None, ...]) -> bool:
    return len(path) >= len(start) and all(
        name is _ANY or key == name for key, name in zip(path, start, strict=False)
    )
