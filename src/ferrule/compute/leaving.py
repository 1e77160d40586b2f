"""Leaving a firm: how long it takes to make elsewhere what it makes, what that costs, and what only it knows.

Ways run side by side, each from the day we begin: a tool that is ours and must be handed over is sampled again, any
other is made anew; then the parts it makes are qualified; a part that only this firm makes is qualified elsewhere;
a factory's own time covers the building. The longest way decides. Nothing here judges a contract or a law.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Literal

from msgspec import Struct

from ferrule.compute.calendars import LegTime, walk_forward
from ferrule.compute.demand import us
from ferrule.compute.leads import tool_legs
from ferrule.compute.owners import Book, book_of
from ferrule.compute.rates import Rates, rates_of
from ferrule.model.money import Money
from ferrule.model.product import Product
from ferrule.model.records.part import Item, Part
from ferrule.model.records.tool import Tool

__all__ = ["Gap", "GapKind", "Leaving", "Way", "gaps_of", "leave"]

GapKind = Literal[
    "maker unknown",
    "ownership not proven",
    "return not agreed",
    "only copy is theirs",
    "nothing of ours describes it",
    "program not held",
]

_ZERO = Fraction(0)
#: Kinds of tools that are papers and services, with nothing to hand over.
_NO_THING = frozenset({"certification", "engineering", "set-up", "artwork plate"})
#: Classes that are made to a drawing.
_DRAWN = frozenset({"fabricated", "board", "cable", "label"})
#: Legs that come after a tool stands, by which a moved one is proven again.
_AFTER = ("sampling", "correction", "approval", "trial", "qualification")


class Way(Struct, frozen=True, kw_only=True):
    """One thing to be made elsewhere: legs in order, when it is done, what it costs in the home currency.

    ``finish`` is None where nothing is known of its time, ``at_least`` where a leg is not known; ``money`` is None
    where no price is known, ``money_at_least`` where one is not. ``record`` is kind and number of its record.
    """

    what: str
    record: tuple[str, str]
    legs: tuple[tuple[str, str], ...]
    finish: dt.date | None
    at_least: bool
    money: Fraction | None
    money_at_least: bool
    words: str


class Gap(Struct, frozen=True, kw_only=True):
    """Something that only the firm knows or holds."""

    kind: GapKind
    record: tuple[str, str]
    words: str


class Leaving(Struct, frozen=True, kw_only=True):
    """What leaving a firm takes. ``money`` adds what is known; ``unknown`` names what is not."""

    firm: str
    start: dt.date
    ways: tuple[Way, ...]
    gaps: tuple[Gap, ...]
    money: Fraction
    unknown: tuple[str, ...]

    @property
    def longest(self) -> Way | None:
        """Return the way that is done last, of those whose time is known."""
        known = [way for way in self.ways if way.finish is not None]
        return max(known, key=lambda way: (way.finish or self.start, way.what), default=None)

    @property
    def days(self) -> int | None:
        """Return the calendar days until the longest way is done; None where no time is known."""
        last = self.longest
        return None if last is None or last.finish is None else (last.finish - self.start).days + 1


def leave(product: Product, firm: str, today: dt.date) -> Leaving:
    """Return what leaving a firm takes if we begin on ``today``. Raises NoSuchDay where a calendar never opens."""
    work = _Work(product=product, firm=firm, today=today, book=book_of(product), rates=rates_of(product))
    tools = {number: tool for number, tool in sorted(product.tools.items()) if _is_held(tool, firm)}
    ways = [*_factory(work), *_parts(work, tools), *_alone(work, tools)]
    unknown = [f"time: {way.what}" for way in ways if way.finish is None or way.at_least]
    unknown += [f"money: {way.what}" for way in ways if way.money_at_least]
    return Leaving(
        firm=firm,
        start=today,
        ways=tuple(ways),
        gaps=gaps_of(product, firm),
        money=sum((way.money or _ZERO for way in ways), _ZERO),
        unknown=tuple(unknown),
    )


def gaps_of(product: Product, firm: str) -> tuple[Gap, ...]:
    """Return what only a firm knows or holds: makers, tools, drawings, programs."""
    tools = {number: tool for number, tool in sorted(product.tools.items()) if _is_held(tool, firm)}
    return (
        *_unknown_makers(product, firm),
        *_tool_gaps(product, tools),
        *_undescribed(product, firm),
        *_programs(product, firm),
    )


class _Work(Struct, frozen=True, kw_only=True):
    product: Product
    firm: str
    today: dt.date
    book: Book
    rates: Rates

    def home(self, money: Money | None) -> Fraction | None:
        """Return an amount in the home currency; None where it is not stated or cannot be converted."""
        home = self.product.head.currency
        return None if money is None else self.rates.money(money, home, home)

    def way(self, record: tuple[str, str], what: str, task: _Task) -> Way:
        """Return a way walked from today."""
        chain = walk_forward(task.legs, self.today)
        amounts = [amount for amount in task.amounts if amount is not None]
        return Way(
            what=what,
            record=record,
            legs=tuple((leg.name, _said(leg)) for leg in task.legs),
            finish=chain.finish if any(leg.duration is not None for leg in task.legs) else None,
            at_least=chain.at_least,
            money=sum(amounts, _ZERO) if amounts else None,
            money_at_least=len(amounts) < len(task.amounts),
            words="; ".join(task.words),
        )


class _Task(Struct, kw_only=True):
    """Legs one after the other, what each thing costs (None: not known), and remarks."""

    legs: list[LegTime] = []
    amounts: list[Fraction | None] = []
    words: list[str] = []


def _said(leg: LegTime) -> str:
    return str(leg.duration) if leg.duration is not None else "unknown"


def _name(product: Product, number: str) -> str:
    item = product.item(number)
    return f"{number} {item.name}" if item is not None and item.name else number


def _is_held(tool: Tool, firm: str) -> bool:
    return firm == (tool.custodian or tool.firm) and tool.kind not in _NO_THING


def _factory(work: _Work) -> Iterator[Way]:
    """Yield the building itself, where the firm builds something."""
    record = work.product.firms[work.firm].factory
    built = sorted(_built(work.product, work.firm))
    if not built and record is None:
        return
    time = record.exit_time if record is not None else None
    task = _Task(
        legs=[LegTime(name="move what it builds", calendar=work.book.weekends, duration=time)],
        amounts=[work.home(record.exit_cost) if record is not None else None],
    )
    yield work.way(("firm", work.firm), f"building of {', '.join(built) or 'nothing named'}", task)


def _built(product: Product, firm: str) -> set[str]:
    return {number for number, assembly in product.assemblies.items() if assembly.factory == firm}


def _only_here(item: Item, firm: str) -> bool:
    """Whether every source that is not denied is the firm's own make, or comes from it by a maker unknown."""
    open_ = [source for source in item.source if source.status != "denied"]
    return bool(open_) and all(firm == (source.maker or source.seller) for source in open_)


