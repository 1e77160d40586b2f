"""What each part needs for each buyer: gross over the runs asked about, served by what is there and comes.

Pooling holds inside one buyer. Runs that come before are served first; firm ones that come after may use what
is left over.
"""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Iterable, Sequence
from fractions import Fraction

from ferrule.compute.demand import Demand, Run, Use, demand_of, us
from ferrule.compute.gross import Gross, Pack, gross_of
from ferrule.compute.needs import PoolNeed
from ferrule.compute.netting import Stores, Supplies, Wanted, net_of
from ferrule.compute.quotes import Quote, quote_of
from ferrule.compute.rates import rates_of
from ferrule.compute.runs import PlanRuns, need_day
from ferrule.model.product import Product
from ferrule.model.quantity import convert
from ferrule.model.records.part import Item, Part

__all__ = ["Market", "Pool", "PoolNeeds", "pools_of"]

_ZERO = Fraction(0)
Pool = tuple[str, str | None]


class Market:
    """A product with its exchange rates, and the quotes of every part, read when first asked for."""

    def __init__(self, product: Product) -> None:
        self.product, self.rates = product, rates_of(product)
        self._quotes: dict[str, tuple[Quote, ...]] = {}
        self._demands: dict[int, tuple[Run, Demand]] = {}

    def demand(self, run: Run) -> Demand:
        """Return what a run calls for. Raises ValueError where assemblies contain themselves."""
        if id(run) not in self._demands:
            self._demands[id(run)] = run, demand_of(self.product, run)
        return self._demands[id(run)][1]

    def item(self, part: str) -> Item | None:
        """Return the record of a part."""
        return self.product.item(part)

    def quotes(self, part: str) -> tuple[Quote, ...]:
        """Return what the sources of a part ask, in file order."""
        if part not in self._quotes:
            item = self.product.item(part)
            count = range(len(item.source)) if item is not None else ()
            self._quotes[part] = tuple(quote_of(self.product, item, i, self.rates) for i in count if item)
        return self._quotes[part]


def pools_of(uses: Iterable[Use]) -> dict[Pool, list[Use]]:
    """Return uses by part and buyer, sorted by both."""
    pools: dict[Pool, list[Use]] = {}
    for use in uses:
        pools.setdefault((use.part, use.buyer), []).append(use)
    return dict(sorted(pools.items(), key=lambda pool: (pool[0][0], pool[0][1] or "")))


class PoolNeeds:
    """The needs of every pool of some runs; ``netted`` False leaves stock, receipts and earlier runs aside.

    ``buyers`` holds those of each part, in the order in which stock of nobody's serves them.
    """

    def __init__(self, market: Market, runs: PlanRuns, *, netted: bool) -> None:
        self.market, self.runs, self.netted = market, runs, netted
        self.product = market.product
        self.own, self.stores = us(market.product), Stores(market.product)
        self.buyers: dict[str, list[str]] = {}
        self._before: dict[Pool, list[Wanted]] | None = None

    def of(self, pool: Pool, uses: Sequence[Use]) -> PoolNeed:
        """Return what the uses of a pool need, pack by pack."""
        runs = self._runs(uses)
        till = functools.partial(self._gross_till, uses, [name for name, _ in runs])
        return PoolNeed(till, runs, self._earlier(pool), self.supplies(*pool))

    def held(self, pool: Pool) -> Fraction:
        """Return the stock and receipts of a pool that serve the runs."""
        part, buyer = pool
        if not self.netted or buyer is None:
            return _ZERO
        stock = net_of(self._span(), self.stores.supplies(part, buyer, self.own, [buyer]))
        return max(_ZERO, stock.over - stock.safety)

    def _span(self) -> list[Wanted]:
        """Return no need on the first and on the last day of the runs: what lasts and comes till then counts."""
        days = sorted(run.day for run in self.runs.runs)
        return [Wanted(day, _ZERO) for day in (days[0], days[-1])]

    def gross_alone(self, uses: Sequence[Use]) -> Fraction:
        """Return the gross need for packs of the first source; the bare demand where they cannot serve."""
        if not uses:
            return _ZERO
        quotes = self.market.quotes(uses[0].part)
        try:
            return self._gross(uses, quotes[0].bare.pack if quotes else Pack()).total
        except ValueError:
            return sum((use.quantity for use in uses), _ZERO)

    def _gross(self, uses: Sequence[Use], pack: Pack) -> Gross:
        item = self.market.item(uses[0].part)
        unit = item.unit if item is not None else "each"
        return gross_of(uses, unit, self.product.conventions, pack, _kerf(item))

    def _earlier(self, pool: Pool) -> list[Wanted]:
        """Return the gross needs of the runs that come before, by date; stock serves them first."""
        if not self.netted:
            return []
        if self._before is None:
            self._before = {}
            for run, days in zip(self.runs.earlier, self.runs.earlier_days, strict=True):
                for key, group in pools_of(self.market.demand(run).uses).items():
                    dated = [day for use in group if (day := need_day(days, use.assembly, use.part))]
                    wanted = Wanted(min(dated, default=run.day), self.gross_alone(group))
                    self._before.setdefault(key, []).append(wanted)
        return self._before.get(pool, [])

    def later_demand(self) -> dict[Pool, list[Wanted]]:
        """Return the gross needs of the firm runs that come after, by pool and in the order of their days."""
        found: dict[Pool, list[Wanted]] = {}
        for run in sorted((run for run in self.runs.later if run.firm), key=lambda run: run.day):
            for pool, group in pools_of(self.market.demand(run).uses).items():
                found.setdefault(pool, []).append(Wanted(run.day, self.gross_alone(group)))
        return found

    def supplies(self, part: str, buyer: str | None) -> Supplies:
        """Return the stock and receipts of a part that serve a buyer."""
        if not self.netted or buyer is None:
            return Supplies()
        return self.stores.supplies(part, buyer, self.own, self.buyers.get(part, [buyer]))

    def _runs(self, uses: Iterable[Use]) -> list[tuple[str, dt.date | None]]:
        """Return the runs of some uses with the day each needs its parts, earliest first, undated last."""
        days: dict[str, dt.date | None] = {}
        for use in uses:
            day = self.runs.need_day(use.run, use.assembly, use.part)
            known = days.get(use.run)
            days[use.run] = day if known is None else min(known, day) if day is not None else known
        return sorted(days.items(), key=lambda run: (run[1] is None, run[1] or dt.date.min, run[0]))

    def _gross_till(self, uses: Sequence[Use], runs: Sequence[str], count: int, pack: Pack) -> Gross:
        """Return what the first runs need together; raises ValueError where packs of the size cannot serve."""
        return self._gross([use for use in uses if use.run in runs[:count]], pack)


def _kerf(item: Item | None) -> Fraction:
    """Return what a cut takes beside the piece, in the part's unit."""
    kerf = item.kerf if isinstance(item, Part) else None
    if kerf is None or item is None:
        return _ZERO
    return Fraction((convert(kerf, item.unit) if kerf.unit else kerf).number)
