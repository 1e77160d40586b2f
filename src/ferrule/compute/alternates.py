"""Alternates: used in order of preference for what the first part cannot cover, linked sets together.

The earliest run keeps the first part; the latest gives it up first. Only approved alternates that hold on
the run's day count.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from ferrule.compute.demand import Run, Use, supplied, us, with_losses
from ferrule.compute.structure import Context, is_effective
from ferrule.model.product import Product
from ferrule.model.records.assembly import Alternate
from ferrule.model.records.part import Supply

__all__ = ["Switch", "with_alternates"]

_ZERO, _ONE = Fraction(0), Fraction(1)
Pool = tuple[str, str | None]


class Switch(Struct, frozen=True, kw_only=True):
    """Units of one line in one run that take an alternate; ``set_`` names a linked set that switched with it."""

    run: str
    parent: str
    index: int
    part: str
    alternate: str
    units: Fraction
    set_: str | None = None


def with_alternates(
    product: Product,
    uses: Sequence[Use],
    runs: Mapping[str, Run],
    lack: Callable[[Pool, Sequence[Use]], Fraction],
) -> tuple[tuple[Use, ...], tuple[Switch, ...]]:
    """Return the uses with alternates where a part falls short, and what was switched.

    ``lack`` returns by how much a pool (part and buyer) needs more than can be had, given all uses of the part;
    ``runs`` gives the run of each name, whose day counts for the order and for effectivity. An alternate is
    bought by whom its line or its own supply mode says. What no alternate covers stays with the first part.
    """
    switcher = _Switcher(product, list(uses), runs, lack)
    switcher.run()
    return tuple(switcher.uses), tuple(switcher.switches)


class _Switcher:
    def __init__(
        self,
        product: Product,
        uses: list[Use],
        runs: Mapping[str, Run],
        lack: Callable[[Pool, Sequence[Use]], Fraction],
    ) -> None:
        self.product, self.uses, self.runs, self.lack = product, uses, runs, lack
        self.switches: list[Switch] = []

    def run(self) -> None:
        """Switch, part by part in the order of their numbers."""
        pools = {(use.part, use.buyer) for use in self.uses if self._alternates(use)}
        for pool in sorted(pools, key=lambda pool: (pool[0], pool[1] or "")):
            self._relieve(pool)

    def _line_alternates(self, use: Use) -> tuple[Alternate, ...]:
        return self.product.lines[use.parent][use.index].alternates

    def _alternates(self, use: Use) -> list[Alternate]:
        """Return the alternates that a use may take on its run's day, in order of preference."""
        if self.product.lines[use.parent][use.index].part != use.part:
            return []
        return [
            alternate
            for alternate in self._line_alternates(use)
            if self._holds(alternate, use.run) and self._set_holds(alternate, use)
        ]

    def _holds(self, alternate: Alternate, run: str) -> bool:
        day = self.runs[run].day
        return (
            alternate.approved is not None
            and alternate.approved <= day
            and is_effective(alternate.effective, Context(day=day, build=run))
        )

    def _set_holds(self, alternate: Alternate, use: Use) -> bool:
        """Return whether every member of a linked set holds: a set switches whole or not at all."""
        return alternate.set is None or all(
            self._holds(candidate, other.run)
            for other in self.uses
            if (other.run, other.assembly) == (use.run, use.assembly)
            for candidate in self._line_alternates(other)
            if candidate.set == alternate.set
        )

    def _pool(self, pool: Pool) -> list[Use]:
        return [use for use in self.uses if (use.part, use.buyer) == pool]

    def _over(self, pool: Pool) -> Fraction:
        """Return by how much a pool needs more than can be had; 0 where nothing limits it."""
        return self.lack(pool, [use for use in self.uses if use.part == pool[0]])

    def _relieve(self, pool: Pool) -> None:
        earliest = sorted(self._pool(pool), key=lambda use: (self.runs[use.run].day, use.run))
        for use in reversed(earliest):
            for alternate in self._alternates(use):
                if not self._over(pool):
                    return
                self._move(use, alternate, pool)

    def _move(self, use: Use, alternate: Alternate, pool: Pool) -> None:
        """Move as few units of a line as relieve the pool, and no more than the alternate can serve."""
        use = next((kept for kept in self.uses if _same_line(kept, use) and kept.part == use.part), use)
        most = math.floor(use.units) if use.units.denominator == 1 else use.units
        wanted = self._fewest(use, alternate, pool, math.ceil(most))
        if not wanted:
            return
        for linked, other in list(self._linked(use, alternate)):
            self._replace(linked, other, wanted * linked.units / use.units)

    def _fewest(self, use: Use, alternate: Alternate, pool: Pool, most: int) -> Fraction:
        low, high = 0, most
        while low < high:
            middle = (low + high) // 2
            if self._over_after(use, alternate, pool, Fraction(middle)):
                low = middle + 1
            else:
                high = middle
        served = self._served(use, alternate, low)
        return min(served, use.units)

    def _over_after(self, use: Use, alternate: Alternate, pool: Pool, units: Fraction) -> bool:
        trial = _Switcher(self.product, list(self.uses), self.runs, self.lack)
        for linked, other in self._linked(use, alternate):
            trial._replace(linked, other, min(units / use.units, _ONE) * linked.units)
        return trial._over(pool) > 0

    def _served(self, use: Use, alternate: Alternate, wanted: int) -> Fraction:
        """Return the most units up to ``wanted`` that leave no alternate short."""
        low, high = 0, wanted
        while low < high:
            middle = (low + high + 1) // 2
            if self._fits(use, alternate, Fraction(middle)):
                low = middle
            else:
                high = middle - 1
        return Fraction(low)

    def _fits(self, use: Use, alternate: Alternate, units: Fraction) -> bool:
        trial = _Switcher(self.product, list(self.uses), self.runs, self.lack)
        pairs = list(self._linked(use, alternate))
        for linked, other in pairs:
            trial._replace(linked, other, min(units / use.units, _ONE) * linked.units)
        return not any(trial._over((other.part, self._supplied(linked, other)[1])) for linked, other in pairs)

    def _supplied(self, use: Use, alternate: Alternate) -> tuple[Supply, str | None]:
        """Return how an alternate is supplied and who buys it."""
        line = self.product.lines[use.parent][use.index]
        assembly = self.product.assemblies.get(use.assembly)
        item = self.product.item(alternate.part)
        return supplied(self.runs[use.run], assembly, line, item, us(self.product))

    def _linked(self, use: Use, alternate: Alternate) -> Iterator[tuple[Use, Alternate]]:
        """Yield the use and, for a linked set, every other use of the same run and assembly in the set.

        They switch by the same share: at a later step fewer units of the assembly come in.
        """
        yield use, alternate
        if alternate.set is None:
            return
        for other in self.uses:
            if _same_line(other, use) or (other.run, other.assembly) != (use.run, use.assembly):
                continue
            for candidate in self._alternates(other):
                if candidate.set == alternate.set:
                    yield other, candidate
                    break

    def _replace(self, use: Use, alternate: Alternate, units: Fraction) -> None:
        place = next(
            (i for i, kept in enumerate(self.uses) if _same_line(kept, use) and kept.part == use.part), None
        )
        if place is None or not units:
            return
        kept = self.uses[place]
        line = self.product.lines[use.parent][use.index]
        supply, buyer = self._supplied(use, alternate)
        moved = replace(kept, part=alternate.part, units=min(units, kept.units), supply=supply, buyer=buyer)
        moved = with_losses(moved, line, self.product.parts.get(alternate.part))
        rest = replace(kept, units=kept.units - moved.units)
        self.uses[place : place + 1] = [each for each in (rest, moved) if each.units]
        self.switches.append(
            Switch(
                run=use.run,
                parent=use.parent,
                index=use.index,
                part=use.part,
                alternate=alternate.part,
                units=moved.units,
                set_=alternate.set,
            )
        )


def _same_line(one: Use, other: Use) -> bool:
    return (one.run, one.assembly, one.parent, one.index) == (
        other.run,
        other.assembly,
        other.parent,
        other.index,
    )
