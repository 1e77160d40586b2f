"""`cost` in words: a unit's cost by element and quantity, its channels, offers, curve, and what it rests on."""

from __future__ import annotations

import datetime as dt
import itertools
import re
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction

from ferrule.compute.cost import LANDING_ORDER, Offered, UnitCost, duty_at
from ferrule.compute.curve import Point
from ferrule.compute.economics import Breakeven, margins_of
from ferrule.compute.factory import CONSIGNED, Contribution
from ferrule.compute.landing import Kind, Landed
from ferrule.compute.margin import ChannelMargin
from ferrule.compute.rates import rates_of
from ferrule.compute.tooling import ToolCost
from ferrule.compute.weakness import weakness
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Document, Share, Table
from ferrule.report.evidence import evidence_of
from ferrule.report.picture import Bar, Bars, Curve, Line, Segment, Step
from ferrule.report.wording import CAUTION, counted, money, percent, quantity

__all__ = ["describe_cost", "describe_curve", "describe_offers", "describe_why", "elements_of"]

_ZERO = Fraction(0)
_CURRENCY = re.compile(r"\b[A-Z]{3}\b")
#: Which elements of a landed cost come together in the columns of an offer.
_OFFER_GROUPS: tuple[tuple[Kind, ...], ...] = (
    ("origin haul", "export", "loading", "carriage", "arrival", "delivery"),
    ("insurance",),
    ("duty",),
    ("import", "entry fee", "import tax"),
    ("consigned",),
)
Where = Callable[..., str]
#: How the elements come together in a bar, in its order; what is in none of them is "other".
_GROUPS = {
    "materials": ("material, ",),
    "losses and charges": ("losses in placing", "order charges"),
    "labour": ("labour", "packing work", "other steps"),
    "test": ("test",),
    "factory price": ("quoted factory price",),
    "mark-up": ("mark-up", "handling of consigned parts"),
    "consigned": (CONSIGNED,),
    "way": (
        "origin haul",
        "export clearance",
        "loading",
        "freight",
        "insurance",
        "terminal at arrival",
        "delivery",
    ),
    "duty and entry": ("import clearance", "duty", "entry fees", "import tax"),
}
#: Elements are shown in this order within the factory's price; others follow by name.
_FACTORY_ORDER = (
    "losses in placing",
    "order charges",
    "labour",
    "test",
    "packing work",
    "other steps",
    "quoted factory price",
    "mark-up",
    "handling of consigned parts",
)


def elements_of(costs: Sequence[UnitCost]) -> list[str]:
    """Return the elements of some unit costs in the order of a report: materials, factory, ours, the way."""
    names = {name for cost in costs for name in cost.elements}
    materials = sorted(name for name in names if name.startswith("material, "))
    factory = [name for name in _FACTORY_ORDER if name in names]
    ours = [CONSIGNED] if CONSIGNED in names else []
    return [*materials, *factory, *ours, *(name for name in LANDING_ORDER if name in names)]


def describe_cost(
    product: Product,
    costs: Sequence[UnitCost],
    label: str,
    even: Breakeven | None,
    facts: Sequence[tuple[str, Cell]],
) -> Document:
    """Return the cost of a unit at several quantities, with what stands beside it."""
    main = costs[-1]
    home = product.head.currency
    margins = margins_of(product, main)
    tables = [_elements(costs), _beside(costs, home), _yields(main), _tools(main)]
    if margins:
        tables.append(_channels(product, margins, main))
    if even is not None:
        tables.append(_breakeven(even, home))
    return Document(
        key="cost",
        title=f"What one good {main.ask.sku} costs{', landed' if main.landed is not None else ' at the factory'}",
        facts=(("sku", main.ask.sku), *facts, ("state", label), ("currency", home)),
        tables=tuple(tables),
        notes=tuple(_notes(product, costs)),
        cautions=(*_to_confirm(product, main), CAUTION),
        pictures=(_bars(costs, home),),
    )


def _column(cost: UnitCost) -> Column:
    qty = quantity(cost.ask.qty)
    name = cost.ask.name if cost.ask.name == qty else f"{cost.ask.name} {qty}"
    rank = {"10": 3, "100,000": 2, "100": 1}.get(cost.ask.name, 0)
    key = "unit_" + "".join(c if c.isalnum() else "_" for c in name.replace(",", "")).lower()
    return Column(key, name, "number", rank=rank)


