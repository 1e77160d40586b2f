"""The facts of a plan that may turn out worse, each with the values at which it is tried and what sets it."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct

from ferrule.app.cashing import Under, setting
from ferrule.compute.cash import Cash, exposure
from ferrule.compute.cost import duty_at
from ferrule.compute.leads import rough_days
from ferrule.compute.limits_grids import days_from, points_down, points_up, rates_along
from ferrule.compute.rates import counting
from ferrule.errors import FerruleError
from ferrule.load.settings import Setting
from ferrule.model.due import Due
from ferrule.model.duration import Duration
from ferrule.model.exact import in_full
from ferrule.model.exchange import Exchange
from ferrule.model.percent import Percent
from ferrule.model.product import Product
from ferrule.model.records.assembly import Step
from ferrule.model.records.firms import Channel, Duty, Rate
from ferrule.model.records.plan import PlanFile, Sales

__all__ = ["Asked", "Fact", "Unsolved", "facts_of", "sales_kept"]

_ZERO = Fraction(0)
#: How far terms are tried, in days, and yields, in percent.
_DAYS, _NO_WORSE = 365, 70
#: Points by which yields are tried above and below what is stated.
_RAISE, _LOWER = 10, 30


class Fact(Struct, frozen=True, kw_only=True):
    """A fact that is tried: what it is called, how its values read, which is today's, and what sets each.

    ``values`` run from the best for us to the worst; ``numbers`` are the same as numbers in ``unit``.
    ``days`` is filled instead of settings where the day of asking itself is moved.
    """

    name: str
    subject: str
    unit: str
    values: tuple[str, ...]
    numbers: tuple[Fraction, ...]
    today: int
    sets: Callable[[int], tuple[Setting, ...]]
    days: tuple[dt.date, ...] = ()


class Unsolved(Struct, frozen=True, kw_only=True):
    """A fact that cannot be solved, and why."""

    name: str
    subject: str
    why: str


class Asked(Struct, frozen=True, kw_only=True):
    """What facts are made from: the plan under its scenario with its cash, and how far to search.

    ``reach`` holds the furthest value by name; ``each`` asks for every step's yield beside all together.
    """

    today: dt.date
    under: Under
    cash: Cash
    reach: str | None = None
    each: bool = False

    @property
    def product(self) -> Product:
        """Return the product under the scenario."""
        return self.under.product

    @property
    def plan(self) -> PlanFile:
        """Return the plan under the scenario."""
        return self.under.plan

    def number(self, usual: Fraction, example: str) -> Fraction:
        """Return how far to search; raises FerruleError."""
        if self.reach is None:
            return usual
        text = self.reach.removesuffix("%").removesuffix("days").strip()
        try:
            found = Decimal(text)
        except ArithmeticError:
            found = Decimal(-1)
        if not found.is_finite() or found < 0:
            raise FerruleError(f"{self.reach!r} is no value to search up to", f"write {example}")
        return Fraction(found)


def _kick_off(asked: Asked) -> Iterator[Fact | Unsolved]:
    builds = asked.under.ground.dates.builds
    dues = [day for build in builds if (day := build.due or build.ships) is not None]
    if not dues:
        yield Unsolved(name="kick-off", subject="first orders", why="no build is due on any day")
        return
    last = max(dues)
    if asked.reach is not None:
        try:
            last = dt.date.fromisoformat(asked.reach)
        except ValueError:
            raise FerruleError(f"{asked.reach!r} is no day", "write kick-off=2027-06-30") from None
    days = days_from(asked.today, last)
    yield Fact(
        name="kick-off",
        subject="first orders",
        unit="days",
        values=tuple(day.isoformat() for day in days),
        numbers=tuple(Fraction(number) for number in range(len(days))),
        today=0,
        sets=lambda _: (),
        days=days,
    )


def _terms(asked: Asked) -> Iterator[Fact | Unsolved]:
    sold = dict.fromkeys(sale.channel for sale in asked.plan.sales)
    channels = [(name, asked.product.channels[name]) for name in sold if name in asked.product.channels]
    customers = [(name, channel) for name, channel in channels if channel.payment]
    if not customers:
        yield Unsolved(name="term", subject="customers", why="no channel of the plan states terms of payment")
    most = asked.number(Fraction(_DAYS), "term=180")
    for name, channel in customers:
        yield _term(name, channel, math.floor(most))


def _term(name: str, channel: Channel, most: int) -> Fact:
    """Return the lag of a customer's last instalment as days."""
    index = len(channel.payment) - 1
    due = channel.payment[index].due
    lag = rough_days(due.lag) if due.lag is not None else _ZERO
    today = -lag if due.before else lag
    days = sorted({*map(Fraction, range(most + 1)), today})

    def sets(at: int) -> tuple[Setting, ...]:
        if days[at] == today:
            return ()
        moved = Due(due.event, due.month_end, Duration(Decimal(int(days[at])), "days"))
        return (setting(f'channel."{name}".payment.{index}.due', str(moved)),)

    return Fact(
        name="term",
        subject=f"{channel.name} pays after",
        unit="days",
        values=tuple(f"{in_full(day)} days" for day in days),
        numbers=tuple(days),
        today=days.index(today),
        sets=sets,
    )


