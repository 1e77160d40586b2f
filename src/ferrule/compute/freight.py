"""What a lane asks for one shipment: freight, surcharges in season and charges, by stretch of the way.

Each amount is named with the stretch it pays for, so that the delivery term can decide who pays it, and with
its working, so that a reader can check it against the forwarder's bill. Insurance goes by the value of the
goods and is left to the landed cost. The rules of rating here (weight or measure, minimum, chargeable
weight) are common practice; the lane's quote has the last word.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable
from fractions import Fraction
from typing import Literal, get_args

from msgspec import Struct

from ferrule.compute.packing import Load, Measured, figure, in_unit
from ferrule.model.money import Money
from ferrule.model.records.common import Charge
from ferrule.model.records.firms import Lane, Surcharge

__all__ = ["STRETCHES", "Convert", "Freight", "FreightItem", "Stretch", "chargeable_kg", "freight"]

Stretch = Literal[
    "origin haul",
    "export",
    "loading",
    "carriage",
    "insurance",
    "arrival",
    "import",
    "duty",
    "delivery",
]
#: The stretches of the way, from the factory's door to ours. Loading is the terminal where the main carriage
#: starts, arrival the one where it ends; export and import are the formalities.
STRETCHES: tuple[Stretch, ...] = get_args(Stretch)

#: Turns an amount, and the currency of the record around it (empty where that names none), into the one
#: currency of the caller; None where that cannot be done.
Convert = Callable[[Money, str], Fraction | None]

#: Charges that come once with a shipment: it is taken as one order, one build and one customs entry.
_ONCE = ("shipment", "order", "build", "entry")


class FreightItem(Struct, frozen=True, kw_only=True):
    """One amount of a lane for a shipment, in the caller's currency.

    ``words`` is its working ("5.4 USD per kg x 118.5 kg chargeable"). With something in ``unknown`` the amount
    is a lower bound, or None where nothing is known of it. ``count`` says how many pallets or containers are
    paid for (what, how many), unless a minimum is paid.
    """

    name: str
    stretch: Stretch
    amount: Fraction | None
    words: str
    unknown: tuple[str, ...] = ()
    count: tuple[str, int] | None = None


class Freight(Struct, frozen=True, kw_only=True):
    """What a lane asks for a shipment: freight first, then surcharges and charges in the lane's order.

    ``notes`` says what was left out on purpose.
    """

    items: tuple[FreightItem, ...] = ()
    chargeable_kg: Fraction | None = None
    containers: int | None = None
    notes: tuple[str, ...] = ()

    @property
    def total(self) -> Fraction:
        """Return the sum of what is known; with something in ``unknown`` it is a lower bound."""
        return sum((item.amount or Fraction(0) for item in self.items), Fraction(0))

    @property
    def unknown(self) -> tuple[str, ...]:
        """Return what is not known, in plain words, each once."""
        return tuple(dict.fromkeys(words for item in self.items for words in item.unknown))

    def of(self, stretch: Stretch) -> tuple[FreightItem, ...]:
        """Return the items that pay for a stretch, in order."""
        return tuple(item for item in self.items if item.stretch == stretch)


class _Part(Struct, frozen=True):
    """An amount in the making: at least this much, its working, what is not known."""

    low: Fraction
    words: str
    unknown: tuple[str, ...] = ()
    count: tuple[str, int] | None = None

    def item(self, name: str, stretch: Stretch) -> FreightItem:
        nothing = not self.low and self.unknown
        return FreightItem(
            name=name,
            stretch=stretch,
            amount=None if nothing else self.low,
            words=self.words,
            unknown=self.unknown,
            count=self.count,
        )


def chargeable_kg(lane: Lane, load: Load) -> Fraction | None:
    """Return the weight a lane charges for, in kilograms; None where neither mass nor volume is known.

    The larger of gross mass and volume weight, cubic metres x 1,000,000 / divisor, rounded up to the lane's
    step once for the whole shipment, not for each carton (common practice in air freight).
    """
    weights = [] if load.gross_kg is None else [load.gross_kg]
    if lane.divisor and load.m3 is not None:
        weights.append(load.m3 * 10**6 / Fraction(lane.divisor))
    if not weights:
        return None
    step = in_unit(lane.weight_step, "kg")
    return math.ceil(max(weights) / step) * step if step else max(weights)


def freight(lane: Lane, load: Load, on: dt.date | None, money: Convert) -> Freight:
    """Return what a lane asks for a load shipped ``on`` a day, without insurance.

    Freight is weight or measure (the larger of the rates by cubic metre and by chargeable kilogram), or the
    rate for whole containers where that is cheaper, and at least the lane's minimum. A surcharge counts in
    its season, first and last day included; its percent is of the freight. Without a day, a surcharge with
    a season is unknown. A load of nothing costs nothing.
    """
    return _Rating(lane, load, on, money).freight() if load.shipped else Freight()


class _Rating:
    """Rates one shipment on one lane."""

    def __init__(self, lane: Lane, load: Load, on: dt.date | None, money: Convert) -> None:
        self.lane, self.load, self.on, self.money = lane, load, on, money
        self.kg = chargeable_kg(lane, load)
        room = Fraction(lane.container_m3 or 0)
        self.containers = math.ceil(load.m3 / room) if room and load.m3 is not None else None

    def freight(self) -> Freight:
        base = self._base()
        charges = [charge for charge in self.lane.charge if charge.per != "one-off"]
        once = [charge.name for charge in self.lane.charge if charge.per == "one-off"]
        items = [base.item("freight", "carriage")]
        items += [
            self._surcharge(surcharge, base) for surcharge in self.lane.surcharge if self._may(surcharge)
        ]
        items += [self._charge(charge) for charge in charges]
        return Freight(
            items=tuple(items),
            chargeable_kg=self.kg,
            containers=self.containers,
            notes=tuple(f"{name} is asked once ever and is no cost of a shipment" for name in once),
        )

    def _base(self) -> _Part:
        loose = _chosen(max, self._rate(self.lane.per_m3, "m3"), self._rate(self.lane.per_kg, "kg"))
        found = _chosen(min, loose, self._rate(self.lane.per_container, "container"))
        if found is None:
            found = _Part(Fraction(0), "no rate", (f"{self.lane.name} states no rate of freight",))
        return self._at_least(found, self.lane.minimum)

    def _at_least(self, part: _Part, minimum: Money | None) -> _Part:
        """Return a part raised to a minimum, where that is stated and higher."""
        if minimum is None:
            return part
        least = self._converted(minimum)
        if least is None:
            return _Part(part.low, part.words, (*part.unknown, self._no_rate(minimum)), part.count)
        if least <= part.low:
            return part
        return _Part(least, f"{part.words}, minimum {self._written(minimum)}", part.unknown)

    def _rate(self, amount: Money | None, per: str) -> _Part | None:
        """Return an amount times what it is charged for; None where no amount is stated."""
        if amount is None:
            return None
        each, written = self._converted(amount), self._written(amount)
        if each is None:
            return _Part(Fraction(0), written, (self._no_rate(amount),))
        if per in _ONCE:
            return _Part(each, f"{written} per {per}")
        count, unknown = self._count(per)
        if count is None:
            return _Part(Fraction(0), f"{written} per {per}", unknown)
        whole = int(count) if per in {"pallet", "container"} else 0
        words = f"{written} per {per} x {figure(count)} {_counted(per, count)}"
        return _Part(each * count, words, unknown, (per, whole) if whole else None)

    def _count(self, per: str) -> tuple[Fraction | None, tuple[str, ...]]:
        """Return how many times something is charged and what is not known about that."""
        counts: dict[str, Fraction | int | None] = {
            "unit": self.load.shipped,
            "carton": self.load.cartons,
            "pallet": self.load.pallets,
            "m3": self.load.m3,
            "kg": self.kg,
            "container": self.containers,
        }
        if per not in counts:
            return None, (f"a shipment has no number of {per}s to charge by",)
        unknown = self._lacks(per)
        count = counts[per]
        if count is None and per == "container" and not self.lane.container_m3:
            unknown = (*unknown, f"{self.lane.name} states no volume of a container")
        return (None if count is None else Fraction(count)), unknown

    def _lacks(self, per: str) -> tuple[str, ...]:
        figures: dict[str, tuple[Measured, ...]] = {
            "carton": ("cartons",),
            "pallet": ("pallets",),
            "m3": ("volume",),
            "container": ("volume",),
            "kg": ("mass", "volume") if self.lane.divisor else ("mass",),
        }
        found = [words for figure in figures.get(per, ()) for words in self.load.missing.get(figure, ())]
        return tuple(dict.fromkeys(found))

    def _charge(self, charge: Charge, name: str | None = None) -> FreightItem:
        part = self._rate(charge.amount, charge.per) or _Part(Fraction(0), "")
        return self._at_least(part, charge.minimum).item(name or charge.name, charge.covers or "carriage")

    def _may(self, surcharge: Surcharge) -> bool:
        """Return whether the day of shipment is in the season, or may be because it is not known."""
        if self.on is None:
            return True
        return (surcharge.from_ or self.on) <= self.on <= (surcharge.to or self.on)

    def _surcharge(self, surcharge: Surcharge, base: _Part) -> FreightItem:
        if self.on is None and (surcharge.from_ or surcharge.to):
            season = f"{surcharge.from_ or ''} to {surcharge.to or ''}".strip()
            why = f"whether {surcharge.name} ({season}) applies is not known without a day of shipment"
            return _Part(Fraction(0), season, (why,)).item(surcharge.name, "carriage")
        if surcharge.amount is not None:
            return self._charge(surcharge.amount, surcharge.name)
        if surcharge.percent is None:
            return _Part(Fraction(0), "", (f"{surcharge.name} states no amount",)).item(
                surcharge.name, "carriage"
            )
        part = _Part(
            base.low * Fraction(surcharge.percent.fraction),
            f"{surcharge.percent} of the freight ({base.words})",
            base.unknown,
        )
        return part.item(surcharge.name, "carriage")

    def _converted(self, amount: Money) -> Fraction | None:
        return self.money(amount, self.lane.currency or "")

    def _written(self, amount: Money) -> str:
        return str(amount.within(self.lane.currency or ""))

    def _no_rate(self, amount: Money) -> str:
        return f"{self._written(amount)} cannot be converted"


def _counted(per: str, count: Fraction) -> str:
    if per in {"kg", "m3"}:
        return "kg chargeable" if per == "kg" else per
    return per if count == 1 else f"{per}s"


def _chosen(pick: Callable[..., _Part], one: _Part | None, other: _Part | None) -> _Part | None:
    """Return the one that ``pick`` (max or min) takes by amount; what either does not know is not known."""
    if one is None or other is None:
        return one or other
    best = pick(one, other, key=lambda part: part.low)
    return _Part(best.low, best.words, tuple(dict.fromkeys(one.unknown + other.unknown)), best.count)