def _elements(costs: Sequence[UnitCost]) -> Table:
    names = elements_of(costs)
    factory = [name for name in names if name != CONSIGNED and name not in LANDING_ORDER]
    rows: list[tuple[Cell, ...]] = [
        *(_row(name, costs) for name in factory),
        ("= factory price", *(_unless_nothing(cost.factory, cost) for cost in costs)),
        *(_row(name, costs) for name in names[len(factory) :]),
    ]
    total = f"= {_whole_name(costs)}"
    rows.append((total, *(_unless_nothing(cost.total, cost) for cost in costs)))
    if any(cost.is_bound for cost in costs):
        rows.append(("at least, see below", *("at least" if cost.is_bound else "" for cost in costs)))
    return Table(
        key="elements",
        title="One good unit",
        columns=(Column("element", "element"), *(_column(cost) for cost in costs)),
        rows=rows,
    )


def _whole_name(costs: Sequence[UnitCost]) -> str:
    return "landed" if costs[-1].landed is not None else "cost"


def _row(name: str, costs: Sequence[UnitCost]) -> tuple[Cell, ...]:
    return (name, *(_element(name, cost) for cost in costs))


def _element(name: str, cost: UnitCost) -> Cell:
    """Return an element's amount; blank where the cost has none, unknown where nothing of it is known."""
    known = [each.amount for each in cost.contributions if each.element == name]
    if not known:
        return ""
    return None if all(amount is None for amount in known) else Amount(cost.elements[name], 3)


def _unless_nothing(amount: Fraction, cost: UnitCost, places: int = 3) -> Cell:
    """Return an amount; unknown where it adds up to nothing because what it is made of is not known."""
    return None if not amount and cost.is_bound else Amount(amount, places)


def _beside(costs: Sequence[UnitCost], home: str) -> Table:
    a_unit = f"{home} each"

    def each(words: str, unit: str, value: Callable[[UnitCost], Cell]) -> tuple[Cell, ...]:
        return (words, unit, *(value(cost) for cost in costs))

    def landed(cost: UnitCost, value: Callable[[Landed], Fraction]) -> Cell:
        return "" if cost.landed is None else Amount(value(cost.landed) / cost.landed.units, 3)

    rows = [
        each("added by yields below 100 %", a_unit, lambda cost: Amount(cost.yield_cost, 3)),
        each("starts for the good units", "each", lambda cost: Amount(_starts(cost), 0)),
        each("first time through", "%", lambda cost: Share(_first_time(cost))),
        each(
            "duty that tools and sent parts cause",
            a_unit,
            lambda cost: landed(cost, lambda home: home.duty_on_assists),
        ),
        each("left over, paid for", a_unit, lambda cost: _unless_nothing(cost.left_value, cost)),
        each("share of tools", a_unit, lambda cost: _tool_sum(cost, lambda tool: tool.each, 3)),
        each("tools if stopped here", a_unit, lambda cost: _tool_sum(cost, lambda tool: tool.true_each, 3)),
        each(f"{_whole_name(costs)} with tools and leftovers", a_unit, _with_all),
        each("cash for the run", home, lambda cost: _unless_nothing(cost.cash, cost, 2)),
        each("tools not recovered if stopped", home, lambda cost: _tool_sum(cost, lambda tool: tool.open, 2)),
        each("rests on weak prices", "%", lambda cost: Share(weakness(cost).share) if cost.total else None),
    ]
    return Table(
        key="beside",
        title="Beside it, in none of the sums above",
        columns=(
            Column("what", "what"),
            Column("unit", "unit", in_text=False),
            *(_column(cost) for cost in costs),
        ),
        rows=rows,
    )