def _sell_through(asked: Asked) -> Iterator[Fact | Unsolved]:
    if not asked.plan.sales:
        yield Unsolved(name="sell-through", subject="planned sales", why="the plan sells nothing")
        return
    values = points_down(Fraction(100), asked.number(_ZERO, "sell-through=40"))

    def sets(at: int) -> tuple[Setting, ...]:
        if not at:
            return ()
        share = values[at] / 100
        return tuple(
            each for index, sale in enumerate(asked.plan.sales) for each in _sold(index, sale, share)
        )

    yield _percents("sell-through", "planned sales", values, Fraction(100), sets)


def _sold(index: int, sale: Sales, share: Fraction) -> Iterator[Setting]:
    """Yield what lowers an entry of sales to a share of itself, whole units rounded down."""
    if sale.curve:
        units, before = [], 0
        so_far = _ZERO
        for week in sale.curve:
            so_far += Fraction(week.qty)
            whole = math.floor(so_far * share)
            units.append({"week": _written(week.week), "qty": whole - before})
            before = whole
        yield setting(f"sales.{index}.curve", units)
    if sale.qty is not None:
        yield setting(f"sales.{index}.qty", math.floor(Fraction(sale.qty) * share))
    if sale.share is not None:
        yield setting(f"sales.{index}.share", f"{in_full(Fraction(sale.share.number) * share)} %")


def sales_kept(plan: PlanFile, build: str, qty: int) -> tuple[Setting, ...]:
    """Return what keeps the sales of a build within a quantity of it: all cut by one share where they exceed it."""
    own = [(index, sale) for index, sale in enumerate(plan.sales) if sale.build == build]
    sold = sum((_units(sale, qty) for _, sale in own), _ZERO)
    if sold <= qty:
        return ()
    return tuple(each for index, sale in own for each in _sold(index, sale, Fraction(qty) / sold))


def _units(sale: Sales, qty: int) -> Fraction:
    """Return the units of an entry of sales when a quantity is built, as the plan states them."""
    if sale.curve:
        return sum((Fraction(week.qty) for week in sale.curve), _ZERO)
    if sale.qty is not None:
        return Fraction(sale.qty)
    return qty * Fraction(sale.share.fraction) if sale.share is not None else _ZERO


def _written(when: object) -> object:
    day = getattr(when, "day", None)
    return day if isinstance(day, dt.date) else str(when)


def _percents(
    name: str,
    subject: str,
    values: Sequence[Fraction],
    today: Fraction,
    sets: Callable[[int], tuple[Setting, ...]],
) -> Fact:
    return Fact(
        name=name,
        subject=subject,
        unit="points",
        values=tuple(f"{in_full(value)} %" for value in values),
        numbers=tuple(values),
        today=list(values).index(today),
        sets=sets,
    )


def _duties(asked: Asked) -> Iterator[Fact | Unsolved]:
    used: dict[int, Duty] = {}
    for build in asked.plan.build:
        lane = asked.product.lanes.get(build.lane or "")
        duty = duty_at(asked.product, build.sku, lane) if lane is not None else None
        if duty is not None:
            used[asked.product.duties.index(duty)] = duty
    if not used:
        yield Unsolved(name="duty", subject="duty", why="no build crosses a border whose duty is stated")
    for _, duty in sorted(used.items()):
        subject = f"duty of {duty.destination} on {duty.code}"
        if duty.rate is None:
            yield Unsolved(name="duty", subject=subject, why="its rate is not stated")
        else:
            yield _duty(asked, duty, subject, Fraction(duty.rate.number))


def _duty(asked: Asked, duty: Duty, subject: str, today: Fraction) -> Fact:
    values = points_up(today, max(today, asked.number(Fraction(100), "duty=60")))
    key = ".".join(f'"{name}"' for name in (duty.destination, duty.code, duty.origin or "any"))

    def sets(at: int) -> tuple[Setting, ...]:
        return () if values[at] == today else (setting(f"duty.{key}.rate", f"{in_full(values[at])} %"),)

    return _percents("duty", subject, values, today, sets)


