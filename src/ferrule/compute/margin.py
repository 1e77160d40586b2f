"""What one unit leaves in a channel, and how many units pay for what is spent once.

The price on the shelf shrinks by tax, the retailer's margin and allowances to the revenue; returns, fees,
delivery and warranty take more. A calculation that stops at revenue less landed cost is answered beside it,
as the naive one, so that the difference can be seen.

    revenue = list / (1 + tax) x (1 - retail margin) x (1 - allowance) x (1 - next allowance) ...
    margin  = revenue x (1 - returns) - fees - landed - delivery
              - returns x (return cost - recovery x landed)
              - warranty x (landed + delivery + handling) - chargebacks

Margin and allowances multiply: each percentage is taken of what the one before it left.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.rates import Rates
from ferrule.model.currencies import MINOR_UNITS
from ferrule.model.exact import shown, shown_amount
from ferrule.model.money import Money
from ferrule.model.percent import Percent
from ferrule.model.product import Product
from ferrule.model.records.assembly import Sale
from ferrule.model.records.firms import Channel, Fee

__all__ = ["ChannelMargin", "blended", "breakeven_quantity", "channel_margin"]

_ONE, _NONE = Fraction(1), Fraction(0)


class ChannelMargin(Struct, frozen=True, kw_only=True):
    """What one unit sold leaves in one channel: amounts for one unit, in ``currency``, costs positive.

    ``margin`` = ``revenue`` - ``returned`` - ``fees`` - ``landed`` - ``delivery`` - ``return_cost``
    - ``warranty`` - ``chargebacks``. A cost that is not known is None. Where ``unknown`` names something, the
    margin is an upper bound ("at most"): each unknown is taken as it suits us best, so that knowing it can
    only lower the margin. Every amount is None where not even the price is known in ``currency``.
    """

    sku: str
    channel: str
    currency: str
    list_price: Fraction | None = None
    #: Of a unit that is sold and kept, before returns; with ``revenue_at_most`` an upper bound.
    revenue: Fraction | None = None
    revenue_at_most: bool = False
    #: Revenue given back on returns, spread over all units sold.
    returned: Fraction | None = None
    #: At least this much where ``unknown`` names a fee.
    fees: Fraction | None = None
    landed: Fraction | None = None
    #: Whether more than ``landed`` may be due, because something in it is not known.
    landed_at_least: bool = False
    delivery: Fraction | None = None
    #: Cost of returns less what is recovered from them; below zero where they recover more.
    return_cost: Fraction | None = None
    warranty: Fraction | None = None
    chargebacks: Fraction | None = None
    margin: Fraction | None = None
    #: Revenue less landed cost, and the same as a sentence with its numbers.
    naive: Fraction | None = None
    naive_words: str = ""
    #: What is not known, in plain words, in the order of the formula.
    unknown: tuple[str, ...] = ()
    #: From the list price to the margin; the amounts add up to ``margin``.
    working: tuple[tuple[str, Fraction], ...] = ()
    #: Indices of the exchange rates used, in the product's list.
    rates: tuple[int, ...] = ()

    @property
    def at_most(self) -> bool:
        """Return whether the margin is an upper bound."""
        return bool(self.unknown)

    @property
    def naive_at_most(self) -> bool:
        """Return whether revenue less landed cost is an upper bound."""
        return self.revenue_at_most or self.landed_at_least


class _Fee(Struct, frozen=True):
    """A fee on one unit: its words, its amount before returns, and whether it comes back with the unit."""

    words: str
    amount: Fraction
    returned: bool


class _Terms(Struct, frozen=True, kw_only=True):
    """The facts of a sale, in the home currency; None is not known."""

    price: tuple[tuple[str, Fraction], ...]
    revenue_at_most: bool
    fees: tuple[_Fee, ...]
    landed: Fraction | None
    delivery: Fraction | None
    returns: Fraction | None
    return_cost: Fraction | None
    recovery: Fraction | None
    warranty: Fraction | None
    handling: Fraction | None
    chargebacks: Fraction | None

    @property
    def revenue(self) -> Fraction:
        """Return what the steps from the list price leave."""
        return _sum(self.price)


class _Costs(Struct, frozen=True, kw_only=True):
    """What comes off the revenue, as words and costs; what is recovered is below zero."""

    returned: tuple[str, Fraction]
    fees: tuple[tuple[str, Fraction], ...]
    bought: tuple[tuple[str, Fraction], ...]
    returns: tuple[tuple[str, Fraction], ...]
    warranty: tuple[str, Fraction]
    chargebacks: tuple[str, Fraction]

    @property
    def rows(self) -> tuple[tuple[str, Fraction], ...]:
        """Return all of them in the order of the formula."""
        return (self.returned, *self.fees, *self.bought, *self.returns, self.warranty, self.chargebacks)


def channel_margin(  # noqa: PLR0913  a SKU, where it is sold, and what it costs
    product: Product,
    rates: Rates,
    sku: str,
    channel: str,
    landed: Fraction | None,
    *,
    landed_at_least: bool = False,
    chargebacks: Fraction | None = None,
) -> ChannelMargin:
    """Return what one unit of a SKU leaves in a channel, in the home currency.

    ``landed`` and ``chargebacks`` (penalties such as for part-full cartons, spread over the units) are for
    one unit, in the home currency; None is not known, and with ``landed_at_least`` the landed cost is a lower
    bound, which makes the margin an upper one. A channel that states no chargeback has none. What the
    sale says goes before what the channel says. Empty lists of allowances and fees say that there are none,
    and where we sell directly nobody keeps a margin unless one is stated; all else not stated is unknown.

    The upper bound holds as long as percentage fees leave something of the revenue after returns.
    """
    home = product.head.currency
    assembly, place = product.assemblies.get(sku), product.channels.get(channel)
    sale = None if assembly is None else assembly.sale.get(channel)
    if assembly is None or sale is None or place is None:
        words = f"how {sku} is sold in channel {channel}"
        return ChannelMargin(sku=sku, channel=channel, currency=home, unknown=(words,))
    facts = _Facts(rates, sale, place, (assembly.currency or home, home))
    price = facts.amount("the list price", sale.list_price)
    if price is None:
        return ChannelMargin(sku=sku, channel=channel, currency=home, unknown=tuple(facts.unknown))
    terms = _terms(facts, price, landed, chargebacks)
    if landed_at_least and landed is not None:
        facts.unknown.append("part of the landed cost")
    costs = _at_best(terms)
    returned = terms.returns is not None
    return ChannelMargin(
        sku=sku,
        channel=channel,
        currency=home,
        list_price=price,
        revenue=terms.revenue,
        revenue_at_most=terms.revenue_at_most,
        returned=costs.returned[1] if returned else None,
        fees=_sum(costs.fees),
        landed=landed,
        landed_at_least=landed_at_least,
        delivery=terms.delivery,
        return_cost=_sum(costs.returns) if returned else None,
        warranty=costs.warranty[1] if terms.warranty is not None else None,
        chargebacks=terms.chargebacks,
        margin=terms.revenue - _sum(costs.rows),
        naive=None if landed is None else terms.revenue - landed,
        naive_words=_naive_words(product, terms, landed_at_least=landed_at_least),
        unknown=tuple(facts.unknown),
        working=(*terms.price, *((words, -amount) for words, amount in costs.rows if amount)),
        rates=tuple(sorted(facts.used)),
    )


def blended(mix: Sequence[tuple[Fraction | None, Fraction | int]]) -> Fraction | None:
    """Return the contribution of the average unit of some margins and the units sold at each.

    None where nothing is sold, or where the margin of something that is sold is not known.
    """
    sold = [(margin, Fraction(units)) for margin, units in mix if units]
    earned = [margin * units for margin, units in sold if margin is not None]
    units = sum((units for _, units in sold), _NONE)
    return sum(earned, _NONE) / units if units and len(earned) == len(sold) else None


def breakeven_quantity(fixed: Fraction, contribution: Fraction) -> int | None:
    """Return the fewest whole units whose contribution covers what is spent once.

    Formula: fixed / contribution, rounded up. None where a unit contributes nothing, so that no number of
    them does; zero where there is nothing to cover.
    """
    if fixed <= 0:
        return 0
    return math.ceil(fixed / contribution) if contribution > 0 else None


class _Facts:
    """Reads the facts of one sale, and keeps what is not known and which exchange rates were used.

    An amount that states no currency is in that of the channel; where the channel has none, a sale's is in
    that of its assembly file.
    """

    def __init__(self, rates: Rates, sale: Sale, channel: Channel, currencies: tuple[str, str]) -> None:
        file, self.home = currencies
        self.sale, self.channel = sale, channel
        self.unknown: list[str] = []
        self.used: set[int] = set()
        self._rates = rates
        self._sale_own, self._channel_own = channel.currency or file, channel.currency or self.home

    def share(self, words: str, sold: Percent | None, usual: Percent | None = None) -> Fraction | None:
        """Return the sale's percentage, else the channel's, as a share of one; an unknown one is noted."""
        found = usual if sold is None else sold
        if found is None:
            self.unknown.append(words)
            return None
        return Fraction(found.fraction)

    def amount(self, words: str, sold: Money | None, usual: Money | None = None) -> Fraction | None:
        """Return the sale's amount, else the channel's, in the home currency; an unknown one is noted."""
        if sold is not None:
            return self.converted(words, sold.within(self._sale_own))
        if usual is not None:
            return self.converted(words, usual.within(self._channel_own))
        self.unknown.append(words)
        return None

    def converted(self, words: str, money: Money) -> Fraction | None:
        """Return an amount in the home currency; one without a rate is noted."""
        found = self._rates.money(money, self.home, self.home)
        if found is None:
            self.unknown.append(f"{words}: no exchange rate joins {money.currency} and {self.home}")
        self.used.update(self._rates.chain(money.currency or self.home, self.home) or ())
        return found


def _terms(facts: _Facts, price: Fraction, landed: Fraction | None, chargebacks: Fraction | None) -> _Terms:
    contained = _contained(facts)
    steps = _price(facts, price, contained=contained)
    uncertain = bool(facts.unknown)
    fees = _fees(facts, price, _sum(steps), contained=contained)
    if landed is None:
        facts.unknown.append("the landed cost")
    delivery = facts.amount("the delivery of one unit", facts.sale.delivery, facts.channel.delivery)
    returns, return_cost, recovery = _returns(facts)
    warranty, handling = _warranty(facts)
    if not facts.channel.chargeback:
        chargebacks = chargebacks or _NONE
    elif chargebacks is None:
        facts.unknown.append("the channel's chargebacks on one unit")
    return _Terms(
        price=steps,
        revenue_at_most=uncertain,
        fees=fees,
        landed=landed,
        delivery=delivery,
        returns=returns,
        return_cost=return_cost,
        recovery=recovery,
        warranty=warranty,
        handling=handling,
        chargebacks=chargebacks,
    )


def _contained(facts: _Facts) -> bool | None:
    """Return whether the list price contains sales tax; None (noted) where nothing says so.

    A tax that a sale states is one its price contains, unless the channel says otherwise.
    """
    if facts.channel.tax_included is not None:
        return facts.channel.tax_included
    if facts.sale.tax is not None:
        return True
    facts.unknown.append("whether the list price contains sales tax")
    return None


def _tax(facts: _Facts) -> Fraction:
    return facts.share("the rate of sales tax", facts.sale.tax, facts.channel.tax) or _NONE


def _price(facts: _Facts, price: Fraction, *, contained: bool | None) -> tuple[tuple[str, Fraction], ...]:
    """Return the steps from the list price to the revenue; they add up to it."""
    cuts = []
    if contained:
        tax = _tax(facts)
        cuts.append((f"sales tax in it, {_percent(tax)}", 1 - 1 / (1 + tax)))
    if facts.channel.kind != "direct" or facts.channel.margin is not None:
        margin = facts.share("the margin that the channel keeps", facts.channel.margin) or _NONE
        cuts.append((f"margin of the channel, {_percent(margin)}", margin))
    cuts += [(f"{cut.name}, {cut.rate}", Fraction(cut.rate.fraction)) for cut in facts.channel.allowance]
    steps = [("list price", price)]
    for words, cut in cuts:
        if cut:
            steps.append((words, -price * cut))
            price *= 1 - cut
    return tuple(steps)


def _fees(facts: _Facts, price: Fraction, revenue: Fraction, *, contained: bool | None) -> tuple[_Fee, ...]:
    """Return the channel's fees. The rate of a tax outside the price matters only to a fee on both together."""
    outside = contained is False and any(
        fee.percent is not None and fee.base == "price with tax" for fee in facts.channel.fee
    )
    taxed = price * (1 + _tax(facts)) if outside else price
    bases = {"net revenue": revenue, "list price": price, "price with tax": taxed}
    return tuple(_fee(facts, fee, bases[fee.base]) for fee in facts.channel.fee)


