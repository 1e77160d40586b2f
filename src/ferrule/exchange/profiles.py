"""What the cells of one column have in common: the ground on which its meaning is guessed beside its heading."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise

from msgspec import Struct

from ferrule.exchange.cells import (
    DecimalMark,
    currency_in,
    is_filler,
    looks_like_designators,
    read_designators,
    read_number,
)
from ferrule.exchange.grid import Cell
from ferrule.exchange.words import UNIT_WORDS, folded
from ferrule.model.currencies import MINOR_UNITS
from ferrule.model.designator_classes import CLASSES, OUTSIDE

__all__ = ["Profile", "is_numberish", "profile"]

#: Cells looked at: enough to know a column, few enough for the largest sheet.
_SAMPLE = 1500
_URL = re.compile(r"(?:https?://|www\.)\S+|[a-z0-9-]+(?:\.[a-z0-9-]+)+/\S*", re.IGNORECASE)
_CODE = re.compile(r"(?=[^ ]*[0-9])(?=[^ ]*[A-Za-z-])[A-Za-z0-9][A-Za-z0-9./+_,()#-]{3,}")
_VALUE = re.compile(
    r"[0-9]+(?:[.,][0-9]+)? ?(?:[pnuµμmkKMGRΩ]|ohms?|[pnuµμm]?[FHVA]|[kKMm]?(?:Ω|Ohm|Hz)|%|V|A|W|mm)[0-9]*.*"
)
_FOOTPRINT = re.compile(
    r"(?:.*(?:SOT|SOIC|SOP|TSSOP|QFN|QFP|DIP|DFN|BGA|TO-|SOD|SMD|SMA|THT|0402|0603|0805|1206|2512|1210|Metric|PinHeader|Pitch|_P[0-9.]+mm).*)|[0-9]{4}"
)
_DOTTED = re.compile(r"[0-9]+(?:\.[0-9]+)*\.?")
_UNIT_CELL = re.compile(r"[+-]?[0-9.,]+ ?[^\W\d]{1,6}\.?")
_MAKER_END = re.compile(
    r"\b(?:inc|ltd|gmbh|co|corp|corporation|ag|electronics?|semiconductors?|technology|technologies|kg|llc|s\.?p\.?a|s\.?r\.?l|industries|instruments|components)\b\.?",
    re.IGNORECASE,
)


def is_numberish(cell: Cell) -> bool:
    """Return whether a cell is a number, a price or a number with a unit."""
    if cell.number is not None:
        return True
    text = cell.text
    if not text or len(text) > 40 or not any(mark.isdigit() for mark in text):
        return False
    if read_number(text)[0] is not None:
        return True
    if _UNIT_CELL.fullmatch(text):
        return folded(re.sub(r"[0-9.,+ -]", "", text)) in UNIT_WORDS or bool(currency_in(text)[0])
    return bool(currency_in(text)[0]) and bool(re.fullmatch(r"[^\d]{0,5}[0-9][0-9.,' ]*[^\d]{0,6}", text))


class Profile(Struct, frozen=True, kw_only=True):
    """Shares (0 to 1) of the filled cells of a column that are of a kind, and its numbers by row."""

    filled: int = 0
    share_filled: float = 0.0
    numbers: tuple[Decimal | None, ...] = ()
    number: float = 0.0
    whole: float = 0.0
    money: float = 0.0
    unit_amount: float = 0.0
    unit: float = 0.0
    currency: float = 0.0
    url: float = 0.0
    designator: float = 0.0
    counts: tuple[int | None, ...] = ()
    listed: float = 0.0
    code: float = 0.0
    value: float = 0.0
    footprint: float = 0.0
    words: float = 0.0
    maker: float = 0.0
    dotted: float = 0.0
    sequence: bool = False
    from_one: bool = False
    distinct: float = 0.0
    zero: float = 0.0
    length: float = 0.0
    indents: int = 0
    mark: float = 0.0


_NONE = Profile()


def profile(cells: Sequence[Cell], mark: DecimalMark = "") -> Profile:
    """Return what the cells of a column (one for each row of the table) have in common."""
    sample = cells[:_SAMPLE]
    filled = [cell for cell in sample if cell and not is_filler(cell.text)]
    if not filled:
        return _NONE
    texts = [cell.text for cell in filled]
    numbers = tuple(_number(cell, mark) for cell in sample)
    known = [number for number in numbers if number is not None]
    counts = tuple(_count(cell) for cell in sample)

    def share(many: int) -> float:
        return many / len(filled)

    sequence = _is_sequence(known) and share(len(known)) > 0.8

    return Profile(
        filled=len(filled),
        share_filled=len(filled) / len(sample),
        numbers=numbers,
        number=share(len(known)),
        whole=share(sum(1 for number in known if number == number.to_integral_value())),
        money=share(sum(1 for cell in filled if _is_money(cell))),
        unit_amount=share(sum(1 for cell in filled if is_numberish(cell))),
        unit=share(sum(1 for text in texts if folded(text[:20]) in UNIT_WORDS)),
        currency=share(sum(1 for text in texts if text.upper() in MINOR_UNITS and len(text) == 3)),
        url=share(sum(1 for text in texts if _URL.match(text))),
        designator=_designator_share(texts),
        counts=counts,
        listed=share(
            sum(1 for text in texts if looks_like_designators(text) and re.search(r"[,;\s-]", text))
        ),
        code=share(sum(1 for text in texts if len(text) < 60 and _CODE.fullmatch(text))),
        value=share(sum(1 for text in texts if len(text) < 40 and _VALUE.fullmatch(text))),
        footprint=share(sum(1 for text in texts if len(text) < 120 and _FOOTPRINT.fullmatch(text))),
        words=share(
            sum(1 for text in texts if sum(mark.isalpha() for mark in text[:80]) > len(text[:80]) * 0.6)
        ),
        maker=share(sum(1 for text in texts if len(text) < 60 and _MAKER_END.search(text))),
        dotted=share(sum(1 for text in texts if len(text) < 30 and "." in text and _DOTTED.fullmatch(text))),
        sequence=sequence,
        from_one=sequence and min(known) <= 10,
        distinct=len(set(texts)) / len(texts),
        zero=share(sum(1 for number in known if number == 0)),
        length=sum(min(len(text), 200) for text in texts) / len(texts),
        indents=len({cell.indent for cell in filled}),
        mark=share(sum(1 for text in texts if len(text) <= 3 and folded(text) in _MARKS)),
    )


_MARKS = frozenset({"x", "y", "n", "yes", "no", "dnp", "dnf", "dni", "ja", "j", "1", "0"})


def _number(cell: Cell, mark: DecimalMark) -> Decimal | None:
    if cell.number is not None or not cell:
        return cell.number
    if len(cell.text) > 30:
        return None
    number = read_number(cell.text.strip("?\ufffd"), mark)[0]
    if number is None and currency_in(cell.text)[0]:
        bare = re.sub(r"[^0-9.,']", "", cell.text)
        number = read_number(bare.strip(".,'"), mark)[0]
    if number is None:
        found = re.fullmatch(r"([0-9][0-9.,]*) ?[^\W\d_]{1,6}\.?", cell.text)
        number = read_number(found[1], mark)[0] if found and is_numberish(cell) else None
    return number


def _is_money(cell: Cell) -> bool:
    if cell.currency:
        return True
    return (
        len(cell.text) < 40
        and any(m.isdigit() for m in cell.text)
        and is_numberish(cell)
        and bool(currency_in(cell.text)[0])
    )


def _count(cell: Cell) -> int | None:
    if not cell or cell.number is not None or not re.search(r"[A-Za-z]", cell.text):
        return None
    return len(read_designators(cell.text[:4000]).names)


def _designator_share(texts: Sequence[str]) -> float:
    """Return the share of cells that are designators of usual class letters, or lists of them."""
    good = 0.0
    for text in texts:
        if not looks_like_designators(text):
            continue
        found = re.match(r"[A-Za-z]+", text)
        letters = found[0].upper() if found else ""
        good += (
            1
            if letters in CLASSES or letters in OUTSIDE or (letters[:1] in CLASSES and len(letters) <= 3)
            else 0.5
        )
    return good / len(texts)


def _is_sequence(numbers: Sequence[Decimal]) -> bool:
    """Return whether numbers count up: mostly by one, or by a fixed step such as ten."""
    if len(numbers) < 3:
        return (
            len(numbers) > 0
            and list(numbers) == [Decimal(at + 1) for at in range(len(numbers))]
            and len(numbers) > 1
        )
    steps = [after - before for before, after in pairwise(numbers)]
    usual = max(set(steps), key=steps.count)
    return usual > 0 and steps.count(usual) >= 0.75 * len(steps) and len(set(numbers)) >= 0.8 * len(numbers)
