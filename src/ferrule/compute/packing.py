"""How many cartons and pallets a quantity of a SKU fills, what they weigh and how much room they take.

Freight, fees by the carton and the limits of a lane all go by these figures, so they are worked out once,
here. Whole cartons only: a carton that is not full goes as its record says. What is not stated leaves a
figure a lower bound and is named.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Literal

from msgspec import Struct

from ferrule.compute.structure import Context, is_effective, known_quantity
from ferrule.model.exact import shown, shown_amount
from ferrule.model.product import Product
from ferrule.model.quantity import Quantity, UnitMismatch, convert
from ferrule.model.records.assembly import Line
from ferrule.model.records.firms import Lane
from ferrule.model.records.part import Item, Packing

__all__ = ["Load", "Measured", "figure", "fits", "in_unit", "load_of", "master_cartons", "units_in_carton"]

Measured = Literal["cartons", "pallets", "mass", "volume"]

#: A figure and the words for what it lacks; with words it is a lower bound, None where nothing is known.
_Figure = tuple[Fraction | None, tuple[str, ...]]


class Load(Struct, frozen=True, kw_only=True):
    """A quantity of a SKU as it is packed.

    ``units`` were asked; ``left_behind`` of them stay, because their carton would not be full. ``full``
    cartons hold ``per_carton`` each, one more holds ``part_units``. Mass and volume are those of the cartons
    (gross mass); pallets themselves are not weighed or measured. ``carton_kg`` is the heaviest carton,
    ``stack_m`` the height of the cartons on the highest pallet. ``missing`` says by figure what is not
    stated: that figure is then a lower bound, or None where nothing is known of it.
    """

    sku: str
    units: int
    left_behind: int = 0
    per_carton: int | None = None
    full: int = 0
    part_units: int = 0
    cartons: int | None = None
    pallets: int | None = None
    gross_kg: Fraction | None = None
    m3: Fraction | None = None
    carton_kg: Fraction | None = None
    stack_m: Fraction | None = None
    missing: Mapping[Measured, tuple[str, ...]] = {}

    @property
    def shipped(self) -> int:
        """Return the units that go."""
        return self.units - self.left_behind

    @property
    def unknown(self) -> tuple[str, ...]:
        """Return all that is not stated, in plain words, each once."""
        return tuple(dict.fromkeys(words for lacks in self.missing.values() for words in lacks))


def load_of(product: Product, sku: str, units: int, context: Context | None = None) -> Load:
    """Return how a quantity of a SKU is packed.

    The master carton is the SKU's line, or one of a phantom in it, whose part has ``packing.role`` "master
    carton"; with a ``context`` only lines that hold there count. Without such a line mass and volume are
    those of the bare units, and ``missing`` says so. ``cartons = ceil(units / per carton)``,
    ``pallets = ceil(cartons / (per layer * layers))``. Raises ValueError for fewer units than none and for a
    SKU that no file defines.
    """
    item = product.item(sku)
    if item is None or units < 0:
        raise ValueError(f"{units} of {sku!r} cannot be packed")
    found = next(master_cartons(product, sku, context), None)
    if found is None:
        return _bare(sku, item, units, f"{sku} has no master carton: mass and size are its own")
    line, carton, packing = found
    per = units_in_carton(product, line, packing) or 0
    if per < 1:
        return _bare(sku, item, units, f"how many {sku} go into {line.part} is not known")
    return _Packer(sku, item, line.part, carton, packing, per).load(units)


def master_cartons(
    product: Product, assembly: str, context: Context | None = None
) -> Iterator[tuple[Line, Item, Packing]]:
    """Yield the lines of an assembly's master cartons with their records, in line order.

    A phantom's lines count as the assembly's; with a context only effective lines do. Several stand side by
    side where a carton changed. Cartons of other assemblies inside hold other units.
    """
    return _carton_lines(product, assembly, context, frozenset())


def _carton_lines(
    product: Product, assembly: str, context: Context | None, above: frozenset[str]
) -> Iterator[tuple[Line, Item, Packing]]:
    for line in product.lines.get(assembly, ()):
        in_kit = line.fitted or line.kitted
        if not in_kit or (context is not None and not is_effective(line.effective, context)):
            continue
        item = product.item(line.part)
        if item is not None and item.packing is not None and item.packing.role == "master carton":
            yield line, item, item.packing
        inner = product.assemblies.get(line.part)
        if inner is not None and inner.phantom and line.part not in above:
            yield from _carton_lines(product, line.part, context, above | {assembly, line.part})


def units_in_carton(product: Product, line: Line, packing: Packing) -> int | None:
    """Return the units in a full carton: as it states, else by its line's quantity (1 per 24).

    None where neither gives a whole number.
    """
    used = known_quantity(product, line)
    per = 1 / Fraction(used) if used else Fraction(0)
    return packing.units or (int(per) if per >= 1 and per.denominator == 1 else None)


def fits(load: Load, lane: Lane) -> tuple[str, ...]:
    """Return why a load does not fit a lane's limits, in plain words; nothing where it does.

    A limit that is stated but cannot be judged gives words too. Exactly at the limit fits. The height is
    that of the layers of cartons, without the pallet under them.
    """
    mass = _over("a carton", load.carton_kg, load.missing.get("mass", ()), lane.carton_limit, "kg")
    height = _over("a pallet", load.stack_m, (), lane.pallet_height, "m")
    return tuple(words for words in (mass, height) if words)


def in_unit(quantity: Quantity | None, unit: str) -> Fraction | None:
    """Return the number of a quantity in a unit; None where it is not stated or measures something else."""
    try:
        return None if quantity is None else Fraction(convert(quantity, unit).number)
    except UnitMismatch:
        return None


def figure(number: Fraction) -> str:
    """Return a number for a reader: in full, or with three decimals where it would never end."""
    written = shown(number)
    return shown_amount(number, 3) if "/" in written else written


def _over(
    what: str, have: Fraction | None, lacks: tuple[str, ...], limit: Quantity | None, unit: str
) -> str | None:
    if limit is None:
        return None
    most = in_unit(limit, unit)
    if have is not None and most is not None and have > most:
        return f"{what} of {figure(have)} {unit} is over the limit of {limit}"
    if have is None or lacks or most is None:
        return f"whether {what} is over the limit of {limit} is not known"
    return None


def _volume(size: tuple[Quantity, ...]) -> Fraction | None:
    """Return length times width times height in cubic metres; None unless all three are lengths."""
    sides = [in_unit(side, "m") for side in size]
    if len(sides) != 3 or None in sides:
        return None
    return math.prod((side for side in sides if side is not None), start=Fraction(1))


def _times(one: Fraction | None, many: Fraction | int) -> Fraction | None:
    return None if one is None else one * many


def _bare(sku: str, item: Item, units: int, why: str) -> Load:
    """Return units that go without a known carton: at least their own mass and volume."""
    mass, volume = in_unit(item.mass, "kg"), _volume(item.size)
    no_mass = () if mass is not None else (f"the mass of {sku} is not known",)
    no_size = () if volume is not None else (f"the size of {sku} is not known",)
    return Load(
        sku=sku,
        units=units,
        gross_kg=_times(mass, units),
        m3=_times(volume, units),
        missing={
            "cartons": (why,),
            "pallets": (why,),
            "mass": (why, *no_mass),
            "volume": (why, *no_size),
        },
    )


class _Packer(Struct, frozen=True):
    """A SKU, its master carton and how many go into one."""

    sku: str
    item: Item
    name: str
    carton: Item
    packing: Packing
    per: int

    def load(self, units: int) -> Load:
        full, rest = divmod(units, self.per)
        stays = rest if self.packing.part_full == "not shipped" else 0
        part = rest - stays
        cartons = full + (1 if part else 0)
        room = full + self._share(part)
        mass, no_mass = self._mass()
        volume, no_volume = self._room()
        pallets, stack, no_pallets = self._pallets(cartons)
        missing: dict[Measured, tuple[str, ...]] = {
            "mass": no_mass,
            "volume": no_volume,
            "pallets": no_pallets,
        }
        return Load(
            sku=self.sku,
            units=units,
            left_behind=stays,
            per_carton=self.per,
            full=full,
            part_units=part,
            cartons=cartons,
            pallets=pallets,
            gross_kg=_times(mass, room),
            m3=_times(volume, room),
            carton_kg=_times(mass, 1 if full else self._share(part)),
            stack_m=stack,
            missing={figure: words for figure, words in missing.items() if words},
        )

    def _share(self, units: int) -> Fraction:
        """Return how much of a full carton's mass and size one with ``units`` in it has.

        A carton cut down to its content is in proportion; otherwise it goes at full size, and at full mass,
        because it is filled up or billed so (common practice).
        """
        if not units:
            return Fraction(0)
        return Fraction(units, self.per) if self.packing.part_full == "cut down" else Fraction(1)

    def _mass(self) -> _Figure:
        """Return the mass of a full carton in kilograms: as stated, or content and carton."""
        stated = in_unit(self.packing.gross, "kg")
        if stated is not None:
            return stated, ()
        content, own = _times(in_unit(self.item.mass, "kg"), self.per), in_unit(self.carton.mass, "kg")
        lacks = [
            f"the mass of {name} is not known"
            for name, mass in ((self.sku, content), (self.name, own))
            if mass is None
        ]
        known = [mass for mass in (content, own) if mass is not None]
        return (sum(known, Fraction(0)) if known else None), tuple(lacks)

    def _room(self) -> _Figure:
        """Return the volume of a full carton in cubic metres: as stated, or at least that of its content."""
        stated = _volume(self.packing.outer)
        if stated is not None:
            return stated, ()
        return _times(_volume(self.item.size), self.per), (f"the outer size of {self.name} is not known",)

    def _pallets(self, cartons: int) -> tuple[int | None, Fraction | None, tuple[str, ...]]:
        """Return how many pallets, the height of the highest stack in metres, and what is not stated."""
        per_layer, layers = self.packing.per_layer, self.packing.layers
        if not per_layer or not layers:
            return None, None, (f"how {self.name} stands on a pallet is not known",)
        height = in_unit(self.packing.outer[2], "m") if len(self.packing.outer) == 3 else None
        used = min(layers, math.ceil(Fraction(cartons, per_layer)))
        return math.ceil(Fraction(cartons, per_layer * layers)), _times(height, used), ()