def _fee(facts: _Facts, fee: Fee, base: Fraction) -> _Fee:
    """Return a fee on one unit. A fixed amount that states no currency is in the home currency."""
    parts, amount = [], _NONE
    if fee.percent is not None:
        parts.append(f"{fee.percent} of {fee.base}")
        amount += base * Fraction(fee.percent.fraction)
    if fee.fixed is not None:
        fixed = fee.fixed.within(facts.home)
        parts.append(str(fixed))
        amount += facts.converted(f"the fixed amount of fee {fee.name}", fixed) or _NONE
    if not parts:
        facts.unknown.append(f"the amount of fee {fee.name}")
    kept = ", not on returns" if fee.returned else ""
    return _Fee(f"fee {fee.name}, {' and '.join(parts)}{kept}", amount, fee.returned)


def _returns(facts: _Facts) -> tuple[Fraction | None, Fraction | None, Fraction | None]:
    """Return the share that comes back, the cost of one return, and the share of landed cost recovered.

    Without returns the other two do not matter.
    """
    sale, channel = facts.sale, facts.channel
    share = facts.share("the share of units that come back", sale.returns, channel.returns)
    if share == 0:
        return share, _NONE, _NONE
    cost = facts.amount("the cost of one return", sale.return_cost, channel.return_cost)
    words = "the share of landed cost recovered from a return (taken as 100 %)"
    return share, cost, facts.share(words, sale.recovery, channel.recovery)


