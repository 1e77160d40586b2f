"""How much of a unit's cost rests on prices that are missing, expired, spoken or otherwise weak."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.cost import UnitCost

__all__ = ["Weakness", "weakness"]

_ZERO = Fraction(0)


class Weakness(Struct, frozen=True, kw_only=True):
    """How much of a cost rests on weak ground: share of the known cost by kind, and names without a price.

    ``names`` says by kind whose prices these are, the largest amount first.
    """

    shares: Mapping[str, Fraction]
    missing: tuple[str, ...]
    names: Mapping[str, tuple[str, ...]]

    @property
    def share(self) -> Fraction:
        """Return the share of all kinds together."""
        return sum(self.shares.values(), _ZERO)


def weakness(cost: UnitCost) -> Weakness:
    """Return the share of a cost that rests on missing, expired or otherwise weak prices.

    A price that is weak in several ways counts once, for its first. What has no price at all has no share;
    it is named.
    """
    total = cost.total
    amounts: dict[str, dict[str, Fraction]] = {}
    for each in cost.contributions:
        if each.weak and each.amount and total:
            of = amounts.setdefault(each.weak[0], {})
            of[each.name] = of.get(each.name, _ZERO) + each.amount
    missing = dict.fromkeys(each.name for each in cost.contributions if each.amount is None)
    return Weakness(
        shares={kind: sum(of.values(), _ZERO) / total for kind, of in sorted(amounts.items())},
        missing=tuple(missing),
        names={kind: tuple(sorted(of, key=lambda name: (-of[name], name))) for kind, of in amounts.items()},
    )