def _starts(cost: UnitCost) -> Fraction:
    """Return how many of the topmost assembly that loses units have to start, rounded up."""
    lossy = [made for made in cost.demand.made if made.flow.yield_ != 1]
    made = lossy[0] if lossy else cost.demand.made[0]
    return Fraction(-(-made.starts // 1))


def _first_time(cost: UnitCost) -> Fraction:
    """Return the share of units that pass every step of the chain of topmost assemblies at the first try."""
    share = Fraction(1)
    for made in cost.demand.made:
        share *= made.flow.first_time
    return share


def _tool_sum(cost: UnitCost, of: Callable[[ToolCost], Fraction | None], places: int) -> Cell:
    """Return one figure added up over all tools; unknown where one of them is."""
    known = [of(tool) for tool in cost.tools]
    return None if None in known else Amount(sum((each or _ZERO for each in known), _ZERO), places)


def _with_all(cost: UnitCost) -> Cell:
    tools = _tool_sum(cost, lambda tool: tool.each, 3)
    return tools and _unless_nothing(cost.total + cost.tool_share + cost.left_value, cost)


def _yields(cost: UnitCost) -> Table:
    flows = {(made.assembly, i): flow for made in cost.demand.made for i, flow in enumerate(made.flow.steps)}
    worth = {(each.assembly, each.step): each.saved for each in cost.worth}
    rows: list[tuple[Cell, ...]] = []
    for (assembly, index), flow in flows.items():
        name = _step_name(cost, assembly, index)
        saved = worth.get((assembly, name))
        if saved is not None:
            rows.append((assembly, name, Share(flow.first_pass, 2), Share(flow.final, 2), Amount(saved, 3)))
    rows.sort(key=lambda row: -(row[4].number if isinstance(row[4], Amount) else _ZERO))
    return Table(
        key="yields",
        title=f"What half a point of yield is worth, at {cost.ask.name}",
        columns=(
            Column("assembly", "assembly"),
            Column("step", "step"),
            Column("first_pass_percent", "first pass", "number"),
            Column("final_percent", "final", "number"),
            Column("saved", "saved a unit", "number"),
        ),
        rows=rows,
    )


def _step_name(cost: UnitCost, assembly: str, index: int) -> str:
    home = ("assembly", assembly, "steps", index)
    named = next((each.name for each in cost.contributions if each.home == home), "")
    return named.removeprefix(f"{assembly}, ")


def _tools(cost: UnitCost) -> Table:
    rows = [
        (
            tool.number,
            tool.name,
            None if tool.cash is None else Amount(tool.cash),
            Amount(tool.over, 0) if tool.over else "not spread",
            None if tool.each is None else Amount(tool.each, 3),
            None if tool.open is None else Amount(tool.open),
            "" if not tool.in_customs_value else Amount(tool.in_customs_value, 3),
        )
        for tool in cost.tools
    ]
    return Table(
        key="tools",
        title=f"Tools: three different numbers, at {cost.ask.name}",
        columns=(
            Column("tool", "tool"),
            Column("name", "name", rank=1),
            Column("cash", "cash", "number"),
            Column("over", "spread over", "number", rank=2),
            Column("unit", "a unit", "number"),
            Column("open", "open if stopped", "number"),
            Column("customs", "in customs value", "number", rank=3),
        ),
        rows=rows,
    )


def _channels(product: Product, margins: Sequence[ChannelMargin], cost: UnitCost) -> Table:
    rows = []
    for margin in margins:
        spent = [margin.returned, margin.return_cost, margin.warranty, margin.chargebacks]
        known = sum((each or _ZERO for each in spent), _ZERO)
        rows.append(
            (
                margin.channel,
                _amount(margin.list_price),
                _amount(margin.revenue),
                _amount(margin.fees),
                _unless_nothing(cost.total, cost, 2),
                _amount(margin.delivery),
                Amount(known),
                "at most" if margin.at_most else "",
                _amount(margin.margin),
                _amount(margin.naive),
            )
        )
    notes = [f"{margin.channel}: {margin.naive_words}" for margin in margins if margin.naive_words]
    notes += [f"{margin.channel}, not known: {words}" for margin in margins for words in margin.unknown]
    notes += [
        f"{margin.channel} takes full cartons only: {quantity(Fraction(cost.load.part_units))} of the run fill none"
        for margin in margins
        if product.channels[margin.channel].cartons_only and cost.load.part_units
    ]
    return Table(
        key="channels",
        title=f"What a unit leaves, at {cost.ask.name}",
        columns=(
            Column("channel", "channel"),
            Column("list_price", "list", "number", rank=4),
            Column("revenue", "revenue", "number"),
            Column("fees", "fees", "number", rank=1),
            Column("landed", "landed", "number"),
            Column("delivery", "delivery", "number", rank=2),
            Column("returns_warranty", "after sale", "number", rank=3),
            Column("bound", ""),
            Column("margin", "margin", "number"),
            Column("naive", "naive", "number"),
        ),
        rows=rows,
        notes=tuple(notes),
    )


def _amount(value: Fraction | None, places: int = 2) -> Cell:
    return None if value is None else Amount(value, places)


def _bars(costs: Sequence[UnitCost], home: str) -> Bars:
    names = elements_of(costs)
    rows = []
    for cost in costs:
        segments = []
        for group, heads in _GROUPS.items():
            kept = [name for name in names if name.startswith(heads)]
            value = sum((cost.elements.get(name, _ZERO) for name in kept), _ZERO)
            if value:
                segments.append(Segment(group, value))
        if cost.is_bound:
            segments.append(Segment("missing amounts", None))
        rows.append(Bar(_column(cost).heading, tuple(segments)))
    return Bars(
        title=f"What one good {costs[0].ask.sku} is made of",
        description="One bar for each quantity, cut into cost elements; all bars share one scale.",
        unit=f"{home} a unit",
        rows=tuple(rows),
    )


def _notes(product: Product, costs: Sequence[UnitCost]) -> Iterator[str]:
    home = product.head.currency
    for cost in costs[-1:]:
        weak = weakness(cost)
        for kind, share in weak.shares.items():
            yield f"{percent(share)} of the cost rests on prices that are {kind}"
        if weak.missing:
            yield f"no price at all: {', '.join(weak.missing)}"
        yield from (f"not known: {words}" for words in cost.unknown)
        yield from cost.notes
        plain, bound = cost.total - cost.yield_cost, "at least " if cost.is_bound else ""
        if plain:
            yield (
                f"without a single failure a unit would cost {bound}{money(plain, 3)} {home};"
                f" yields add {money(cost.yield_cost, 3)}"
            )


def _breakeven(even: Breakeven, home: str) -> Table:
    """Return the quantity that pays for the plan beside the naive one, each with its formula."""
    rows = (
        _even_row(even, "blended contribution", home, naive=False),
        _even_row(even, "revenue less landed cost (naive)", home, naive=True),
    )
    sold = f"the plan sells {counted(even.units, 'unit')} in its mix of channels"
    return Table(
        key="breakeven",
        title="Breakeven of the plan: what is spent whatever it sells, over what a unit leaves",
        columns=(
            Column("by", "by"),
            Column("formula", "formula"),
            Column("spent", "spent", "number", in_text=False),
            Column("spent_bound", "", in_text=False),
            Column("left", "a unit leaves", "number", in_text=False),
            Column("left_bound", "", in_text=False),
            Column("bound", ""),
            Column("quantity", "units", "number"),
            Column("week", "week", in_text=False),
            Column("reached", "reached"),
        ),
        rows=rows,
        notes=(sold, *(f"left out of the breakeven: {words}" for words in even.unknown)),
    )


def _even_row(even: Breakeven, words: str, home: str, *, naive: bool) -> tuple[Cell, ...]:
    left = even.naive if naive else even.contribution
    qty, week = (even.naive_quantity, even.naive_week) if naive else (even.quantity, even.week)
    most = "at most" if (even.naive_at_most if naive else even.contribution_at_most) else ""
    least = "at least" if (even.naive_at_least if naive else even.at_least) else ""
    spent_least = "at least" if even.fixed_at_least else ""
    spent = f"{spent_least} {money(even.fixed)} {home}".strip()
    over = "what is not known" if left is None else f"{most} {money(left)} {home} a unit".strip()
    return (
        words,
        f"{spent} / {over}",
        Amount(even.fixed),
        spent_least,
        _amount(left),
        most,
        least if qty is not None else "",
        "never" if left is not None and qty is None else _amount(None if qty is None else Fraction(qty), 0),
        "" if week is None else week.isoformat(),
        _reached(left, qty, week, " at the earliest" if least else ""),
    )


def _reached(left: Fraction | None, qty: int | None, week: dt.date | None, earliest: str) -> str:
    if left is None:
        return "not known"
    if qty is None:
        return "a unit leaves nothing"
    return "not within the plan" if week is None else f"week of {week}{earliest}"


def _to_confirm(product: Product, cost: UnitCost) -> Iterator[str]:
    """Yield the facts behind a landed cost that a qualified person has to confirm."""
    lane = product.lanes.get(cost.ask.lane or "")
    if lane is None:
        return
    assembly = product.assemblies[cost.ask.sku]
    duty = duty_at(product, cost.ask.sku, lane)
    if duty is None:
        yield f"to confirm: tariff number, duty and origin of {cost.ask.sku} for {lane.destination or 'its destination'}"
        return
    checked = (
        f"checked {duty.checked} by {duty.checked_by or 'nobody named'}" if duty.checked else "never checked"
    )
    yield (
        f"to confirm: tariff number {duty.code}, origin {assembly.origin or 'not stated'}, duty {duty.rate or 'not stated'}"
        f" and {duty.basis} value for {duty.destination}, {checked}"
    )


def describe_why(product: Product, cost: UnitCost, asked: str, label: str, where: Where) -> Document | None:
    """Return what an element (or a part) is made of, largest first; None where nothing is called so."""
    wanted, home = asked.casefold(), product.head.currency
    kept = [
        each
        for each in cost.contributions
        if wanted in (each.element.casefold(), each.name.casefold(), each.element.split(", ")[0].casefold())
        or each.name.casefold().startswith(f"{wanted},")
    ]
    if not kept:
        return None
    rows = [
        (
            each.element,
            each.name,
            each.words,
            None if each.amount is None else Amount(each.amount, 4),
            ", ".join(each.weak),
            evidence_of(product, each.home) if each.home else "",
            where(*each.home) if each.home else "",
        )
        for each in sorted(kept, key=lambda each: (-(each.amount or _ZERO), each.name, each.element))
    ]
    return Document(
        key="cost_why",
        title=_why_title(cost, asked, kept, home),
        facts=(
            ("sku", cost.ask.sku),
            ("quantity", Amount(cost.ask.qty, 3, trim=True)),
            ("state", label),
            ("currency", home),
        ),
        tables=(
            Table(
                key="contributions",
                columns=(
                    Column("element", "element"),
                    Column("name", "name"),
                    Column("working", "working"),
                    Column("amount", "amount", "number"),
                    Column("weak", ""),
                    Column("evidence", "rests on", rank=1),
                    Column("place", "place", whole=True),
                ),
                rows=rows,
            ),
        ),
        notes=(
            f"{counted(len(kept), 'amount')}, {_known(kept, home, 4) or 'none known'} in one unit",
            *_value_notes(cost, kept, home),
            *_rate_notes(product, kept),
        ),
    )


def _value_notes(cost: UnitCost, kept: Sequence[Contribution], home: str) -> Iterator[str]:
    """Yield what the customs value is made of, and the duty that help to the factory causes, where duty is asked."""
    way = cost.landed
    if way is None or not any(each.element == "duty" for each in kept):
        return
    parts = " + ".join(f"{each.name} {money(each.amount)}" for each in way.value if each.amount is not None)
    yield f"customs value of {counted(way.units, 'unit')}: {parts} = {money(way.customs_value)} {home}"
    for each in (way.duty_on_tools, way.duty_on_consigned):
        if each.per_unit:
            yield f"of it {each.name}: {money(each.per_unit, 4)} {home} a unit"


def _rate_notes(product: Product, kept: Sequence[Contribution]) -> Iterator[str]:
    """Yield the exchange rates of the currencies that the workings name."""
    rates, home = rates_of(product), product.head.currency
    named = {code for each in kept for code in _CURRENCY.findall(each.words)} - {home}
    used = sorted({index for code in named for index in rates.chain(code, home) or ()})
    for rate in (product.rates[index] for index in used):
        day = f" of {rate.date}" if rate.date is not None else ", no day stated"
        yield f"exchange rate {rate.rate}{'' if rate.pegged else day}"


def _known(kept: Sequence[Contribution], home: str, places: int) -> str:
    """Return what some amounts add up to, "at least" where one is not known; empty where none is."""
    known = [each.amount for each in kept if each.amount is not None]
    bound = "at least " if len(known) < len(kept) else ""
    return f"{bound}{money(sum(known, _ZERO), places)} {home}" if known else ""


def _why_title(cost: UnitCost, asked: str, kept: Sequence[Contribution], home: str) -> str:
    known, unit = _known(kept, home, 3), f"in one {cost.ask.sku} at {cost.ask.name}"
    return f"Why {asked} costs {known} {unit}" if known else f"Why the cost of {asked} {unit} is not known"


def describe_offers(
    product: Product, sku: str, offers: Sequence[Offered], qty: Fraction, label: str
) -> Document:
    """Return offers side by side: what is in the price, what comes on top, landed, the least marked."""
    home = product.head.currency
    least = min((offer.landed.per_unit for offer in offers if not offer.landed.unknown), default=None)
    rows = [_offer_row(offer, least) for offer in offers]
    notes = [
        f"{offer.offer.term} via {offer.offer.lane}: {words}"
        for offer in offers
        for words in offer.landed.unknown
    ]
    return Document(
        key="offers",
        title=f"{sku} under {counted(len(offers), 'offer')}, one unit of {quantity(qty)}",
        facts=(
            ("sku", sku),
            ("quantity", Amount(qty, 3, trim=True)),
            ("state", label),
            ("currency", home),
        ),
        tables=(
            Table(
                key="offers",
                columns=(
                    Column("term", "term"),
                    Column("lane", "lane"),
                    Column("price", "price", "number"),
                    Column("way", "way", "number", rank=2),
                    Column("insurance", "insurance", "number", rank=6),
                    Column("duty", "duty", "number", rank=3),
                    Column("entry", "entry", "number", rank=4),
                    Column("consigned", "consigned", "number", rank=7),
                    Column("bound", ""),
                    Column("landed", "landed", "number"),
                    Column("more", "more", "number", rank=1),
                    Column("basis", "value basis", rank=5),
                    Column("other_basis", "on the other", "number", rank=8),
                    Column("mark", ""),
                ),
                rows=rows,
            ),
        ),
        notes=(*notes, "on the other: landed if the destination's value were taken on the other basis"),
        cautions=(CAUTION,),
    )


def _offer_amount(home: Landed, *kinds: Kind) -> Cell:
    """Return what some kinds of elements add to a unit; unknown where there are some and none is known."""
    known = [each.per_unit for each in home.elements if each.kind in kinds]
    if known and all(each is None for each in known):
        return None
    return Amount(sum((home.of(kind) for kind in kinds), _ZERO) / home.units)


def _offer_row(offered: Offered, least: Fraction | None) -> tuple[Cell, ...]:
    home = offered.landed
    goods = next(element.per_unit for element in home.elements if element.kind == "goods")
    return (
        str(offered.offer.term),
        offered.offer.lane,
        None if goods is None else Amount(goods),
        *(_offer_amount(home, *kinds) for kinds in _OFFER_GROUPS),
        "at least" if home.unknown else "",
        Amount(home.per_unit),
        "" if least is None or goods is None else Amount(home.per_unit - least),
        offered.basis or "duty not known",
        "" if offered.other is None else Amount(offered.other.per_unit),
        "least" if home.per_unit == least and not home.unknown else "",
    )


def describe_curve(
    product: Product, sku: str, points: Sequence[Point], label: str, shown: int = 12
) -> Document:
    """Return unit cost and cash at every carton multiple, each step with its cause."""
    home = product.head.currency
    rows = [
        (
            point.qty,
            "at least" if point.at_least else "",
            _amount(_drawn(point), 3),
            None if point.at_least and not point.cash else Amount(point.cash),
            "; ".join(cause.words for cause in point.causes[:2]),
        )
        for point in points
    ]
    return Document(
        key="cost_curve",
        title=f"Unit cost and cash of {sku} at every carton multiple",
        facts=(("sku", sku), ("points", len(points)), ("state", label), ("currency", home)),
        tables=(
            Table(
                key="curve",
                columns=(
                    Column("quantity", "quantity", "number"),
                    Column("bound", ""),
                    Column("unit", "a unit", "number"),
                    Column("cash", "cash", "number"),
                    Column("cause", "what changed"),
                ),
                rows=rows,
            ),
        ),
        notes=(
            *_lowest_notes(points, home),
            "cash: the run's units and what is left over of their parts; each quantity buys for itself, no stock used",
        ),
        cautions=(CAUTION,),
        pictures=(_curve(points, home, shown),),
    )


def _lowest_notes(points: Sequence[Point], home: str) -> Iterator[str]:
    lowest = min(points, key=lambda point: (point.unit, point.qty))
    if lowest.unit:
        bound = "at least " if lowest.at_least else ""
        yield f"least unit cost {bound}{money(lowest.unit, 3)} {home} at {lowest.qty:,}"
    if any(point.at_least for point in points):
        yield "at least: something is not known, without --curve it is named"


def _drawn(point: Point) -> Fraction | None:
    return None if point.at_least and not point.unit else point.unit


def _curve(points: Sequence[Point], home: str, shown: int) -> Curve:
    """Return the picture: unit cost as a step line, the largest steps named."""
    stepped = [
        (abs(after.unit - before.unit), after)
        for before, after in itertools.pairwise(points)
        if after.causes and after.causes[0].unit
    ]
    largest = sorted(stepped, key=lambda pair: (-pair[0], pair[1].qty))[:shown]
    return Curve(
        title="Unit cost by quantity",
        description="A step line of the cost of one unit over the quantity made at once; the largest steps are named.",
        unit_x="units made at once",
        unit_y=f"{home} a unit",
        lines=(Line("", tuple((Fraction(point.qty), _drawn(point)) for point in points)),),
        labels=tuple(
            Step(Fraction(point.qty), point.causes[0].words)
            for _, point in sorted(largest, key=lambda pair: pair[1].qty)
        ),
        spread="ratio",
    )