def _rates(asked: Asked) -> Iterator[Fact | Unsolved]:
    home = asked.product.head.currency
    open_ = {code: income - outgo for code, income, outgo in exposure(asked.cash.ledger, home)}
    best = {index: pair for pair, index in counting(asked.product.rates).items()}
    found = False
    for index, rate in enumerate(asked.product.rates):
        other = next((code for code in best.get(index, ()) if code in open_), None)
        if other is not None and home in best[index]:
            found = True
            yield _rate(asked, rate, other, owed=open_[other] < 0)
    if not found:
        yield Unsolved(name="rate", subject="exchange rates", why="nothing is open in another currency")


def _rate(asked: Asked, rate: Rate, other: str, *, owed: bool) -> Fact:
    """Return the rate of a currency, dearer step by step where we owe in it, cheaper where we are owed."""
    stated = rate.rate
    today = Fraction(stated.buys)
    falls = (stated.quote == other) == owed
    last = asked.number(today / 2 if falls else today * 3 / 2, f"rate={in_full(today / 2)}")
    values = rates_along(today, last)
    key = f'rate."{stated.base}"."{stated.quote}"' + f'."{rate.date or "any"}".rate'
    written = [
        str(Exchange(stated.of, stated.base, Decimal(in_full(value)), stated.quote)) for value in values
    ]

    def sets(at: int) -> tuple[Setting, ...]:
        return () if values[at] == today else (setting(key, written[at]),)

    return Fact(
        name="rate",
        subject=f"{other} {'dearer' if owed else 'cheaper'}",
        unit=stated.quote,
        values=tuple(written),
        numbers=tuple(values),
        today=list(values).index(today),
        sets=sets,
    )


_Spot = tuple[str, int, Step]


def _yields(asked: Asked) -> Iterator[Fact | Unsolved]:
    spots = list(_steps(asked))
    if not spots:
        yield Unsolved(
            name="yield", subject="yields", why="no step of what the plan builds states a yield below 100 %"
        )
        return
    least = asked.number(Fraction(_NO_WORSE), "yield=60")
    yield _all_steps(spots, least)
    for spot in spots if asked.each else ():
        yield _one_step(spot, least)


def _steps(asked: Asked) -> Iterator[_Spot]:
    """Yield the steps that lose something, of all assemblies that the plan makes."""
    made = dict.fromkeys(
        each.assembly for demand in asked.under.ground.bought.demands for each in demand.made
    )
    for number in made:
        for index, step in enumerate(asked.product.assemblies[number].steps):
            if step.yield_ is not None and step.yield_.number < 100:
                yield number, index, step


def _number(yield_: Percent | None) -> Fraction:
    return Fraction(yield_.number) if yield_ is not None else Fraction(100)


def _all_steps(spots: Sequence[_Spot], least: Fraction) -> Fact:
    """Return the yield of all steps, moved by the same points; none goes above 100 % or below the least."""
    points = [Fraction(number, 2) for number in range(_RAISE * 2, -_LOWER * 2 - 1, -1)]

    def sets(at: int) -> tuple[Setting, ...]:
        return () if not points[at] else tuple(_yield_set(spot, points[at], least) for spot in spots)

    return Fact(
        name="yield",
        subject=f"every step ({len(spots)})",
        unit="points",
        values=tuple(_points(each) for each in points),
        numbers=tuple(points),
        today=points.index(_ZERO),
        sets=sets,
    )


def _points(points: Fraction) -> str:
    if not points:
        return "as stated"
    return f"{in_full(abs(points))} points {'higher' if points > 0 else 'lower'}"


def _yield_set(spot: _Spot, points: Fraction, least: Fraction) -> Setting:
    number, index, step = spot
    moved = min(Fraction(100), max(least, _number(step.yield_) + points))
    return setting(f'assembly."{number}".steps.{index}.yield', f"{in_full(moved)} %")


def _one_step(spot: _Spot, least: Fraction) -> Fact:
    number, _, step = spot
    today = _number(step.yield_)
    values = points_down(today, least, parts=2)

    def sets(at: int) -> tuple[Setting, ...]:
        return () if values[at] == today else (_yield_set(spot, values[at] - today, least),)

    return _percents("yield", f"{step.name} of {number}", values, today, sets)


def facts_of(name: str, asked: Asked) -> Iterator[Fact | Unsolved]:
    """Yield the facts of one name; raises FerruleError where its reach cannot be used."""
    yield from _MAKERS[name](asked)


_MAKERS: dict[str, Callable[[Asked], Iterable[Fact | Unsolved]]] = {
    "kick-off": _kick_off,
    "term": _terms,
    "sell-through": _sell_through,
    "duty": _duties,
    "rate": _rates,
    "yield": _yields,
}
