"""What is missing to build one unit of a frozen build today, and what it costs and takes now against then.

What is needed comes from the frozen record alone. What is known today of the same parts, tools and papers
comes from the product as it stands; a part nobody keeps any more is judged by the record.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from ferrule.compute.lock_form import Lock, LockedPart, LockedSource, LockedTool
from ferrule.compute.quotes import unit_price
from ferrule.compute.sourcing import preferred
from ferrule.model.exact import Exact
from ferrule.model.money import Money
from ferrule.model.number import Count
from ferrule.model.product import Product
from ferrule.model.quantity import Quantity, UnitMismatch, convert, parse_quantity
from ferrule.model.records.part import Part, PriceBreak, Source
from ferrule.model.records.tool import Tool

__all__ = ["Gap", "Price", "Priced", "Rebuild", "rebuild"]

Kind = Literal["source", "quote", "file", "tool", "quantity"]


class Gap(Struct, frozen=True, kw_only=True):
    """Something that is missing: of which kind, about what, in words, as frozen and as it is today.

    A quote that ended is one gap, whatever rests on it; ``parts`` names what does.
    """

    kind: Kind
    number: str
    words: str
    then: str = ""
    now: str = ""
    parts: tuple[str, ...] = ()


class Price(Struct, frozen=True):
    """The exact price of one, in the currency of its quote."""

    number: Fraction
    currency: str


class Priced(Struct, frozen=True, kw_only=True):
    """A bought part: how many, the price of one and the lead time then and now; None where not known.

    Money is in the currency of each quote; nothing is converted.
    """

    part: str
    qty: Exact | None
    then: Price | None
    now: Price | None
    lead_then: str
    lead_now: str


class Rebuild(Struct, frozen=True, kw_only=True):
    """The answer: gaps by kind, prices by part, and the sums by currency with how many parts they leave out."""

    sku: str
    qty: Decimal
    gaps: tuple[Gap, ...]
    prices: tuple[Priced, ...]
    sum_then: Mapping[str, Fraction]
    sum_now: Mapping[str, Fraction]
    without_then: int
    without_now: int


def rebuild(  # noqa: PLR0913  the record, what is known today, and the question
    lock: Lock, product: Product, sku: str, *, qty: Decimal, today: dt.date, kept: Callable[[str, str], bool]
) -> Rebuild:
    """Return what is missing to build ``qty`` of a SKU on a day.

    ``kept`` says of a file's path and SHA-256 whether that content is still at hand.
    """
    needed = {number: part for number, part in lock.part.items() if any(e.sku == sku for e in part.each)}
    gaps: list[Gap] = []
    prices: list[Priced] = []
    ended: dict[Gap, list[str]] = {}
    for number, part in needed.items():
        now = product.parts.get(number)
        gaps += _part_gaps(number, part, now, sku, today)
        for gap in _quote_gaps(part, now, today):
            ended.setdefault(gap, []).append(number)
        if part.source and not part.in_house:
            prices.append(_priced(number, part, now, sku, qty))
    gaps += [replace(gap, parts=tuple(parts)) for gap, parts in ended.items()]
    gaps += _file_gaps(lock, kept)
    for number, tool in lock.tool.items():
        gaps += _tool_gaps(number, tool, product.tools.get(number))
    order = {"source": 0, "quote": 1, "quantity": 2, "file": 3, "tool": 4}
    return Rebuild(
        sku=sku,
        qty=qty,
        gaps=tuple(sorted(gaps, key=lambda gap: (order[gap.kind], gap.number, gap.words))),
        prices=tuple(prices),
        sum_then=_summed((row.qty, row.then) for row in prices),
        sum_now=_summed((row.qty, row.now) for row in prices),
        without_then=sum(1 for row in prices if row.then is None or row.qty is None),
        without_now=sum(1 for row in prices if row.now is None or row.qty is None),
    )


# --- what is missing ----------------------------------------------------------------------------------


def _part_gaps(number: str, part: LockedPart, now: Part | None, sku: str, today: dt.date) -> Iterator[Gap]:
    if any(each.sku == sku and each.at_least for each in part.each):
        yield Gap(kind="quantity", number=number, words="how many is known as a lower bound only")
    if part.in_house or not part.source:
        return
    then = _names(part)
    if now is None:
        yield Gap(
            kind="source", number=number, words="no file keeps this part any more", then=then, now="not known"
        )
        return
    dead = _dead(now, today)
    if dead:
        yield Gap(kind="source", number=number, words=dead, then=then, now=_names_now(now))
    elif not _same_now(part, now):
        yield Gap(
            kind="source",
            number=number,
            words="the source of then is not an approved one any more",
            then=then,
            now=_names_now(now),
        )


def _dead(part: Part, today: dt.date) -> str:
    """Return why a part cannot be had any more; empty where it can."""
    life = part.lifecycle
    if life is not None and life.status == "obsolete":
        return f"not made any more, checked {life.checked}" if life.checked else "not made any more"
    if life is not None and life.last_order is not None and life.last_order < today:
        return f"the last day to order was {life.last_order}"
    if not any(source.status == "approved" for source in part.source):
        return "no source is approved any more"
    return ""


def _key(source: LockedSource | Source) -> tuple[str, str, str]:
    return source.maker or "", source.maker_part or "", source.seller or ""


def _same_now(part: LockedPart, now: Part) -> list[Source]:
    """Return the chosen sources of then that are approved today."""
    chosen = {_key(source) for source in part.source if source.chosen}
    return [source for source in now.source if _key(source) in chosen and source.status == "approved"]


def _quote_gaps(part: LockedPart, now: Part | None, today: dt.date) -> Iterator[Gap]:
    """Yield a quote that has ended, judged by the same source's quote of today where there is one."""
    if part.in_house:
        return
    same = {_key(source): source for source in _same_now(part, now)} if now is not None else {}
    for source in part.source:
        current = same.get(_key(source))
        until = current.valid_until if current is not None else source.valid_until
        if source.chosen and until is not None and until < today:
            quote = current.quote if current is not None else source.quote
            then = str(source.valid_until) if source.valid_until is not None else "not stated"
            yield Gap(
                kind="quote",
                number=quote or "not numbered",
                words=f"the quote of {source.seller or 'a seller not named'} ended on {until}",
                then=then,
                now=str(until) if current is not None else "",
            )


