"""What the cells of a column bear out: how far they fit a meaning, alone and beside the other columns.

The numbers that weigh one sign against another are our own, tuned on generated sheets.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import combinations

from ferrule.exchange.profiles import Profile
from ferrule.model.exact import exact

__all__ = ["by_designators", "by_product", "content", "dearer"]

_NUMERIC_MOST = 14
_ROWS_MOST = 300


def content(meaning: str, p: Profile) -> float:  # noqa: PLR0911 - cases in their order
    """Return how far a column's cells bear a meaning out: about -3 to 3."""
    if not p.filled:
        return 0.0
    numeric = max(p.number, p.unit_amount)
    if meaning == "quantity":
        return _quantity(p, numeric)
    if meaning in {"price", "pack_price", "line_total"}:
        base = 0.6 if numeric >= 0.5 else -2.5
        return base + 1.4 * p.money - (1.0 if p.sequence else 0.0) - 2 * p.designator - 3 * p.url
    if meaning in {"moq", "multiple", "pack_size", "batch", "stock"}:
        return 0.4 if numeric >= 0.5 else -1.5
    if meaning == "designators":
        return _designators(p, numeric)
    if meaning in {"item", "level"}:
        return _position(meaning, p)
    if meaning in {"part", "maker_part", "seller_part"}:
        base = (
            1.1 * p.code
            + 0.3 * p.distinct
            - 3 * p.url
            - (1.4 if p.from_one else 0.0)
            - (0.8 if p.length > 45 else 0)
        )
        return (
            base
            - 1.2 * p.designator * p.listed
            - 0.6 * p.footprint
            - (0.6 if p.money > 0.3 else 0.0)
            - 0.5 * p.value
        )
    return _text(meaning, p, numeric)


def _quantity(p: Profile, numeric: float) -> float:
    base = 1.0 if numeric >= 0.7 else 0.2 if numeric >= 0.4 else -2.5
    if p.sequence and p.filled >= 4:
        base -= 1.5
    if p.number >= 0.5 and p.zero > 0.4:
        base -= 1.2
    known = [number for number in p.numbers if number is not None]
    if known and sum(1 for number in known if number > 20_000) > len(known) / 2:
        base -= 1.2
    return base - 2.2 * (p.money > 0.3) - 2 * p.designator - 3 * p.url + 0.2 * (p.whole >= 0.95)


def _designators(p: Profile, numeric: float) -> float:
    if numeric >= 0.5 and p.designator < 0.3:
        return -3.0
    if p.designator >= 0.3:
        return 1.6 * p.designator + 1.4 * p.listed + 0.4 * (p.distinct > 0.9)
    return -1.6 if p.code > 0.5 or p.url > 0.3 or p.length > 40 else -0.9


def _position(meaning: str, p: Profile) -> float:
    if meaning == "item":
        if p.sequence:
            return 1.5
        if p.dotted >= 0.4 or (p.whole >= 0.8 and p.distinct >= 0.8):
            return 0.9
        return 0.0 if p.whole >= 0.6 else -1.6
    known = {number for number in p.numbers if number is not None}
    if p.whole >= 0.9 and known and max(known) <= 20 and min(known) >= 0 and not p.sequence:
        return 0.8
    return 0.6 if p.dotted > 0.5 or p.number > 0.5 else -1.0


def _text(meaning: str, p: Profile, numeric: float) -> float:  # noqa: PLR0911 - cases in their order
    if meaning == "name":
        return (
            0.7 * p.words
            + 0.3 * (p.length > 8)
            + 0.3 * p.distinct
            + 0.6 * (p.share_filled - 0.7)
            - 3 * p.url
            - 1.4 * (numeric >= 0.7)
            - 0.4 * (p.code > 0.7)
            - 1.2 * p.designator * (p.listed > 0.2)
        )
    if meaning == "value":
        return 1.4 * p.value + 0.2 - 3 * p.url - 0.8 * (p.sequence)
    if meaning == "footprint":
        return 1.5 * p.footprint - 2 * p.url - 0.5 * (p.footprint < 0.1)
    if meaning == "unit":
        return 2 * p.unit - 1.6 * (p.unit < 0.3)
    if meaning == "currency":
        return 2.5 * p.currency - 2 * (p.currency < 0.3)
    if meaning == "link":
        return 2.6 * p.url - 0.8 * (p.url < 0.2)
    if meaning in {"maker", "seller"}:
        return (
            0.8 * p.maker
            + 0.5 * (1 - p.distinct)
            + 0.3 * p.words
            - 2 * (numeric >= 0.6)
            - 2.4 * p.url
            - 0.6 * (p.code > 0.8)
            - 1.2 * p.designator
        )
    if meaning == "fitted":
        return 1.2 * p.mark - 1.2 * (numeric >= 0.6 and p.mark < 0.5) - (1.0 if p.length > 30 else 0)
    if meaning == "note":
        return 0.2 - 1.0 * (numeric >= 0.8)
    return 0.0


def by_designators(profiles: Sequence[Profile]) -> dict[int, float]:
    """Return for each column of numbers how well they equal the number of designators beside them."""
    places = [p for p in profiles if p.designator >= 0.3]
    found: dict[int, float] = {}
    for at, numbers in enumerate(profiles):
        if max(numbers.number, numbers.unit_amount) < 0.5 or numbers.sequence:
            continue
        for p in places:
            both = [(n, c) for n, c in zip(numbers.numbers, p.counts, strict=False) if n is not None and c]
            telling = [pair for pair in both if pair[1] > 1]
            if len(both) >= 2 and telling:
                agree = sum(1 for n, c in both if n == c) / len(both)
                telling_agree = sum(1 for n, c in telling if n == c) / len(telling)
                found[at] = max(found.get(at, 0.0), min(agree, telling_agree))
    return found


def by_product(profiles: Sequence[Profile]) -> list[tuple[int, int, int]]:
    """Return triples of columns where the first times the second is the third, to a hundredth, in most rows."""
    numeric = [at for at, p in enumerate(profiles) if p.number >= 0.5 and not p.sequence][:_NUMERIC_MOST]
    with exact():
        return [
            (first, second, third)
            for third in numeric
            for first, second in combinations(numeric, 2)
            if third not in {first, second}
            and _is_product(profiles[first], profiles[second], profiles[third])
        ]


def _is_product(first: Profile, second: Profile, third: Profile) -> bool:
    good = all_ = 0
    triples = zip(
        first.numbers[:_ROWS_MOST], second.numbers[:_ROWS_MOST], third.numbers[:_ROWS_MOST], strict=False
    )
    for one, other, product in triples:
        if one is None or other is None or product is None or one in {0, 1} or other in {0, 1}:
            continue
        all_ += 1
        good += abs(one * other - product) <= max(abs(product) / 100, Decimal("0.011"))
        if all_ >= 8 and good == 0:
            return False
    return all_ >= 2 and good >= 0.7 * all_


def dearer(profiles: Sequence[Profile], one: int, other: int) -> int:
    """Return which of two factors is the price: the one with a currency, else the one with decimals."""
    money = profiles[one].money - profiles[other].money
    whole = profiles[other].whole - profiles[one].whole
    return one if (money or whole) > 0 else other
