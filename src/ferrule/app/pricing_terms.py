"""`terms`: the price of one offer, from arguments or from a plan's own terms, and what other money costs there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.app.cashing import Cashing, cash_under
from ferrule.compute.bargains import Price, price_bargain
from ferrule.compute.cash import Cash, Moved
from ferrule.compute.early import EarlyOffers, Found, OfPlan, early_offers
from ferrule.compute.ledger import CashEvent, Ledger
from ferrule.errors import FerruleError
from ferrule.load.settings import lever_settings
from ferrule.model.product import Product
from ferrule.model.text import nearest

__all__ = ["Stated", "of_plan", "prices_of"]

_ZERO = Fraction(0)


class Stated(Struct, frozen=True, kw_only=True):
    """What the asker says money costs: usually, and when cash binds; None where not said."""

    rate: Fraction | None = None
    binds: Fraction | None = None


def prices_of(stated: Stated, cashing: Cashing | None) -> tuple[Price, ...]:
    """Return what money costs: as stated, else by the product's policy; when cash binds as stated and by the plan.

    In a plan these are its lines of credit, by their yearly interest, and the levers that free cash at the
    trough, by what a thousand freed costs once.
    """
    return (*_usual(stated, cashing), *_binding(stated, cashing))


def _usual(stated: Stated, cashing: Cashing | None) -> Iterator[Price]:
    if stated.rate is not None:
        yield Price(words="money costs", rate=stated.rate)
    elif cashing is not None and (policy := cashing.product.policy.capital_rate) is not None:
        yield Price(words="money costs, by policy.capital_rate", rate=Fraction(policy.fraction))


def _binding(stated: Stated, cashing: Cashing | None) -> Iterator[Price]:
    if stated.binds is not None:
        yield Price(words="cash binds", rate=stated.binds, binds=True)
    if cashing is None:
        return
    for loan in cashing.plan.loan:
        if loan.interest is not None:
            yield Price(
                words=f"cash binds, {loan.name}",
                rate=Fraction(loan.interest.fraction),
                binds=True,
                note=f"{loan.name}: up to {loan.limit.within(cashing.product.head.currency)}",
            )
    yield from _by_levers(cashing)


def _by_levers(cashing: Cashing) -> Iterator[Price]:
    """Yield what each lever's money costs that frees some, by the fall in profit for a thousand freed."""
    if not cashing.plan.lever:
        return
    home, base = cashing.product.head.currency, cash_under(cashing)[0].ledger
    for name in cashing.plan.lever:
        moved = _moved(cashing, name, base)
        if moved.cost_per_thousand is not None:
            yield Price(
                words=f"cash binds, lever {name}",
                per_thousand=moved.cost_per_thousand,
                binds=True,
                note=f"lever {name}: frees up to {_whole(moved.freed)} {home} at the trough",
            )


def _moved(cashing: Cashing, name: str, base: Ledger) -> Moved:
    settings = lever_settings(cashing.loaded, cashing.plan.plan.id, name)
    cash, words = cash_under(cashing, settings, name)
    freed = cash.ledger.trough.balance - base.trough.balance
    profit = cash.ledger.profit - base.profit
    return Moved(names=(name,), words=words, cash=cash, freed=freed, profit=profit, add=freed)


def _whole(amount: Fraction) -> str:
    return f"{round(amount):,}"


def of_plan(cashing: Cashing, cash: Cash, stated: Stated, name: str | None) -> OfPlan:
    """Return the discounts that a plan's terms offer: all, or those of a firm, channel, part or tool.

    Raises FerruleError for an unknown name, and one that offers none.
    """
    year = Fraction(cashing.product.conventions.year_days)
    offers = early_offers(cash.ledger, year)
    if name is not None:
        kept = early_offers(cash.ledger, year, lambda event: _is_about(cashing.product, event, name))
        offers = kept or _refused(cashing, offers, name)
    prices = prices_of(stated, cashing)
    return OfPlan(
        cash=cash,
        found=tuple(
            Found(
                offers=each,
                priced=price_bargain(each.bargain, prices),
                below=max(_ZERO, (cash.floor or _ZERO) - each.trough.balance),
            )
            for each in offers
        ),
        prices=prices,
    )


def _is_about(product: Product, event: CashEvent, name: str) -> bool:
    """Return whether a payment is with a firm, from a channel, or for a part or tool of this name."""
    kind, number, *path = (*event.home, None, None)
    if name in (event.payer, event.payee) or (kind in ("part", "assembly", "tool") and number == name):
        return True
    if kind == "order" and isinstance(number, int):
        return product.orders[number].part == name
    if kind == "plan" and path[:1] == ["sales"] and isinstance(path[1], int):
        return product.plans[str(number)].sales[path[1]].channel == name
    return False


def _refused(cashing: Cashing, offers: Sequence[EarlyOffers], name: str) -> tuple[EarlyOffers, ...]:
    """Raise FerruleError: nothing of this name offers a discount in the plan."""
    product = cashing.product
    known = [*product.firms, *product.channels, *product.parts, *product.assemblies, *product.tools]
    parties = ", ".join(sorted({each.party for each in offers}))
    if name in known:
        raise FerruleError(
            f"no payment of {name} in plan {cashing.plan.plan.id} has a discount for paying early",
            f"discounts there: {parties}"
            if parties
            else "state one with discount and discount_within in payment",
        )
    best = nearest(name, known)
    raise FerruleError(
        f"there is no firm, channel, part or tool called {name}",
        f"did you mean {best}?" if best else f"discounts in the plan: {parties or 'none'}",
    )
