"""An answer to a request for a quote: what each line says, and everything that is not as it was asked."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from msgspec import Struct

from ferrule.model.duration import Duration
from ferrule.model.incoterms import Incoterm

__all__ = ["Answer", "AnswerLine", "Difference", "DifferenceKind"]

DifferenceKind = Literal[
    "not priced",
    "no price",
    "substituted",
    "changed quantity",
    "changed unit",
    "changed text",
    "expired",
    "no validity",
    "other currency",
    "no currency",
    "other term",
    "line gone",
    "unknown line",
    "repeated line",
    "added row",
    "other sheet",
    "not read",
    "not asked",
]


class Difference(Struct, frozen=True, kw_only=True):
    """One thing in an answer that is not as asked. ``row`` is the row's number in the file, 0 where it has none."""

    kind: DifferenceKind
    words: str
    row: int = 0
    line: str = ""
    part: str = ""


class AnswerLine(Struct, frozen=True, kw_only=True):
    """One line of the request as answered.

    ``prices`` holds the price of one at each quantity asked, None where there is none that counts: not filled
    in, nought, doubtful, expired, or for another quantity or unit. ``amounts`` are the quantities asked of this part,
    None where not known. ``substituted`` says that another article than the one asked is priced.
    """

    id: str
    part: str
    row: int = 0
    supplied_by_us: bool = False
    substituted: bool = False
    amounts: tuple[Decimal | None, ...]
    prices: tuple[Fraction | None, ...]
    currency: str = ""
    incoterm: Incoterm | None = None
    maker: str = ""
    number: str = ""
    moq: Decimal | None = None
    multiple: Decimal | None = None
    lead_time: Duration | None = None
    charge: Decimal | None = None
    quoted: dt.date | None = None
    valid_until: dt.date | None = None
    remark: str = ""

    @property
    def holes(self) -> int:
        """Return how many prices asked for are not there."""
        return 0 if self.supplied_by_us else sum(price is None for price in self.prices)


class Answer(Struct, frozen=True, kw_only=True):
    """An answer matched to the request it answers."""

    file: str
    form: str
    watermark: str
    recipient: str
    assembly: str | None
    quantities: tuple[int, ...]
    lines: tuple[AnswerLine, ...]
    differences: tuple[Difference, ...]
    notes: tuple[str, ...] = ()

    @property
    def asked(self) -> tuple[AnswerLine, ...]:
        """Return the lines for which a price was asked."""
        return tuple(line for line in self.lines if not line.supplied_by_us)