def _names(part: LockedPart) -> str:
    return "; ".join(_maker(s.maker, s.maker_part) for s in part.source if s.chosen) or "none"


def _names_now(part: Part) -> str:
    chosen = [part.source[index] for index in preferred(part.source)]
    return "; ".join(_maker(s.maker or "", s.maker_part or "") for s in chosen) or "none"


def _maker(maker: str, number: str) -> str:
    return " ".join(word for word in (maker or "maker not named", number) if word)


def _file_gaps(lock: Lock, kept: Callable[[str, str], bool]) -> Iterator[Gap]:
    for path, digest in lock.document.items():
        if not digest:
            yield Gap(kind="file", number=path, words="was missing when the build was frozen")
        elif not kept(path, digest):
            yield Gap(
                kind="file",
                number=path,
                words="this content is in no commit at hand and not on the disk",
                then=digest[:16],
            )
    for number, part in lock.part.items():
        if part.class_ == "firmware" and not part.toolchain:
            yield Gap(kind="file", number=number, words="what built this image was not recorded")


def _tool_gaps(number: str, tool: LockedTool, now: Tool | None) -> Iterator[Gap]:
    if tool.kind in ("certification", "engineering", "set-up"):
        return
    then = tool.custodian or "custodian not named"
    if now is None:
        yield Gap(kind="tool", number=number, words="no file keeps this tool any more", then=then)
        return
    if (now.custodian or "") != tool.custodian:
        yield Gap(
            kind="tool", number=number, words="lies elsewhere", then=then, now=now.custodian or "not stated"
        )
    if now.life is not None and now.used is not None and now.used >= now.life:
        yield Gap(
            kind="tool",
            number=number,
            words="its life is used up",
            then=f"{tool.used or 0} shots",
            now=f"{now.used} shots",
        )


# --- price and time -----------------------------------------------------------------------------------


def _priced(number: str, part: LockedPart, now: Part | None, sku: str, qty: Decimal) -> Priced:
    """Return what one unit takes of a part, and its price at that quantity then and now."""
    each = next(row.qty for row in part.each if row.sku == sku)
    need = Fraction(each) * Fraction(qty)
    then = next((source for source in part.source if source.chosen), None)
    current = [now.source[index] for index in preferred(now.source)] if now is not None else []
    return Priced(
        part=number,
        qty=need,
        then=_at(_breaks_then(then), _size_then(then), part.unit, need) if then is not None else None,
        now=_price_now(current[0], part.unit, need) if current else None,
        lead_then=then.lead_time if then is not None else "",
        lead_now=str(current[0].lead_time) if current and current[0].lead_time is not None else "",
    )


def _price_now(source: Source, unit: str, need: Fraction) -> Price | None:
    found = _at(source.price, source.pack[0].size if source.pack else None, unit, need)
    return found if found is None or found.currency else Price(found.number, source.currency or "")


def _breaks_then(source: LockedSource) -> list[PriceBreak]:
    return [
        PriceBreak(from_=Count(row.from_), each=_money(row.each), pack=_money(row.pack))
        for row in source.price
    ]


def _size_then(source: LockedSource) -> Quantity | None:
    size = source.pack_size
    return None if not size else parse_quantity(size) if " " in size else Quantity(Decimal(size))


def _money(text: str) -> Money | None:
    number, _, currency = text.partition(" ")
    return Money(Decimal(number), currency) if currency else None


def _at(breaks: Sequence[PriceBreak], size: Quantity | None, unit: str, need: Fraction) -> Price | None:
    """Return the price of one at a quantity; below the first break, that of the first. Currency "" is the source's."""
    rows = sorted(breaks, key=lambda row: row.from_)
    fitting = [row for row in rows if row.from_ <= need] or rows[:1]
    if not fitting:
        return None
    found = unit_price(fitting[-1], _content(size, unit))
    money = fitting[-1].each or fitting[-1].pack
    return Price(found[0], money.currency) if found is not None and money is not None else None


def _content(size: Quantity | None, unit: str) -> Fraction | None:
    """Return how many units of the part a pack holds; None where that has no exact figure."""
    if size is None:
        return None
    try:
        return Fraction(convert(size, unit).number if size.unit else size.number)
    except UnitMismatch:
        return None


def _summed(rows: Iterator[tuple[Exact | None, Price | None]]) -> dict[str, Fraction]:
    found: dict[str, Fraction] = {}
    for qty, price in rows:
        if qty is not None and price is not None:
            found[price.currency] = found.get(price.currency, Fraction(0)) + Fraction(qty) * Fraction(
                price.number
            )
    return dict(sorted(found.items()))
