"""Parts of an amount that fall due together."""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from ferrule.model import money, percent
from ferrule.model.bad_value import BadValue, usable
from ferrule.model.exact import exact
from ferrule.model.money import Money, parse_price
from ferrule.model.percent import Percent, parse_percent
from ferrule.model.text import quoted
from ferrule.model.value import Value

__all__ = ["EXAMPLES", "PATTERN", "Share", "parse_share", "whole"]

PATTERN = r"^([0-9]+(\.[0-9]+)? ?%|rest|[0-9]+(\.[0-9]+)? ?[A-Z]{3} per unit)$"
EXAMPLES = ("30 %", "rest", "2.40 USD per unit")
_PER_UNIT = re.compile(r"(.+) per unit")
#: What the parsers of percentages and money show when they do not know what was meant.
_GENERAL = (percent.EXAMPLES, money.EXAMPLES)


class Share(Value):
    """A percentage, an amount for each unit, or (neither) the rest."""

    percent: Percent | None = None
    per_unit: Money | None = None

    @property
    def rest(self) -> bool:
        """Return whether this is what the other shares leave."""
        return self.percent is None and self.per_unit is None

    def __str__(self) -> str:
        if self.percent is not None:
            return str(self.percent)
        return "rest" if self.per_unit is None else f"{self.per_unit} per unit"


def parse_share(written: Any) -> Share:
    """Return the share that is written; raises BadValue."""
    if written == "rest":
        return Share()
    found = _PER_UNIT.fullmatch(written) if isinstance(written, str) else None
    try:
        if found is not None:
            return Share(per_unit=parse_price(found[1]))
        return Share(percent=parse_percent(written))
    except BadValue as error:
        meant = [] if error.forms in _GENERAL else [form for form in error.forms if isinstance(form, str)]
        forms = usable(parse_share, [form + " per unit" if found else form for form in meant], EXAMPLES)
        raise BadValue(f"{quoted(written)} is not a share of an amount", forms) from None


def whole(shares: Iterable[Share]) -> Decimal | None:
    """Return the percent that is missing to 100 (negative: too much), or None where the shares make a whole.

    One ``rest`` fills up what percentages under 100 leave. Amounts for each unit stand beside the
    percentages, unless there is nothing else.
    """
    kept = list(shares)
    rests = sum(1 for share in kept if share.rest)
    percents = [share.percent.number for share in kept if share.percent is not None]
    with exact():
        total = sum(percents, Decimal(0))
        missing = 100 - total
    if rests == 1 and total <= 100:
        return None
    if not rests and (total == 100 or (not percents and any(share.per_unit for share in kept))):
        return None
    return missing
