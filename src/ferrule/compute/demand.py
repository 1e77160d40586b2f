"""What a run of units calls for: every line's demand, in the assembly and at the step where it is used.

A run is a quantity of one SKU made at once: a build of a plan, or a quantity somebody asks about. Units lost
at a step have used up what was fitted up to there, so a line counts for the units that enter *its* step.
Assemblies start whole in a real run; asked for a cost, they start in exact shares.
"""

from __future__ import annotations

import datetime as dt
import graphlib
import math
from collections.abc import Iterator, Mapping
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from ferrule.compute.structure import Context, is_effective, known_quantity
from ferrule.compute.yields import Passage, passage
from ferrule.model.product import Product
from ferrule.model.quantity import UnitMismatch, convert
from ferrule.model.records.assembly import Assembly, Effectivity, Line
from ferrule.model.records.part import Item, Part, Supply
from ferrule.model.records.plan import Build

__all__ = [
    "Demand",
    "Made",
    "Run",
    "Use",
    "demand_of",
    "is_goods",
    "maker_of",
    "placed_by_machine",
    "us",
    "with_losses",
]

#: Classes that nobody buys: they are content, not goods.
_CONTENT = ("firmware", "document")
_ZERO, _ONE = Fraction(0), Fraction(1)


class Run(Struct, frozen=True, kw_only=True):
    """A quantity of one SKU made at once.

    ``day`` is when it is made, by which effectivity is judged; ``serials`` the numbers given out, ends
    included. ``whole`` runs start whole assemblies, others exact shares (an expected cost).
    """

    name: str
    sku: str
    qty: Fraction
    day: dt.date
    factory: str | None = None
    serials: tuple[int, int] | None = None
    whole: bool = True
    firm: bool = True
    #: What is added to the first-pass yield of steps, by assembly and index: to ask what a yield costs.
    raised: Mapping[str, Mapping[int, Fraction]] = {}


class Use(Struct, frozen=True, kw_only=True):
    """What one line calls for in one run.

    ``units`` of ``assembly`` enter the step; each takes ``each``: pieces where there is a ``cut`` length, else
    the part's unit. ``parent`` and ``index`` say where the line stands (a phantom's line stands in the
    phantom's file). ``attrition`` is None where it is expected and not stated. ``buyer`` is the firm that
    buys; None for what is supplied free.
    """

    part: str
    run: str
    assembly: str
    parent: str
    index: int
    units: Fraction
    each: Fraction
    cut: Fraction | None = None
    attrition: Fraction | None = _ZERO
    floor: Fraction = _ZERO
    setup_loss: Fraction | None = _ZERO
    machine: bool = False
    supply: Supply = "turnkey"
    buyer: str | None = None

    @property
    def pieces(self) -> Fraction:
        """Return the demand before any loss: pieces where lengths are cut, else the part's unit."""
        return self.units * self.each

    @property
    def quantity(self) -> Fraction:
        """Return the demand before any loss, in the part's unit."""
        return self.pieces if self.cut is None else self.pieces * self.cut


class Made(Struct, frozen=True, kw_only=True):
    """One assembly of a run: good ones needed, how many start, and what passes its steps.

    ``covered_by`` names the assembly whose quoted factory price includes this one.
    """

    assembly: str
    run: str
    good: Fraction
    starts: Fraction
    flow: Passage
    covered_by: str | None = None

    def entering(self, step: int) -> Fraction:
        """Return the units that enter a step."""
        return self.starts * self.flow.entering(step) / self.flow.starts


class Demand(Struct, frozen=True, kw_only=True):
    """Everything one run calls for. ``unknown`` says in words what could not be counted."""

    run: Run
    uses: tuple[Use, ...]
    made: tuple[Made, ...]
    unknown: tuple[str, ...] = ()


class _Spot(Struct, frozen=True):
    """A line of an assembly, phantoms resolved: where it stands, how often, and at which step."""

    parent: str
    index: int
    line: Line
    times: Fraction
    step: int


def us(product: Product) -> str:
    """Return the firm that is ourselves, ``us`` where no record says."""
    return next((name for name, firm in sorted(product.firms.items()) if "us" in firm.roles), "us")


def maker_of(run: Run | Build, assembly: Assembly | None) -> str | None:
    """Return the firm that makes an assembly: of the SKU itself the word of the run or build first, else its own."""
    own = assembly.factory if assembly is not None else None
    return run.factory or own if assembly is not None and assembly.id == run.sku else own or run.factory


def is_goods(item: Item | None) -> bool:
    """Return whether an item is something one buys or makes, not content such as firmware."""
    return not (isinstance(item, Part) and item.class_ in _CONTENT)


