"""What cancelling or moving an order costs on a day, by what its source states.

A fee step applies when the order is cancelled later than so long before delivery: at exactly that long before it
does not yet. What is delivered cannot be cancelled. Steps that are stated count before the mark that nothing can
be cancelled; without either, what is made to our drawing or print cannot be, and anything else is not known.
"""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.leads import rough_days
from ferrule.model.records.part import Item, Part, Source

__all__ = ["MADE_FOR_US", "Fee", "fee_of", "is_made_for_us", "may_move"]

#: Classes of parts made to our drawing or print: nobody takes them back.
MADE_FOR_US = ("fabricated", "board", "label", "packaging")
_ALL, _NONE = Fraction(1), Fraction(0)


class Fee(Struct, frozen=True, kw_only=True):
    """The share of an order's value that cancelling costs, and why. None is not known."""

    share: Fraction | None
    words: str

    @property
    def counted(self) -> Fraction:
        """Return the share that is counted: all of it where none is known."""
        return _ALL if self.share is None else self.share


def is_made_for_us(item: Item | None) -> bool:
    """Return whether nobody else can use an item: assemblies, and parts of our drawing or print."""
    return item is not None and (not isinstance(item, Part) or item.class_ in MADE_FOR_US)


def fee_of(
    source: Source | None, day: dt.date, delivery: dt.date | None, *, ours: bool, ncnr: bool | None = None
) -> Fee:
    """Return what cancelling an order on a day costs.

    ``delivery`` is the seller's promised day; ``ours`` says that it is made for us; ``ncnr`` is the order's own
    word, before the source's.
    """
    if delivery is not None and day >= delivery:
        return Fee(share=_ALL, words=f"delivered on {delivery}")
    steps = source.cancellation if source is not None and not ncnr else ()
    if steps:
        return _step(source, day, delivery)
    stated = ncnr if ncnr is not None else source.ncnr if source is not None else None
    if stated is False:
        return Fee(share=_NONE, words="can be cancelled until it is delivered")
    if stated:
        return Fee(share=_ALL, words="cannot be cancelled")
    if ours:
        return Fee(share=_ALL, words="made for us, so it cannot be cancelled")
    return Fee(share=None, words="nothing is stated on cancelling, so it counts in full")


def _step(source: Source | None, day: dt.date, delivery: dt.date | None) -> Fee:
    steps = sorted(
        source.cancellation if source is not None else (), key=lambda step: rough_days(step.before)
    )
    if delivery is None:
        return Fee(share=None, words="no day of delivery is known, so it counts in full")
    left = (delivery - day).days
    for step in steps:
        if left < rough_days(step.before):
            words = f"{step.fee} within {step.before} of delivery on {delivery}, {left} days away"
            return Fee(share=Fraction(step.fee.fraction), words=words)
    words = f"free until {steps[-1].before} before delivery on {delivery}, {left} days away"
    return Fee(share=_NONE, words=words)


def may_move(source: Source | None, day: dt.date, delivery: dt.date | None) -> bool | None:
    """Return whether the delivery can still be moved on a day; None where no notice or delivery is stated."""
    if delivery is not None and day >= delivery:
        return False
    if source is None or source.reschedule is None or delivery is None:
        return None
    return (delivery - day).days >= rough_days(source.reschedule)