def _parts(work: _Work, tools: Mapping[str, Tool]) -> Iterator[Way]:
    """Yield things that only the firm makes: their tools first, then qualifying them elsewhere.

    What it builds is qualified within its own time of leaving, unless the record says otherwise.
    """
    built = _built(work.product, work.firm)
    for kind, number, item in sorted(work.product.items(), key=lambda row: row[1]):
        own = [(tag, tool) for tag, tool in tools.items() if number in tool.makes]
        if not own and not _only_here(item, work.firm):
            continue
        task = _Task()
        for tag, tool in own:
            _add_tool(work, tag, tool, task)
        if number not in built or item.qualify is not None:
            task.legs.append(
                LegTime(name="qualify elsewhere", calendar=work.book.weekends, duration=item.qualify)
            )
            task.amounts.append(work.home(item.qualify_cost))
        yield work.way((kind, number), _name(work.product, number), task)


def _alone(work: _Work, tools: Mapping[str, Tool]) -> Iterator[Way]:
    """Yield tools that make nothing of the product that is known."""
    for tag, tool in tools.items():
        if not any(work.product.item(number) is not None for number in tool.makes):
            task = _Task()
            _add_tool(work, tag, tool, task)
            yield work.way(("tool", tag), f"{tag} {tool.name}", task)


def _add_tool(work: _Work, tag: str, tool: Tool, task: _Task) -> None:
    """Add a tool made anew, or one that comes along with the legs by which it is proven again."""
    legs = list(tool_legs(tool, work.book, "worst"))
    if tool.owner == work.book.own and tool.agreement is not None and tool.returned_on_demand is True:
        again = [leg for leg in legs if any(word in leg.name.lower() for word in _AFTER)]
        task.legs += again or [LegTime(name=f"prove {tag} again", calendar=work.book.weekends, duration=None)]
        task.words.append(f"{tag} comes along")
    else:
        task.legs += legs
        task.amounts.append(work.home(tool.amount))
        task.words.append(f"{tag} is made anew")


# --- what we do not own ----------------------------------------------------------------------------------


def _unknown_makers(product: Product, firm: str) -> Iterator[Gap]:
    """Yield parts that the firm gets for us from a maker nobody has told us, commodities left out."""
    for kind, number, item in sorted(product.items(), key=lambda row: row[1]):
        if isinstance(item, Part) and item.class_ in product.policy.commodities:
            continue
        nameless = any(
            source.maker is None and source.seller == firm and source.status != "denied"
            for source in item.source
        )
        if nameless:
            yield Gap(kind="maker unknown", record=(kind, number), words=_name(product, number))


def _tool_gaps(product: Product, tools: Mapping[str, Tool]) -> Iterator[Gap]:
    for tag, tool in tools.items():
        record, name = ("tool", tag), f"{tag} {tool.name}"
        if tool.in_house:
            continue
        if tool.owner != us(product) or tool.agreement is None:
            yield Gap(kind="ownership not proven", record=record, words=name)
        elif tool.returned_on_demand is not True:
            yield Gap(kind="return not agreed", record=record, words=name)
        if not _describes(tool):
            yield Gap(kind="only copy is theirs", record=record, words=f"{name}: drawings and programs")


def _describes(tool: Tool | None) -> bool:
    """Whether something of ours describes a tool."""
    return tool is not None and bool(tool.document or tool.copy_held)


def _undescribed(product: Product, firm: str) -> Iterator[Gap]:
    """Yield fabricated things that only the firm makes and no document of ours describes."""
    for kind, number, item in sorted(product.items(), key=lambda row: row[1]):
        fabricated = isinstance(item, Part) and item.class_ in _DRAWN
        if fabricated and _only_here(item, firm) and not item.document:
            yield Gap(
                kind="nothing of ours describes it", record=(kind, number), words=_name(product, number)
            )


def _programs(product: Product, firm: str) -> Iterator[Gap]:
    """Yield tests done there whose program is neither in our files nor kept with a fixture of which we hold a copy."""
    for number, assembly in sorted(product.assemblies.items()):
        for step in assembly.steps:
            if step.kind != "test" or firm != (step.firm or assembly.factory):
                continue
            own = step.program is not None and step.program.file
            if not own and not _describes(product.tools.get(step.fixture or "")):
                words = f"{number}, step {step.name}: limits and program of the test"
                yield Gap(kind="program not held", record=("assembly", number), words=words)