def _warranty(facts: _Facts) -> tuple[Fraction | None, Fraction | None]:
    """Return the share replaced under warranty and the cost of handling one; without any, that is no matter."""
    sale, channel = facts.sale, facts.channel
    share = facts.share("the share of units replaced under warranty", sale.warranty, channel.warranty)
    if share == 0:
        return share, _NONE
    return share, facts.amount("the handling of a warranty case", sale.warranty_handling)


def _at_best(terms: _Terms) -> _Costs:
    """Return the costs; where returns are not known, those of none or of all coming back, whichever are less.

    The margin is linear in the share that comes back, so that its highest value is at one of the two ends.
    All coming back is better only for a unit sold for less than a return recovers.
    """
    if terms.returns is not None:
        return _costs(terms, terms.returns)
    return min(_costs(terms, _NONE), _costs(terms, _ONE), key=lambda costs: _sum(costs.rows))


def _costs(terms: _Terms, returns: Fraction) -> _Costs:
    share = _percent(returns) + (" at best" if terms.returns is None else "")
    landed, delivery = terms.landed or _NONE, terms.delivery or _NONE
    recovery = _ONE if terms.recovery is None else terms.recovery
    warranty = terms.warranty or _NONE
    replaced = landed + delivery + (terms.handling or _NONE)
    recovered = f"recovered from returns, {_percent(recovery)} of landed cost"
    replacing = f"warranty, {_percent(warranty)} of landed cost, delivery and handling"
    return _Costs(
        returned=(f"revenue given back on returns, {share}", terms.revenue * returns),
        fees=tuple((fee.words, fee.amount * (1 - returns if fee.returned else 1)) for fee in terms.fees),
        bought=(("landed cost", landed), ("delivery", delivery)),
        returns=(
            (f"cost of returns, {share}", returns * (terms.return_cost or _NONE)),
            (recovered, -returns * recovery * landed),
        ),
        warranty=(replacing, warranty * replaced),
        chargebacks=("chargebacks", terms.chargebacks or _NONE),
    )


def _naive_words(product: Product, terms: _Terms, *, landed_at_least: bool) -> str:
    home = product.head.currency
    places, even = MINOR_UNITS.get(home, 2), product.conventions.rounding == "half-even"
    bound = "at most " if terms.revenue_at_most else ""
    revenue = f"{shown_amount(terms.revenue, places, half_even=even)} {home}"
    if terms.landed is None:
        return f"revenue {bound}{revenue} less a landed cost that is not known"
    left = terms.revenue - terms.landed
    cost, rest = (f"{shown_amount(one, places, half_even=even)} {home}" for one in (terms.landed, left))
    least = "at least " if landed_at_least else ""
    most = "at most " if terms.revenue_at_most or landed_at_least else ""
    return f"revenue {bound}{revenue} less landed cost {least}{cost} is {most}{rest}"


def _percent(share: Fraction) -> str:
    return f"{shown(share * 100)} %"


def _sum(rows: Iterable[tuple[str, Fraction]]) -> Fraction:
    return sum((amount for _, amount in rows), _NONE)
