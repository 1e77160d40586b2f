"""Events and lags that make a payment due.

Written forms: ``EVENT``, ``EVENT + LAG``, ``EVENT - LAG``, ``EVENT + end of month``,
``EVENT + end of month + LAG``, and ``end of month + LAG`` after the document's own day; a lag after the end of
month may be taken off, too. An event is one of EVENTS or another document's event in up to four lower-case
words, such as ``factory balance``.
"""

from __future__ import annotations

import re
from typing import Any

from ferrule.model.bad_value import BadValue, usable
from ferrule.model.duration import Duration, parse_duration
from ferrule.model.text import quoted
from ferrule.model.value import Value

__all__ = ["EVENTS", "EXAMPLES", "PATTERN", "Due", "parse_due"]

#: Events every document knows.
EVENTS = (
    "order",
    "kick-off",
    "start",
    "first shots",
    "approval",
    "inspection",
    "shipment",
    "arrival",
    "entry",
    "receipt",
    "invoice",
    "sale",
    "settlement",
    "return",
)
PATTERN = r"^[a-z][a-z -]*[a-z]( [+-] [a-z0-9. ]+)*$"
EXAMPLES = (
    "order",
    "shipment + 30 days",
    "end of month + 30 days",
    "invoice + end of month + 10 days",
    "factory balance",
)
_MONTH_END = "end of month"
_EVENT = re.compile(r"(?=[a-z].)[a-z]+(?:-[a-z]+)?(?: [a-z]+(?:-[a-z]+)?){0,3}")


class Due(Value):
    """When: an event, then perhaps the end of its month, then perhaps a lag (before it if ``before``).

    ``event`` is empty where only the end of month is named: the day of the document itself.
    """

    event: str
    month_end: bool = False
    lag: Duration | None = None
    before: bool = False

    @property
    def known(self) -> bool:
        """Return whether the event is one that every document knows."""
        return self.event in EVENTS or not self.event

    def __str__(self) -> str:
        words = [self.event] if self.event else []
        words += [_MONTH_END] if self.month_end else []
        text = " + ".join(words)
        return text if self.lag is None else f"{text} {'-' if self.before else '+'} {self.lag}"


def parse_due(written: Any) -> Due:
    """Return the event and lag that are written; raises BadValue."""
    if not isinstance(written, str) or not written:
        raise BadValue(f"{quoted(written)} names no event", EXAMPLES)
    head, before, tail = written.partition(" - ")
    parts = head.split(" + ")
    if before:
        parts.append(tail)
    event = "" if parts[0] == _MONTH_END else parts.pop(0)
    month_end = bool(parts) and parts[0] == _MONTH_END
    if month_end:
        parts.pop(0)
    if (event and not _EVENT.fullmatch(event)) or len(parts) > 1 or (before and not parts):
        raise BadValue(f"{quoted(written)} is not an event with a lag", EXAMPLES)
    lag = _lag(written, parts[0]) if parts else None
    return Due(event, month_end, lag, bool(before))


def _lag(written: str, text: str) -> Duration:
    try:
        return parse_duration(text)
    except BadValue as error:
        tries = [written.removesuffix(text) + str(form) for form in error.forms]
        forms = usable(parse_due, tries, EXAMPLES)
        raise BadValue(f"in {quoted(written)}: {error.message}", forms) from None