def placed_by_machine(part: Part, line: Line) -> bool:
    """Return whether a machine places the part in this line, and so loses some at every reel it mounts.

    Where the part does not say, an electrical part with designators is taken to be placed by machine.
    """
    if part.placement is not None:
        return part.placement == "machine"
    return part.class_ == "electrical" and line.designators is not None


def demand_of(product: Product, run: Run) -> Demand:
    """Return what a run calls for. Raises ValueError where assemblies contain themselves."""
    collector = _Collector(product, run)
    collector.collect()
    return Demand(
        run=run, uses=tuple(collector.uses), made=tuple(collector.made), unknown=tuple(collector.unknown)
    )


_Node = tuple[str, str | None]


class _Collector:
    """Walks the assemblies of one run from the SKU down, each once."""

    def __init__(self, product: Product, run: Run) -> None:
        self.product, self.run = product, run
        self.own = us(product)
        self.uses: list[Use] = []
        self.made: list[Made] = []
        self.unknown: list[str] = []

    def collect(self) -> None:
        """Fill the lists."""
        good: dict[_Node, Fraction] = {(self.run.sku, None): self.run.qty}
        for node in self._order():
            if node in good:
                self._make(node, good)

    def _order(self) -> list[_Node]:
        """Return the assemblies, parents first, each with the quoted price that covers it."""
        below: dict[_Node, list[_Node]] = {}
        waiting: list[_Node] = [(self.run.sku, None)]
        while waiting:
            node = waiting.pop()
            if node in below:
                continue
            cover = self._cover_below(node)
            below[node] = [
                (spot.line.part, cover)
                for spot in self._spots(node[0])
                if self._is_made(spot.line.part) and not self._excluded(spot.line.part, cover)
            ]
            waiting += below[node]
        sorter: graphlib.TopologicalSorter[_Node] = graphlib.TopologicalSorter()
        for node, children in below.items():
            sorter.add(node)
            for child in children:
                sorter.add(child, node)
        try:
            return list(sorter.static_order())
        except graphlib.CycleError as error:
            raise ValueError("the structure has a ring") from error

    def _cover_below(self, node: _Node) -> str | None:
        """Return the assembly whose quoted price holds what is below, if any."""
        number, cover = node
        price = self.product.assemblies[number].price if number in self.product.assemblies else None
        return cover or (number if price is not None and price.tier else None)

    def _excluded(self, number: str, cover: str | None) -> bool:
        """Return whether the quoted price leaves a part out, so that it is bought apart."""
        price = self.product.assemblies[cover].price if cover is not None else None
        return price is not None and number in price.excludes

    def _is_made(self, number: str) -> bool:
        assembly = self.product.assemblies.get(number)
        return assembly is not None and not (assembly.source and not self.product.lines.get(number))

    def _spots(self, number: str) -> Iterator[_Spot]:
        """Yield the lines of an assembly that count, those of phantoms in it included."""
        assembly = self.product.assemblies.get(number)
        names = [step.name for step in assembly.steps] if assembly is not None else []
        yield from self._lines(number, _ONE, None, names, frozenset())

    def _lines(
        self, number: str, times: Fraction, step: str | None, names: list[str], inside: frozenset[str]
    ) -> Iterator[_Spot]:
        if number in inside:
            raise ValueError("the structure has a ring")
        for index, line in enumerate(self.product.lines.get(number, ())):
            share = self._share(line.effective) if line.fitted or line.kitted else _ZERO
            if not share:
                continue
            at = line.step if step is None else step
            phantom = self.product.assemblies.get(line.part)
            if phantom is None or not phantom.phantom:
                yield _Spot(number, index, line, times * share, names.index(at) if at in names else 0)
                continue
            each = known_quantity(self.product, line)
            if each is None:
                self._miss(number, index, line)
            yield from self._lines(
                line.part, times * share * Fraction(each or 0), at, names, inside | {number}
            )

    def _share(self, limits: Effectivity | None) -> Fraction:
        """Return the share of the run's units for which a line holds."""
        run = self.run
        if limits is None:
            return _ONE
        if run.serials is None:
            return _ONE if is_effective(limits, Context(day=run.day, build=run.name)) else _ZERO
        first, last = run.serials
        low = max(first, first if limits.from_serial is None else limits.from_serial)
        high = min(last, last if limits.to_serial is None else limits.to_serial)
        if high < low or not is_effective(limits, Context(day=run.day, serial=low, build=run.name)):
            return _ZERO
        return Fraction(high - low + 1, last - first + 1)

    def _miss(self, number: str, index: int, line: Line) -> None:
        words = f"quantity of {line.part} in {number}/{self.product.lines[number][index].item}"
        if words not in self.unknown:
            self.unknown.append(words)

    def _make(self, node: _Node, good: dict[_Node, Fraction]) -> None:
        """Count one assembly: its starts, and what its lines call for."""
        number, cover = node
        assembly = self.product.assemblies.get(number)
        flow = passage(assembly.steps if assembly is not None else (), self.run.raised.get(number))
        if flow is None:
            self.unknown.append(f"{number} has a step that yields nothing")
            return
        self.unknown += [
            f"yield of step {assembly.steps[index].name} of {number}"
            for index in flow.unknown
            if assembly is not None
        ]
        starts = good[node] * flow.starts
        made = Made(
            assembly=number,
            run=self.run.name,
            good=good[node],
            starts=Fraction(math.ceil(starts)) if self.run.whole else starts,
            flow=flow,
            covered_by=cover,
        )
        self.made.append(made)
        below = self._cover_below(node)
        for spot in self._spots(number):
            self._call(made, spot, below, good)

    def _call(self, made: Made, spot: _Spot, cover: str | None, good: dict[_Node, Fraction]) -> None:
        line = spot.line
        if not is_goods(self.product.item(line.part)):
            return
        pieces, cut = self._each(line)
        if pieces is None:
            self._miss(spot.parent, spot.index, line)
            return
        units = made.entering(spot.step) * spot.times
        out = self._excluded(line.part, cover)
        if self._is_made(line.part) and not out:
            child = (line.part, cover)
            good[child] = good.get(child, _ZERO) + units * pieces
        elif cover is None or out:
            self.uses.append(self._use(made, spot, units, pieces, cut))

    def _each(self, line: Line) -> tuple[Fraction | None, Fraction | None]:
        """Return what one assembly takes: pieces and their length where the line cuts, else the quantity."""
        item = self.product.item(line.part)
        if line.cut is None or line.rate is not None or line.qty is None:
            each = known_quantity(self.product, line)
            return (None if each is None else Fraction(each)), None
        try:
            length = convert(line.cut, item.unit if item is not None else "m")
        except UnitMismatch:
            return None, None
        return Fraction(line.qty.number) / (line.per or 1), Fraction(length.number)

    def _use(self, made: Made, spot: _Spot, units: Fraction, each: Fraction, cut: Fraction | None) -> Use:
        line = spot.line
        assembly = self.product.assemblies.get(made.assembly)
        supply = self._supply(line, assembly)
        buyer = {
            "turnkey": maker_of(self.run, assembly) or self.own,
            "consigned": self.own,
            "free-issue": None,
        }
        use = Use(
            part=line.part,
            run=self.run.name,
            assembly=made.assembly,
            parent=spot.parent,
            index=spot.index,
            units=units,
            each=each,
            cut=cut,
            supply=supply,
            buyer=buyer[supply],
        )
        return with_losses(use, line, self.product.parts.get(line.part))

    def _supply(self, line: Line, assembly: Assembly | None) -> Supply:
        """Return who buys: the line's word, the part's, else the factory where there is one."""
        item = self.product.item(line.part)
        stated = line.supply or (item.supply if item is not None else None)
        return stated or ("turnkey" if maker_of(self.run, assembly) else "consigned")


def with_losses(use: Use, line: Line, part: Part | None) -> Use:
    """Return a use with the attrition and set-up loss of its line, else of the part."""
    machine = part is not None and line.fitted and placed_by_machine(part, line)
    return replace(
        use,
        attrition=_attrition(line, part, machine=machine),
        floor=_floor(line, part),
        setup_loss=_setup_loss(line, part) if part is not None and machine else _ZERO,
        machine=machine,
    )


def _attrition(line: Line, part: Part | None, *, machine: bool) -> Fraction | None:
    """Return the rate as a fraction; None where a machine places the part and no rate is stated."""
    if not line.fitted:
        return _ZERO
    stated = line.attrition if line.attrition is not None else (part.attrition if part is not None else None)
    if stated is None:
        return None if machine else _ZERO
    return Fraction(stated.fraction)


def _floor(line: Line, part: Part | None) -> Fraction:
    stated = line.attrition_floor if line.attrition_floor is not None else part and part.attrition_floor
    return Fraction(stated or 0) if line.fitted else _ZERO


def _setup_loss(line: Line, part: Part) -> Fraction | None:
    stated = line.setup_loss if line.setup_loss is not None else part.setup_loss
    return None if stated is None else Fraction(stated)
