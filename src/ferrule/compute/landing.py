"""What a shipment costs once it stands at our door: price, way, insurance, duty and fees.

The delivery term divides the way between the price and the buyer, so that no stretch is paid twice and none
is forgotten. Duty goes by a value that is not the price: what the factory got free or cheap is in it, and
carriage is or is not, by the rule of the destination. Rates, codes and origins are stated facts; a broker or
a ruling decides them, never this module.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from fractions import Fraction
from typing import Literal

from msgspec import Struct

from ferrule.compute.freight import STRETCHES, Convert, Freight, FreightItem, Stretch, freight
from ferrule.compute.packing import Load
from ferrule.model.exact import shown_amount
from ferrule.model.incoterms import Incoterm
from ferrule.model.percent import Percent
from ferrule.model.product import Product
from ferrule.model.records.firms import Duty, EntryFee, Lane

__all__ = ["IN_PRICE", "Element", "Kind", "Landed", "Shipment", "Where", "duty_for", "in_price", "landed"]

#: Where the named place of a term lies: the factory's door, a terminal or port on the way, or our door.
Where = Literal["works", "port", "door"]
#: What an element of the landed cost is: a stretch of the way, or one of the rest.
Kind = Stretch | Literal["goods", "consigned", "tools", "entry fee", "import tax"]

_Stretches = frozenset[Stretch]
_TO_TERMINAL: _Stretches = frozenset({"origin haul", "export"})
_ON_BOARD: _Stretches = frozenset({*_TO_TERMINAL, "loading"})
_TO_PORT: _Stretches = frozenset({*_ON_BOARD, "carriage"})
_INSURED: _Stretches = frozenset({*_TO_PORT, "insurance"})
_TO_DOOR: _Stretches = frozenset({*_INSURED, "arrival", "delivery"})
_CLEARED: _Stretches = frozenset({*_TO_DOOR, "import", "duty"})

#: The stretches that the seller's price pays for under each rule of Incoterms 2020; the buyer pays the rest.
#: The named place is taken to be the carrier's terminal or the port where the main carriage starts (FCA, FAS,
#: FOB), the one where it ends (CPT, CIP, CFR, CIF) or our door (DAP, DPU, DDP). Under the D rules the
#: seller bears the risk of the way, so the buyer has nothing to insure, whether or not the seller does.
#: Source: International Chamber of Commerce, Incoterms 2020, articles A2, A4, A5, A7, A9 and B9 of each rule.
IN_PRICE: dict[str, _Stretches] = {
    "EXW": frozenset(),
    "FCA": _TO_TERMINAL,
    "CPT": _TO_PORT,
    "CIP": _INSURED,
    "DAP": _TO_DOOR,
    "DPU": _TO_DOOR,
    "DDP": _CLEARED,
    "FAS": _TO_TERMINAL,
    "FOB": _ON_BOARD,
    "CFR": _TO_PORT,
    "CIF": _INSURED,
}
#: The same where the named place is another one. Article A2 of FCA: at the seller's own door the buyer's
#: carrier takes over there. DPU differs from DAP only by unloading, which counts at a terminal.
_ELSEWHERE: dict[tuple[str, Where], _Stretches] = {
    ("FCA", "works"): frozenset({"export"}),
    ("CPT", "door"): _TO_DOOR - {"insurance"},
    ("CIP", "door"): _TO_DOOR,
    ("DAP", "port"): _INSURED,
    ("DPU", "port"): frozenset({*_INSURED, "arrival"}),
    ("DDP", "port"): frozenset({*_INSURED, "import", "duty"}),
}
_FORWARDED = ("CPT", "CIP")
_DELIVERED = ("DAP", "DPU", "DDP")
#: Stretches that a lane's freight contains when the lane names no charge for them (common practice).
_IN_FREIGHT: tuple[Stretch, ...] = ("loading", "arrival", "delivery")
#: Stretches that a customs value need not contain, but does where the price does not tell them apart.
_LATE: tuple[Stretch, ...] = ("insurance", "arrival", "delivery")
_TRANSPORT: tuple[Stretch, ...] = tuple(s for s in STRETCHES if s not in {"insurance", "duty"})
_ORDER: tuple[Kind, ...] = ("goods", "consigned", *STRETCHES, "entry fee", "import tax")
_ZERO = Fraction(0)


class Shipment(Struct, frozen=True, kw_only=True):
    """What is bought and how it is packed; amounts are for one unit, in ``currency``, None unknown.

    ``consigned`` is the value of our own parts in a unit; ``tools`` the share of tools and other help we gave
    free or cheap. ``where`` says where the named place lies, when that is not the usual place of the rule.
    ``on`` is the day of shipment.
    """

    term: Incoterm
    load: Load
    currency: str
    price: Fraction | None
    consigned: Fraction | None = _ZERO
    tools: Fraction | None = _ZERO
    where: Where | None = None
    on: dt.date | None = None


class Element(Struct, frozen=True, kw_only=True):
    """One amount for the shipment and for one unit; None where nothing is known of it."""

    kind: Kind
    name: str
    amount: Fraction | None
    per_unit: Fraction | None
    words: str = ""
    #: How many pallets or containers are paid for (what, how many).
    count: tuple[str, int] | None = None


class Landed(Struct, frozen=True, kw_only=True):
    """What a shipment costs at our door.

    ``elements`` add up to ``total``. ``in_price`` are the stretches the price pays for, ``not_added`` the
    lane's amounts for them. ``value`` lists what the customs value is made of. ``recovered_tax`` is import
    tax that comes back: cash for a while, never cost. With something in ``unknown`` every sum is a lower
    bound. ``notes`` says what was taken for granted.
    """

    units: int
    elements: tuple[Element, ...]
    in_price: _Stretches
    not_added: tuple[Element, ...]
    value: tuple[Element, ...]
    duty_on_consigned: Element
    duty_on_tools: Element
    recovered_tax: Element | None
    chargeable_kg: Fraction | None
    unknown: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def total(self) -> Fraction:
        """Return the landed cost of the shipment."""
        return _sum(self.elements)

    @property
    def per_unit(self) -> Fraction:
        """Return the landed cost of one unit."""
        return self.total / self.units

    @property
    def customs_value(self) -> Fraction:
        """Return the value that duty is charged on."""
        return _sum(self.value)

    @property
    def duty_on_assists(self) -> Fraction:
        """Return the duty that tools and consigned parts cause, for the shipment."""
        return _sum((self.duty_on_consigned, self.duty_on_tools))

    def of(self, kind: Kind) -> Fraction:
        """Return the sum of the elements of a kind for the shipment."""
        return _sum(element for element in self.elements if element.kind == kind)


def in_price(term: Incoterm, where: Where | None = None) -> _Stretches:
    """Return the stretches that a price under a delivery term pays for.

    ``where`` is the kind of place the term names, when it is not the usual one; it changes nothing for rules
    that allow one kind only.
    """
    return _ELSEWHERE.get((term.rule, where), IN_PRICE[term.rule]) if where else IN_PRICE[term.rule]


def duty_for(product: Product, destination: str, code: str, origin: str | None) -> Duty | None:
    """Return the duty record for goods of a tariff number and origin entering a territory, or None.

    A record for the origin wins over one without an origin; of equals the first. Blanks and points in a
    tariff number do not matter.
    """
    fitting = [
        duty
        for duty in product.duties
        if duty.destination == destination and _digits(duty.code) == _digits(code)
    ]
    own = (duty for duty in fitting if origin is not None and duty.origin == origin)
    return next(own, next((duty for duty in fitting if duty.origin is None), None))


def landed(shipment: Shipment, lane: Lane | None, duty: Duty | None, money: Convert) -> Landed:
    """Return what one shipment, entered at customs once, costs at our door.

    The lane's rate is for the whole of its way: a stretch of transport that no charge of it covers is in the
    freight, where the buyer pays that. Insurance = rate x (percent of (price + carriage)).
    Value = price + consigned + tools, + origin haul where the destination counts it, + loading, carriage and
    insurance where its basis is freight-inclusive, each unless the price contains it; where the basis is
    freight-exclusive, carriage in the price is taken out if the lane tells it. Duty = value x (rate + extras);
    a fee on the entry = clamp(value x rate, floor, ceiling), once. Import tax = rate x (landed cost + tools),
    a cost only where it is not recovered. The tools' share is in the value and not in the cost; consigned
    parts are in both.
    Sources: Agreement on Implementation of Article VII of GATT 1994, articles 1 and 8 (value); 19 CFR 24.23
    (fee on the entry); Directive 2006/112/EC, articles 85 and 86 (base of import tax). From memory.
    Raises: ValueError if no unit is shipped.
    """
    if not shipment.load.shipped:
        raise ValueError("no unit is shipped")
    return _Landing(shipment, lane, duty, money).landed()


class _Landing:
    """Adds up one shipment; collects what is not known and what is taken for granted."""

    def __init__(self, shipment: Shipment, lane: Lane | None, duty: Duty | None, money: Convert) -> None:
        self.shipment, self.lane, self.duty, self.money = shipment, lane, duty, money
        self.units = shipment.load.shipped
        self.covered = in_price(shipment.term, shipment.where or _named(shipment.term, lane))
        self.rated = freight(lane, shipment.load, shipment.on, money) if lane is not None else Freight()
        self.unknown: list[str] = []
        self.notes: list[str] = list(self.rated.notes)

    def landed(self) -> Landed:
        price = self._goods("goods", "price", self.shipment.price)
        own = self._goods("consigned", "value of consigned parts", self.shipment.consigned)
        tools = self._goods("tools", "share of tools", self.shipment.tools)
        way = [*self._way(), *self._insurance(price)]
        value = self._value([price, own, tools], way)
        before_tax = [price, own, *way, *self._duty(_sum(value))]
        tax, recovered = self._import_tax(_sum([*before_tax, tools]))
        self._judge_place()
        return Landed(
            units=self.units,
            elements=_in_order([*before_tax, *([] if recovered else tax)]),
            in_price=self.covered,
            not_added=tuple(self._paid(item) for item in self.rated.items if item.stretch in self.covered),
            value=tuple(value),
            duty_on_consigned=self._duty_on(own),
            duty_on_tools=self._duty_on(tools),
            recovered_tax=tax[0] if recovered else None,
            chargeable_kg=self.rated.chargeable_kg,
            unknown=tuple(dict.fromkeys(self.unknown)),
            notes=tuple(dict.fromkeys(self.notes)),
        )

    def _element(
        self,
        kind: Kind,
        name: str,
        amount: Fraction | None,
        words: str = "",
        count: tuple[str, int] | None = None,
    ) -> Element:
        per_unit = None if amount is None else amount / self.units
        return Element(kind=kind, name=name, amount=amount, per_unit=per_unit, words=words, count=count)

    def _paid(self, item: FreightItem) -> Element:
        return self._element(item.stretch, item.name, item.amount, item.words, item.count)

    def _cents(self, amount: Fraction) -> str:
        return f"{shown_amount(amount, 2)} {self.shipment.currency}"

    def _goods(self, kind: Kind, name: str, each: Fraction | None) -> Element:
        # The tools' share matters for duty only, and that is the seller's where the price contains it.
        if each is None and not (kind == "tools" and "duty" in self.covered):
            self.unknown.append(f"the {name} of a unit is not known")
        return self._element(kind, name, None if each is None else each * self.units)

    def _way(self) -> list[Element]:
        """Return what the lane asks for the stretches that the price does not pay for."""
        if self.lane is None:
            self._no_lane()
            return []
        found: list[Element] = []
        contained: list[Stretch] = []
        for stretch in _TRANSPORT:
            if stretch in self.covered:
                continue
            items = self.rated.of(stretch)
            found += [self._paid(item) for item in items]
            self.unknown += [words for item in items for words in item.unknown]
            if not items and stretch in _IN_FREIGHT and "carriage" not in self.covered:
                contained.append(stretch)
            elif not items:
                self.unknown.append(f"{self.lane.name} states nothing for the stretch {stretch}")
        if contained:
            self.notes.append(f"no charge of its own, so taken to be in the freight: {', '.join(contained)}")
        return found

    def _no_lane(self) -> None:
        left = [stretch for stretch in (*_TRANSPORT, "insurance") if stretch not in self.covered]
        if left:
            self.unknown.append(f"no lane is named for what the buyer pays: {', '.join(left)}")

    def _insurance(self, price: Element) -> list[Element]:
        if self.lane is None or "insurance" in self.covered:
            return []
        cover = self.lane.insurance
        if cover is None:
            self.notes.append(f"{self.lane.name} states no insurance: the goods travel uninsured")
            return []
        base = _sum([price]) + self._paid_for("carriage")
        amount = base * Fraction(cover.of.fraction) * Fraction(cover.rate.fraction)
        words = f"{cover.rate} of {cover.of} of {self._cents(base)} of goods and freight"
        return [self._element("insurance", "insurance", amount, words)]

    def _paid_for(self, stretch: Stretch) -> Fraction:
        """Return what the buyer pays the lane for a stretch: nothing where the price does."""
        items = () if stretch in self.covered else self.rated.of(stretch)
        return sum((item.amount or _ZERO for item in items), _ZERO)

    def _value(self, goods: list[Element], way: list[Element]) -> list[Element]:
        """Return what makes up the customs value; nothing where duty is the seller's affair."""
        duty = self.duty
        if duty is None or "duty" in self.covered:
            return []
        stays = [s for s in _LATE if s in self.covered and not _in_value(duty, s)]
        if stays:
            self.notes.append(f"in the price and so in the customs value, untold: {', '.join(stays)}")
        counted = [element for element in way if _in_value(duty, element.kind)]
        return [*goods, *counted, *([] if _in_value(duty, "carriage") else self._taken_out())]

    def _taken_out(self) -> list[Element]:
        """Return the carriage that is in the price and not in the value, as an amount below zero."""
        if "carriage" not in self.covered or self.shipment.price is None:
            return []
        items = self.rated.of("carriage")
        if not items or any(item.unknown for item in items):
            self.notes.append("in the price and so in the customs value, untold: carriage")
            return []
        amount = sum((item.amount or _ZERO for item in items), _ZERO)
        self.notes.append(f"carriage of {self._cents(amount)} in the price is taken out of the customs value")
        return [self._element("carriage", "carriage in the price", -amount)]

    def _duty(self, value: Fraction) -> list[Element]:
        """Return duty, further measures and fees on the entry."""
        if "duty" in self.covered:
            return []
        if self.duty is None:
            self.unknown.append("no duty is stated for these goods at this border")
            return []
        rates = [("duty", self.duty.rate), *((extra.name, extra.rate) for extra in self.duty.extra)]
        if self.duty.rate is None:
            self.unknown.append(
                f"the rate of duty on {self.duty.code} in {self.duty.destination} is not stated"
            )
        found = [
            self._element("duty", name, _percent(rate, value), self._share_of(rate, value) if rate else "")
            for name, rate in rates
        ]
        return found + [self._fee(fee, value) for fee in self.duty.fee]

    def _share_of(self, rate: Percent, value: Fraction) -> str:
        return f"{rate} of {self._cents(value)} of customs value"

    def _fee(self, fee: EntryFee, value: Fraction) -> Element:
        """Return a fee on the entry: once, whatever the number of units."""
        amount = _percent(fee.rate, value) or _ZERO
        words = self._share_of(fee.rate, value)
        for limit, pick, name in ((fee.floor, max, "at least"), (fee.ceiling, min, "at most")):
            if limit is None:
                continue
            bound = self.money(limit, "")
            if bound is None:
                self.unknown.append(f"{limit}, {name} due as {fee.name}, cannot be converted")
                return self._element("entry fee", fee.name, None, words)
            if pick(amount, bound) != amount:
                amount, words = bound, f"{words}, {name} {limit}"
        return self._element("entry fee", fee.name, amount, words)

    def _duty_on(self, assist: Element) -> Element:
        """Return the duty that is due only because the factory got something free or cheap."""
        name = f"duty on {assist.name}"
        if "duty" in self.covered:
            return self._element("duty", name, _ZERO)
        if self.duty is None or assist.amount is None:
            return self._element("duty", name, None)
        rates = [self.duty.rate, *(extra.rate for extra in self.duty.extra)]
        return self._element("duty", name, sum((_percent(r, assist.amount) or _ZERO for r in rates), _ZERO))

    def _import_tax(self, base: Fraction) -> tuple[list[Element], bool]:
        """Return import tax, if there is any for the buyer to pay, and whether it comes back."""
        if self.duty is None or self.duty.import_tax is None or "duty" in self.covered:
            return [], False
        rate = self.duty.import_tax
        words = f"{rate} of {self._cents(base)} of landed cost and tools"
        return [self._element("import tax", "import tax", _percent(rate, base), words)], (
            self.duty.import_tax_recovered is not None
        )

    def _judge_place(self) -> None:
        term, to = self.shipment.term, self.lane.to if self.lane is not None else None
        if not term.place:
            self.notes.append(f"{term} names no place, and the place decides who pays for what")
        elif term.rule in _DELIVERED and self.shipment.where is None and to and to != term.place:
            self.notes.append(f"the place of {term} is taken to be our door, {to}")


