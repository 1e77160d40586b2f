"""One finding and the place it speaks of."""

from __future__ import annotations

import enum
from typing import Literal

from msgspec import Struct

__all__ = [
    "CheckResult",
    "Fault",
    "Finding",
    "Key",
    "Located",
    "Path",
    "Place",
    "Related",
    "RuleCard",
    "Severity",
    "Spot",
]

Key = str | int
#: A key path into one TOML file: table names and list indexes from 0, outermost first.
Path = tuple[Key, ...]


class Severity(enum.StrEnum):
    """How much a finding weighs: an error blocks, a warning is counted, a note only informs."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


class Place(Struct, frozen=True, kw_only=True):
    """A key path in a file, turned into line and column only when a finding is shown."""

    #: Path from the repository's top (without git, from the product's folder), "/" between names.
    file: str
    path: Path = ()
    #: Point at the key's name (an unexpected or missing key) or at its value.
    on: Literal["key", "value"] = "value"
    #: Line and column from 1, where they are known already (a file that cannot be parsed); else 0.
    line: int = 0
    column: int = 0


class Related(Struct, frozen=True, kw_only=True):
    """A second place that belongs to a finding."""

    place: Place
    note: str = ""


class Fault(Struct, frozen=True, kw_only=True):
    """What a rule found, before the product's stage has said how much it weighs.

    Fields as in `Finding`. ``undecided`` marks a case the rule cannot judge because a fact is missing: it
    blocks from stage pvt on and warns before.
    """

    message: str
    place: Place
    related: tuple[Related, ...] = ()
    hint: str = ""
    facts: tuple[str, ...] = ()
    undecided: bool = False


class Finding(Struct, frozen=True, kw_only=True):
    """One fault, in the user's words.

    ``message`` is a lower-case phrase without a final stop. ``hint`` is one action, ready to paste, or
    empty. ``facts`` are the values that make this fault a different one when they change; they go into
    the fingerprint, the wording of the message does not.
    """

    rule: str
    severity: Severity
    message: str
    place: Place
    related: tuple[Related, ...] = ()
    hint: str = ""
    facts: tuple[str, ...] = ()


class Spot(Struct, frozen=True, kw_only=True):
    """A place found in the text: lines and columns from 1, columns in code points, the end exclusive."""

    file: str
    line: int = 1
    column: int = 1
    end_line: int = 1
    end_column: int = 1
    #: The text of ``line`` without its line end; empty when there is nothing to show.
    excerpt: str = ""
    note: str = ""


class Located(Struct, frozen=True, kw_only=True):
    """A finding with its spots and its fingerprint, ready to be shown."""

    finding: Finding
    spot: Spot
    related: tuple[Spot, ...] = ()
    #: 64 hexadecimal digits, equal for the same fault after lines moved, files renamed, records reordered.
    fingerprint: str = ""
    #: The key path in words, list indexes replaced by what identifies the record; for logical locations.
    subject: str = ""


class RuleCard(Struct, frozen=True, kw_only=True):
    """What an output format tells about a rule: its name, one line, and its whole page in Markdown."""

    name: str
    summary: str
    page: str
    severity: Severity


class CheckResult(Struct, frozen=True, kw_only=True):
    """Everything `check` found, in the order it is shown: by path, line, column, rule."""

    product: str
    stage: str
    findings: tuple[Located, ...]
    #: Files read, sorted; a file without findings counts as a passing case.
    files: tuple[str, ...]
    #: The cards of every rule that ran, sorted by name.
    rules: tuple[RuleCard, ...]
    #: Findings not shown because a waiver in force covers them, or because they stood before ``since``.
    waived: int = 0
    old: int = 0
    since: str = ""
