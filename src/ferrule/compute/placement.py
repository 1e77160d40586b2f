"""Where everything is needed in a run: which assembly, and at which of its steps."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from ferrule.compute.demand import Demand, Run
from ferrule.compute.structure import Context, is_effective
from ferrule.model.product import Product
from ferrule.model.records.assembly import Effectivity

__all__ = ["Place", "places_of"]


class Place(Struct, frozen=True, kw_only=True):
    """A part or an assembly made in the run, needed at a step (its index) of an assembly."""

    assembly: str
    step: int
    part: str
    made: bool


def places_of(product: Product, demand: Demand) -> tuple[Place, ...]:
    """Return every place of a run, assemblies as the demand lists them, lines in file order.

    A phantom's lines are needed where the phantom is. What the demand does not call for has no place.
    """
    return tuple(
        place
        for number in dict.fromkeys(made.assembly for made in demand.made)
        for place in _Places(product, demand, number).found()
    )


class _Places:
    """The places in one assembly."""

    def __init__(self, product: Product, demand: Demand, number: str) -> None:
        self.product, self.run, self.number = product, demand.run, number
        self.made = {made.assembly for made in demand.made}
        self.used = {(use.parent, use.index) for use in demand.uses if use.assembly == number}
        assembly = product.assemblies.get(number)
        self.steps = [step.name for step in assembly.steps] if assembly is not None else []

    def found(self) -> Iterator[Place]:
        yield from self._lines(self.number, None, frozenset())

    def _lines(self, parent: str, step: str | None, inside: frozenset[str]) -> Iterator[Place]:
        for index, line in enumerate(self.product.lines.get(parent, ())):
            if not ((line.fitted or line.kitted) and _holds(line.effective, self.run)):
                continue
            at = line.step if step is None else step
            item = self.product.assemblies.get(line.part)
            if item is not None and item.phantom and line.part not in inside:
                yield from self._lines(line.part, at, inside | {parent})
            elif (parent, index) in self.used or line.part in self.made:
                yield Place(
                    assembly=self.number,
                    step=self.steps.index(at) if at in self.steps else 0,
                    part=line.part,
                    made=(parent, index) not in self.used,
                )


def _holds(limits: Effectivity | None, run: Run) -> bool:
    """Return whether a line holds for any unit of a run."""
    if limits is None:
        return True
    if run.serials is None:
        return is_effective(limits, Context(day=run.day, build=run.name))
    first, last = run.serials
    low = max(first, first if limits.from_serial is None else limits.from_serial)
    return low <= last and is_effective(limits, Context(day=run.day, serial=low, build=run.name))
