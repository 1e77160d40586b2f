"""What a source asks: its price lists by form, its order steps and charges, in the home currency.

A source sells a part in one or several forms (a full reel, a cut strip). Each form has price breaks that
hold for the whole quantity in that form, a least quantity and a step. What a source does not say is named,
not guessed: an amount that cannot be converted leaves the price unknown.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.gross import Pack
from ferrule.compute.rates import Rates
from ferrule.model.exact import exact
from ferrule.model.product import Product
from ferrule.model.quantity import Quantity, UnitMismatch, convert
from ferrule.model.records.common import Charge
from ferrule.model.records.part import Item, PriceBreak, Source
from ferrule.model.records.part import Pack as PackRecord

__all__ = [
    "Doubt",
    "Form",
    "Quote",
    "age",
    "common_step",
    "oldest_quote",
    "quote_of",
    "standing",
    "unit_price",
]

_ZERO, _ONE = Fraction(0), Fraction(1)
#: Forms that stand still: nothing is lost by mounting them on a feeder.
_UNMOUNTED = ("tray", "tube", "bulk", "roll", "sheet", "box", "bag", "can", "bottle")
#: Charges that come once with an order of the part, however much is ordered.
_ONCE = ("order", "build", "shipment", "entry", "pallet", "carton", "container")


class Form(Struct, frozen=True, kw_only=True):
    """One way in which a source sells: price breaks (from, price of one), least quantity, step.

    Quantities are in the part's unit, money in the home currency. ``charge`` comes once if anything is
    bought in this form, ``per_unit`` on each unit beside the price. ``path`` leads from the source to the
    price list. ``own`` holds the prices as quoted, in the source's currency.
    """

    label: str
    path: tuple[str | int, ...]
    breaks: tuple[tuple[Fraction, Fraction], ...]
    own: tuple[Fraction, ...]
    minimum: Fraction = _ZERO
    step: Fraction = _ONE
    pack: Pack = Pack()
    charge: Fraction = _ZERO
    per_unit: Fraction = _ZERO

    @property
    def least(self) -> Fraction:
        """Return the smallest quantity that can be ordered."""
        first = self.breaks[0][0] if self.breaks else _ZERO
        return math.ceil(max(self.minimum, first, _ZERO) / self.step) * self.step or self.step

    def rounded(self, quantity: Fraction) -> Fraction:
        """Return the smallest orderable quantity not below ``quantity``: 0 for 0.

        ``order = max(ceil(MOQ / m), ceil(net / m)) * m``.
        """
        return max(self.least, math.ceil(quantity / self.step) * self.step) if quantity > 0 else _ZERO

    def break_at(self, quantity: Fraction) -> int:
        """Return the index of the price break that holds for a quantity not below ``least``."""
        return max(index for index, (start, _) in enumerate(self.breaks) if start <= quantity)

    def price(self, quantity: Fraction) -> Fraction:
        """Return the price of one when ``quantity`` is ordered in this form, charges left aside."""
        return self.breaks[self.break_at(quantity)][1]


class Quote(Struct, frozen=True, kw_only=True):
    """What one source asks for a part.

    ``forms`` with a known price; ``bare`` the main form's order rule, also where no price is known.
    ``per_order`` comes once with any order, ``one_off`` once ever. ``unknown`` says what is not stated;
    ``charges_unknown`` is the part of it that comes on top of the price.
    """

    index: int
    source: Source
    forms: tuple[Form, ...]
    bare: Form
    per_order: Fraction = _ZERO
    one_off: Fraction = _ZERO
    currency: str = ""
    unknown: tuple[str, ...] = ()
    charges_unknown: tuple[str, ...] = ()


class Doubt(Struct, frozen=True):
    """Why a price is weak: ``denied``, ``expired``, ``old``, ``verbal`` ..., and the sentence for a reader."""

    kind: str
    words: str


def unit_price(step: PriceBreak, size: Fraction | None) -> tuple[Fraction, bool] | None:
    """Return the exact amount of one unit and whether it was quoted by the pack; None if not known."""
    if step.each is not None:
        return Fraction(step.each.number), False
    if step.pack is None or not size:
        return None
    return Fraction(step.pack.number) / size, True


def common_step(one: Fraction, other: Fraction) -> Fraction:
    """Return the least common multiple of two steps."""
    scale = math.lcm(one.denominator, other.denominator)
    return Fraction(math.lcm(int(one * scale), int(other * scale)), scale)


def quote_of(product: Product, item: Item, index: int, rates: Rates) -> Quote:
    """Return what the source at ``index`` of an item asks, in the home currency."""
    return _Reader(product, item, index, rates).read()


class _Reader:
    """Reads one source; collects what it does not say."""

    def __init__(self, product: Product, item: Item, index: int, rates: Rates) -> None:
        self.item, self.index, self.rates = item, index, rates
        self.source = item.source[index]
        self.home = product.head.currency
        firm = product.firms.get(self.source.seller or "")
        self.currency = self.source.currency or (firm.currency if firm is not None else None) or ""
        self.unknown: list[str] = []
        self.charges_unknown: list[str] = []

    def read(self) -> Quote:
        source = self.source
        main = source.pack[0] if source.pack else None
        bare = self._form(main, source.price or (main.price if main else ()), self._main_path(), 0)
        forms = [bare]
        forms += [
            self._form(pack, pack.price, ("pack", number, "price"), number)
            for number, pack in enumerate(source.pack)
            if number and pack.price
        ]
        if source.moq is None:
            self.unknown.append("MOQ")
        return Quote(
            index=self.index,
            source=source,
            forms=tuple(form for form in forms if form.breaks),
            bare=bare,
            per_order=self._charges(source.charge, _ONCE),
            one_off=self._charges(source.charge, ("one-off",)),
            currency=self.currency,
            unknown=tuple(dict.fromkeys(self.unknown)),
            charges_unknown=tuple(dict.fromkeys(self.charges_unknown)),
        )

    def _leave_out(self, charge: str) -> None:
        """Note a charge that is asked and cannot be counted."""
        self.unknown.append(charge)
        self.charges_unknown.append(charge)

    def _main_path(self) -> tuple[str | int, ...]:
        return ("price",) if self.source.price or not self.source.pack else ("pack", 0, "price")

    def _form(
        self, pack: PackRecord | None, breaks: Sequence[PriceBreak], path: tuple[str | int, ...], number: int
    ) -> Form:
        size = self._size(pack.size) if pack is not None else None
        moq, multiple = self._rule(pack, number)
        own, prices = self._prices(breaks, size)
        by_pack = any(step.each is None for step in breaks)
        charges = [*self.source.charge, *(pack.charge if pack is not None else ())]
        per_pack = self._charges(charges, ("pack",))
        step = multiple or size or _ONE
        if size and (self.source.full_packs_only or by_pack or per_pack) and number == 0:
            step = common_step(step, size)
        per_unit = self._charges(charges, ("unit",)) + self._by_mass(charges)
        for charge in charges:
            if charge.per == "m3":
                self._leave_out(f"charge {charge.name}, which goes by volume")
        return Form(
            label=_label(pack, size, self.item.unit),
            path=path,
            breaks=prices,
            own=own,
            minimum=moq or _ZERO,
            step=step,
            pack=Pack(size=size, mounted=pack is None or pack.form not in _UNMOUNTED),
            charge=self._charges(pack.charge if pack is not None else (), _ONCE),
            per_unit=per_unit + (per_pack / size if size else _ZERO),
        )

    def _rule(self, pack: PackRecord | None, number: int) -> tuple[Fraction | None, Fraction | None]:
        """Return least quantity and step: the source's own for its main form, else the pack's."""
        moq = self.source.moq if number == 0 else None
        multiple = self.source.multiple if number == 0 else None
        if pack is not None:
            moq = pack.moq if pack.moq is not None else moq
            multiple = pack.multiple if pack.multiple is not None else multiple
        return (None if moq is None else Fraction(moq)), (Fraction(multiple) if multiple else None)

    def _size(self, size: Quantity | None) -> Fraction | None:
        if size is None or not size.number:
            return None
        if not size.unit:
            return Fraction(size.number)
        try:
            return Fraction(convert(size, self.item.unit).number)
        except UnitMismatch:
            self.unknown.append(f"how many {self.item.unit} are in a pack of {size}")
            return None

    def _prices(
        self, breaks: Iterable[PriceBreak], size: Fraction | None
    ) -> tuple[tuple[Fraction, ...], tuple[tuple[Fraction, Fraction], ...]]:
        own, home = [], []
        for step in sorted(breaks, key=lambda step: step.from_):
            price, money = unit_price(step, size), step.each or step.pack
            if price is None or money is None:
                self.unknown.append(f"price from {step.from_}")
                continue
            currency = money.currency or self.currency
            amount = self.rates.convert(price[0], currency, self.home) if currency else None
            if amount is None:
                self.unknown.append(f"rate from {currency or 'an unnamed currency'} to {self.home}")
                continue
            own.append(price[0])
            home.append((Fraction(step.from_), amount))
        return tuple(own), tuple(home)

    def _charges(self, charges: Iterable[Charge], kinds: Sequence[str]) -> Fraction:
        total = _ZERO
        for charge in charges:
            if charge.per not in kinds:
                continue
            amounts = [charge.amount]
            if charge.minimum is not None and charge.per in (*_ONCE, "one-off"):
                amounts.append(charge.minimum)
            elif charge.minimum is not None:  # it binds the whole charge, not that of one unit
                self._leave_out(f"least amount of charge {charge.name}")
            home = [self.rates.money(amount, self.currency, self.home) for amount in amounts]
            known = [amount for amount in home if amount is not None]
            if len(known) < len(home):
                self._leave_out(f"charge {charge.name} in {self.home}")
            total += max(known, default=_ZERO)
        return total

    def _by_mass(self, charges: Iterable[Charge]) -> Fraction:
        """Return what a charge by weight asks for one unit, by the unit's own mass."""
        by_weight = [charge for charge in charges if charge.per == "kg"]
        if not by_weight:
            return _ZERO
        if self.item.mass is None:
            self._leave_out("mass of one, which a charge goes by")
            return _ZERO
        return self._charges(by_weight, ("kg",)) * Fraction(convert(self.item.mass, "kg").number)


