"""What `cash` answers beside the weeks: breakeven, open currencies at another rate, stopping, lines drawn, discounts."""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

from msgspec import structs

from ferrule.app.cashing import AS_AGREED, Cashing, cash_under, plan_under
from ferrule.compute.cash import Cash
from ferrule.compute.drawing import Drawn, credit_lines, draw
from ferrule.compute.economics import Breakeven, breakeven
from ferrule.compute.exposure import AtRates, other_currency, restate, restated_weeks
from ferrule.compute.rates import rates_of
from ferrule.compute.stopping import StoppedTool, stopped_tools
from ferrule.errors import FerruleError
from ferrule.load.settings import Setting, scenario_settings
from ferrule.model.bad_value import BadValue
from ferrule.model.exchange import Exchange, parse_exchange
from ferrule.model.text import nearest

__all__ = ["at_rates", "drawn", "plan_breakeven", "stopped", "tools_stopped", "without_discounts"]

_STOP = re.compile(r"(?:(?P<sku>.+)=)?(?P<qty>[0-9]+)")


def _settings(cashing: Cashing, scenario: str) -> tuple[Setting, ...]:
    """Return the settings of a scenario that `cash_of` has found."""
    if scenario == AS_AGREED:
        return ()
    return scenario_settings(cashing.loaded, cashing.plan.plan.id, scenario)


def plan_breakeven(cashing: Cashing, cash: Cash) -> Breakeven | None:
    """Return when the plan's sales have paid for what it spends once, as it sells in a scenario; None if it sells nothing."""
    under = plan_under(cashing, _settings(cashing, cash.scenario), cash.scenario)
    if not under.plan.sales:
        return None
    costs = {build.sku: under.ground.costs.get(build.name) for build in reversed(under.plan.build)}
    known = {sku: cost for sku, cost in costs.items() if cost is not None}
    return breakeven(under.product, under.plan, known, cash.weekly)


def at_rates(cashing: Cashing, cash: Cash, written: Sequence[str]) -> AtRates | None:
    """Return a plan's money at rates as they are written, or as scenarios of the plan set them; None for none.

    Raises FerruleError for what is no rate, and for one that does not lead to the home currency.
    """
    if not written:
        return None
    home = cashing.product.head.currency
    exchanges = tuple(rate for text in written for rate in _exchanges(cashing, text))
    for exchange in exchanges:
        if other_currency(exchange, home) is None:
            raise FerruleError(
                f"{exchange} is no rate of {home}, the currency of the product",
                f'write one such as "1 {home} = 1.02 {exchange.quote}"',
            )
    product = plan_under(cashing, _settings(cashing, cash.scenario), cash.scenario).product
    return AtRates(
        exchanges=exchanges,
        weeks=restated_weeks(cash.ledger, rates_of(product), exchanges, home),
        ledger=restate(cash.ledger, exchanges, home),
    )


def _exchanges(cashing: Cashing, written: str) -> list[Exchange]:
    try:
        return [parse_exchange(written)]
    except BadValue as error:
        scenarios = [name for name in cashing.plan.scenario if _rates_set(cashing, name)]
        if written in scenarios:
            return _rates_set(cashing, written)
        best = nearest(written, scenarios)
        hint = f"did you mean {best}?" if best else f'write it as "{error.forms[0]}"'
        if scenarios and not best:
            hint += f", or name a scenario that sets one: {', '.join(scenarios)}"
        raise FerruleError(error.message, hint) from None


def _rates_set(cashing: Cashing, scenario: str) -> list[Exchange]:
    """Return the exchange rates that a scenario sets."""
    settings = [each for each in _settings(cashing, scenario) if each.key.split(".")[0] == "rate"]
    found = []
    for each in settings:
        try:
            found.append(parse_exchange(each.value))
        except BadValue:
            continue
    return found


def stopped(cashing: Cashing, written: Sequence[str]) -> tuple[tuple[str, Fraction], ...]:
    """Return the SKUs and quantities to stop at, as they are written: ``5000``, or ``SKU=5000`` for each.

    A number alone is for the only SKU the plan builds; of two quantities for one SKU the later counts. Raises
    FerruleError for what cannot be read or is not built.
    """
    built = list(dict.fromkeys(build.sku for build in cashing.plan.build))
    form = f"write it as {built[0] if built else 'SKU'}=600"
    found: dict[str, Fraction] = {}
    for text in written:
        match = _STOP.fullmatch(text.replace(",", "").replace(" ", ""))
        if match is None:
            raise FerruleError(f"cannot read the quantity {text!r} to stop at", form)
        sku = match["sku"] or (built[0] if len(built) == 1 else None)
        if sku is None:
            raise FerruleError(
                f"the plan builds {', '.join(built) or 'nothing'}: say of which to stop at {text}", form
            )
        if sku not in built:
            best = nearest(sku, built)
            raise FerruleError(
                f"the plan builds no {sku}",
                f"did you mean {best}?" if best else f"it builds {', '.join(built)}",
            )
        found[sku] = Fraction(match["qty"])
    return tuple(found.items())


def tools_stopped(cashing: Cashing, made: Sequence[tuple[str, Fraction]]) -> tuple[StoppedTool, ...]:
    """Return what tools have not earned back when building stops at some quantities."""
    return stopped_tools(cashing.product, dict(made), cashing.today)


def drawn(cashing: Cashing, cash: Cash) -> tuple[Cash, Drawn]:
    """Return a plan's cash with its lines of credit drawn on; raises FerruleError where it has none."""
    if not cashing.plan.loan:
        raise FerruleError(
            f"plan {cash.plan} has no line of credit to draw on", "add [[loan]] with name, limit and interest"
        )
    under = plan_under(cashing, _settings(cashing, cash.scenario), cash.scenario)
    home = under.product.head.currency
    lines = credit_lines(under.plan, rates_of(under.product), home)
    found = draw(
        cash.ledger,
        lines,
        cash.floor or Fraction(0),
        plan=cash.plan,
        home=home,
        year_days=under.product.conventions.year_days,
    )
    return structs.replace(cash, ledger=found.after, unknown=(*cash.unknown, *found.unknown)), found


def without_discounts(cashing: Cashing, cash: Cash) -> Cash:
    """Return the same scenario with every bill paid when it is due and in full."""
    plain = structs.replace(cashing, discounts=False)
    return cash_under(plain, _settings(cashing, cash.scenario), cash.scenario)[0]
