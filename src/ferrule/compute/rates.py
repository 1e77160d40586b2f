"""Amounts in other currencies, by the exchange rates a product states and by no others.

A rate holds in both directions, so an amount turned there and back is the same amount. Where no rate joins
two currencies, a chain over others does; where there is no chain, there is no answer.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from fractions import Fraction

from msgspec import Struct

from ferrule.model.money import Money
from ferrule.model.product import Product
from ferrule.model.records.firms import Rate

__all__ = ["Rates", "counting", "rates_between", "rates_of"]

_Pair = tuple[str, str]


class Rates(Struct, frozen=True):
    """The exchange rates of a product, ready to convert with.

    ``rates`` is the product's own list; ``pairs`` holds, for each two currencies in either order, the index
    of the rate that counts for them.
    """

    rates: tuple[Rate, ...]
    pairs: Mapping[_Pair, int]

    def convert(self, amount: Fraction, from_: str, to: str) -> Fraction | None:
        """Return the amount in the other currency, exactly; None where no chain of rates leads there."""
        chain = self.chain(from_, to)
        if chain is None:
            return None
        held = from_
        for index in chain:
            amount, held = _exchanged(amount, held, self.rates[index])
        return amount

    def money(self, money: Money, own: str, to: str) -> Fraction | None:
        """Return the number of an amount in ``to``; ``own`` is its currency where it states none.

        None where no chain of rates leads there.
        """
        return self.convert(Fraction(money.number), money.within(own).currency, to)

    def chain(self, from_: str, to: str) -> tuple[int, ...] | None:
        """Return the indices in ``rates`` of what a conversion uses, in its order; None where there is none.

        The fewest steps win. Among equally short chains it is the one whose currencies come first in the
        alphabet, read from the end that comes first: so the way back is the same way.
        """
        if from_ == to:
            return ()
        if (from_, to) in self.pairs:
            return (self.pairs[from_, to],)
        if from_ < to:
            return self._shortest(from_, to)
        back = self._shortest(to, from_)
        return None if back is None else back[::-1]

    def _shortest(self, first: str, last: str) -> tuple[int, ...] | None:
        neighbours: dict[str, list[str]] = {}
        for one, other in sorted(self.pairs):
            neighbours.setdefault(one, []).append(other)
        ways: dict[str, tuple[int, ...]] = {first: ()}
        waiting = deque([first])
        while waiting and last not in ways:
            here = waiting.popleft()
            for there in neighbours.get(here, ()):
                if there not in ways:
                    ways[there] = (*ways[here], self.pairs[here, there])
                    waiting.append(there)
        return ways.get(last)


def rates_of(product: Product) -> Rates:
    """Return the product's exchange rates; indices in them are those of ``product.rates``."""
    return rates_between(product.rates)


def rates_between(rates: tuple[Rate, ...]) -> Rates:
    """Return some exchange rates, ready to convert with."""
    best = counting(rates)
    return Rates(rates, best | {(other, one): index for (one, other), index in best.items()})


def counting(rates: Iterable[Rate]) -> dict[_Pair, int]:
    """Return the index of the rate that counts for each two currencies, these in alphabetical order.

    A pegged rate does not age and so comes before any other; then the latest day, a rate without a day last;
    of equals, the first.
    """
    best: dict[_Pair, tuple[tuple[bool, str], int]] = {}
    for index, rate in enumerate(rates):
        one, other = sorted((rate.rate.base, rate.rate.quote))
        rank = (rate.pegged, str(rate.date or ""))
        if (one, other) not in best or rank > best[one, other][0]:
            best[one, other] = rank, index
    return {pair: index for pair, (_, index) in best.items()}


def _exchanged(amount: Fraction, held: str, rate: Rate) -> tuple[Fraction, str]:
    """Return an amount held in one of a rate's two currencies in the other one."""
    stated = rate.rate
    price = Fraction(stated.buys) / Fraction(stated.of)
    return (amount * price, stated.quote) if held == stated.base else (amount / price, stated.base)
