"""Exchange rates as they are written, with their direction: ``1 EUR = 1.08 USD``."""

from __future__ import annotations

import re
from decimal import Decimal

from ferrule.model.bad_value import BadValue
from ferrule.model.currencies import MINOR_UNITS
from ferrule.model.number import figures, plain
from ferrule.model.text import quoted
from ferrule.model.value import Value

__all__ = ["EXAMPLES", "PATTERN", "Exchange", "parse_exchange"]

PATTERN = r"^[0-9]+(\.[0-9]+)? [A-Z]{3} = [0-9]+(\.[0-9]+)? [A-Z]{3}$"
EXAMPLES = ("1 EUR = 1.08 USD", "100 JPY = 0.61 EUR")
_WRITTEN = re.compile(
    r"(?P<of>[0-9]+(?:\.[0-9]+)?) (?P<base>[A-Z]{3}) = (?P<buys>[0-9]+(?:\.[0-9]+)?) (?P<quote>[A-Z]{3})"
)


class Exchange(Value):
    """``of`` units of ``base`` buy ``buys`` units of ``quote``. Both numbers are above zero."""

    of: Decimal
    base: str
    buys: Decimal
    quote: str

    def __str__(self) -> str:
        return f"{plain(self.of)} {self.base} = {plain(self.buys)} {self.quote}"


def parse_exchange(written: object) -> Exchange:
    """Return the rate that is written; raises BadValue."""
    found = _WRITTEN.fullmatch(written) if isinstance(written, str) else None
    if found is None:
        shown = written if isinstance(written, str) else quoted(written)
        raise BadValue(f"{quoted(shown)} is not an exchange rate with its direction", EXAMPLES)
    for code in (found["base"], found["quote"]):
        if code not in MINOR_UNITS:
            raise BadValue(f"{code} is no currency of ISO 4217", EXAMPLES)
    if found["base"] == found["quote"]:
        raise BadValue("a rate needs two different currencies", EXAMPLES)
    of, buys = figures(found["of"], EXAMPLES), figures(found["buys"], EXAMPLES)
    if not of or not buys:
        raise BadValue("a rate of zero is no rate", EXAMPLES)
    return Exchange(of, found["base"], buys, found["quote"])