def _named(term: Incoterm, lane: Lane | None) -> Where | None:
    """Return "door" where carriage is paid to the very place the lane ends at."""
    ends = lane is not None and bool(term.place) and term.place == lane.to
    return "door" if ends and term.rule in _FORWARDED else None


def _in_value(duty: Duty, kind: Kind) -> bool:
    """Return whether what is paid for a stretch enters the customs value; what is not stated goes by the basis."""
    inclusive = duty.basis == "freight-inclusive"
    if kind == "origin haul":
        return inclusive if duty.origin_haul is None else duty.origin_haul
    if kind == "insurance":
        return inclusive if duty.insurance is None else duty.insurance
    return inclusive and kind in {"loading", "carriage"}


def _percent(rate: Percent | None, of: Fraction) -> Fraction | None:
    return None if rate is None else of * Fraction(rate.fraction)


def _sum(elements: Iterable[Element]) -> Fraction:
    return sum((element.amount or _ZERO for element in elements), _ZERO)


def _in_order(elements: list[Element]) -> tuple[Element, ...]:
    """Return the goods first, then the way in its order, then tax."""
    return tuple(sorted(elements, key=lambda element: _ORDER.index(element.kind)))


def _digits(code: str) -> str:
    return "".join(sign for sign in code if sign.isalnum())
