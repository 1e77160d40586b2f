"""Two builds in one order, or one after the other: what combining saves, costs and risks.

Combining reaches a better price or fewer part packs, and ties up money in pieces for a build that may not
come. It pays if the second build comes with a probability above
``(combined + carrying - first alone) / second alone``.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.purchase import Basket, basket_of, cheapest
from ferrule.compute.quotes import Form, Quote

__all__ = ["Combined", "Split", "combined"]

_ZERO = Fraction(0)


class Split(Struct, frozen=True):
    """Buy more now and only the remainder later: quantities and total with carrying."""

    now: Fraction
    later: Fraction
    total: Fraction


class Combined(Struct, frozen=True, kw_only=True):
    """One part's order for two builds together, against two orders. Money in the home currency.

    ``gross_saving`` is both alone less together; ``carrying`` is paid on the later pieces at the combined
    price, whether or not the second build comes; ``extra_now`` is more cash at the first order;
    ``stranded`` pieces and ``stranded_value`` are left if it is cancelled. ``pays_above`` is the probability
    of the second build from which combining pays; above one it never does. ``split`` is the best of buying
    up now and ordering only the remainder later.
    """

    first: Basket
    second: Basket
    together: Basket
    carrying: Fraction
    split: Split

    @property
    def gross_saving(self) -> Fraction:
        """Return two orders less one."""
        return self.first.spend + self.second.spend - self.together.spend

    @property
    def net_saving(self) -> Fraction:
        """Return the saving less what carrying costs."""
        return self.gross_saving - self.carrying

    @property
    def extra_now(self) -> Fraction:
        """Return how much more cash the first order takes."""
        return self.together.spend - self.first.spend

    @property
    def stranded(self) -> Fraction:
        """Return the pieces without a use if the second build is cancelled."""
        return self.together.qty - self.first.need

    @property
    def stranded_value(self) -> Fraction:
        """Return what those pieces cost, at the combined price."""
        return self.stranded * (self.together.each or _ZERO)

    @property
    def pays_above(self) -> Fraction | None:
        """Return the probability of the second build above which combining pays; None if it needs nothing."""
        if not self.second.spend:
            return None
        return max(_ZERO, (self.together.spend + self.carrying - self.first.spend) / self.second.spend)


def combined(
    quote: Quote, first: Fraction, both: Fraction, second: Fraction, carrying_rate: Fraction
) -> Combined | None:
    """Return the comparison for needs of the first build, of both pooled, and of the second alone.

    ``carrying_rate`` is the cost of carrying from the first need to the second, as a share of value (a yearly
    rate times weeks / 52). Every order is the cheapest for its need; None where no price is known.
    """
    one, two, pooled = cheapest(quote, first), cheapest(quote, second), cheapest(quote, both)
    if one is None or two is None or pooled is None:
        return None
    return Combined(
        first=one,
        second=two,
        together=pooled,
        carrying=(both - first) * (pooled.each or _ZERO) * carrying_rate,
        split=_best_split(quote, one, both, carrying_rate),
    )


def _best_split(quote: Quote, first: Basket, both: Fraction, rate: Fraction) -> Split:
    """Return the cheapest of ordering the first need or any break above it now, and the rest later."""
    options = [first, *(_up_to(quote, form, start, first) for form, start in _breaks(quote, first.qty))]
    splits = [split for option in options if (split := _split(quote, option, first.need, both, rate))]
    return min(splits, key=lambda split: (split.total, split.now))


def _breaks(quote: Quote, above: Fraction) -> Sequence[tuple[Form, Fraction]]:
    return [(form, start) for form in quote.forms for start, _ in form.breaks if start > above]


def _up_to(quote: Quote, form: Form, start: Fraction, first: Basket) -> Basket:
    return basket_of(quote, [(form, form.rounded(start))], first.need)


def _split(quote: Quote, now: Basket, first: Fraction, both: Fraction, rate: Fraction) -> Split | None:
    rest = max(_ZERO, both - now.qty)
    later = cheapest(quote, rest)
    if later is None:
        return None
    kept = min(max(_ZERO, now.qty - first), both - first)
    return Split(now.qty, later.qty, now.spend + later.spend + kept * (now.each or _ZERO) * rate)
