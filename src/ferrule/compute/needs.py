"""What one part's pooled uses need, by the pack it comes in: gross, run by run, and net of stock and receipts.

Losses at mounting go by the pack, so every form in which a source sells is asked for its own need.
"""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction

from msgspec.structs import replace

from ferrule.compute.gross import Gross, Pack
from ferrule.compute.netting import Netted, Supplies, Wanted, net_after
from ferrule.compute.purchase import Later
from ferrule.compute.quotes import Quote
from ferrule.model.percent import Percent

__all__ = ["NO_GROSS", "PoolNeed"]

_ZERO = Fraction(0)
NO_GROSS = Gross(demand=_ZERO, attrition=_ZERO, mounts=0, setup=_ZERO, offcut=_ZERO, total=_ZERO, runs=0)
#: Names of runs with the day each needs its parts, earliest first, undated last.
Runs = Sequence[tuple[str, dt.date | None]]


class PoolNeed:
    """The needs of one part for one buyer.

    ``till`` returns the gross need of the first few runs for a pack and raises ValueError where that pack cannot
    serve; ``before`` are the needs of earlier runs. What cannot serve is noted in ``unknown``.
    """

    def __init__(
        self, till: Callable[[int, Pack], Gross], runs: Runs, before: Sequence[Wanted], supplies: Supplies
    ) -> None:
        self.runs, self.before, self.supplies = runs, before, supplies
        self.unknown: list[str] = []
        self._till = functools.cache(till)
        self.wanted = functools.cache(self._wanted)
        self.netted = functools.cache(self._netted)

    def gross(self, pack: Pack) -> Gross | None:
        """Return the gross need of all runs; None, and the reason noted, where packs of the size cannot serve."""
        try:
            return self._till(len(self.runs), pack)
        except ValueError as error:
            self.unknown.append(str(error))
            return None

    def unfit(self, packs: Iterable[Pack]) -> frozenset[Pack]:
        """Return those of some packs that cannot serve."""
        return frozenset(pack for pack in packs if not self._serves(pack))

    def _serves(self, pack: Pack) -> bool:
        try:
            self._till(len(self.runs), pack)
        except ValueError:
            return False
        return True

    def _wanted(self, pack: Pack) -> list[Wanted]:
        """Return the gross need that each run adds to those before it: pooled, rounded up once."""
        wanted, before = [], _ZERO
        for count, (_, day) in enumerate(self.runs, 1):
            total = self._till(count, pack).total
            wanted.append(Wanted(day, total - before))
            before = total
        return wanted

    def nothing(self) -> list[Wanted]:
        """Return the runs without a need: for what no pack can serve."""
        return [Wanted(day, _ZERO) for _, day in self.runs]

    def _netted(self, pack: Pack) -> tuple[Netted, Fraction]:
        return net_after(self.before, self.wanted(pack), self.supplies)

    def net(self, pack: Pack) -> Fraction:
        """Return what is to be bought in packs of a size."""
        return self.netted(pack)[0].net

    def nets(self, quotes: Iterable[Quote]) -> dict[Pack, tuple[Fraction, ...]]:
        """Return the net need of each run by the packs of some quotes, which have to be able to serve."""
        packs = dict.fromkeys(form.pack for quote in quotes for form in quote.forms or (quote.bare,))
        return {pack: self.netted(pack)[0].nets for pack in packs}

    def fitting(self, quote: Quote) -> Quote | None:
        """Return a quote with the forms whose packs can serve; the others are noted. None where none can."""
        asked = quote.forms or (quote.bare,)
        forms = [form for form in asked if self.gross(form.pack) is not None]
        if len(forms) == len(asked):
            return quote
        return replace(quote, forms=tuple(forms)) if forms else None

    def later(self, firm: Sequence[Wanted], packs: Iterable[Pack], rate: Percent | None) -> Later:
        """Return what firm later needs can use of a leftover: stock and receipts that come by then serve them first.

        Carrying goes from the last day of these runs to the first day on which something is missing. The needs
        here are those of the first pack that can serve.
        """
        if not firm:
            return Later()
        nets = net_after([*self.before, *self._first_wanted(packs)], firm, self.supplies)[0].nets
        short = [each.day for each, net in zip(firm, nets, strict=True) if net and each.day is not None]
        last = max((day for _, day in self.runs if day is not None), default=None)
        weeks = Fraction(max(0, (min(short) - last).days), 7) if short and last is not None else _ZERO
        return Later(sum(nets, _ZERO), Fraction(rate.fraction) * weeks / 52 if rate is not None else _ZERO)

    def _first_wanted(self, packs: Iterable[Pack]) -> list[Wanted]:
        for pack in packs:
            try:
                return self.wanted(pack)
            except ValueError:
                continue
        return self.nothing()