def _label(pack: PackRecord | None, size: Fraction | None, unit: str) -> str:
    if pack is None:
        return ""
    if size is None:
        return pack.form
    with exact():
        number = Decimal(size.numerator) / size.denominator
    return f"{pack.form} of {number:,f}{'' if unit == 'each' else ' ' + unit}"


def standing(source: Source, day: dt.date, oldest: int | None) -> tuple[Doubt, ...]:
    """Return what weakens a source's price on an order day; ``oldest`` is the age in days of a stale quote."""
    found = []
    if source.status != "approved":
        found.append(Doubt(source.status, f"source is {source.status}, not approved"))
    if source.basis == "contract":
        return tuple(found)
    found += age(source.quoted, source.valid_until, day, oldest)
    if source.basis in ("verbal", "list"):
        found.append(
            Doubt(
                source.basis, f"price is {'by word of mouth' if source.basis == 'verbal' else 'a list price'}"
            )
        )
    if source.price_at_delivery:
        found.append(Doubt("at delivery", "price is that of the delivery day"))
    return tuple(found)


def oldest_quote(product: Product) -> int | None:
    """Return the age in days from which a quote without a last day is old; None where the policy has none."""
    days = product.policy.quote_max_age.in_days
    return None if days is None else int(days)


def age(
    quoted: dt.date | None, valid_until: dt.date | None, day: dt.date, oldest: int | None
) -> tuple[Doubt, ...]:
    """Return what the dates of a quote, of whatever kind, say against its price on the day of an order."""
    if valid_until is not None:
        words = f"quote runs out on {valid_until}, before the order"
        return (Doubt("expired", words),) if valid_until < day else ()
    if quoted is None:
        return (Doubt("undated", "quote has no day"),)
    old = oldest is not None and (day - quoted).days > oldest
    return (Doubt("old", f"quote of {quoted} has no last day"),) if old else ()
