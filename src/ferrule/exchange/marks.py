"""What a cell's format says in XLSX: a currency, a unit, leading zeros, an indentation, a line through it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from xml.parsers import expat

from msgspec import Struct, field, structs

from ferrule.exchange.words import CURRENCY_SIGNS, UNIT_WORDS, folded
from ferrule.model.currencies import MINOR_UNITS

__all__ = ["Look", "SheetMarks", "look_of", "read_sheet_marks", "read_styles"]

#: Blanks that one step of a format's indentation stands for.
_STEP = 4
_MOST_ROW = 1_048_576


class Look(Struct, frozen=True):
    """What one cell format adds to a number or text."""

    currency: str = ""
    unit: str = ""
    zeros: int = 0
    indent: int = 0
    struck: bool = False

    def __bool__(self) -> bool:
        return bool(self.currency or self.unit or self.zeros or self.indent or self.struck)


class SheetMarks(Struct):
    """What one sheet tells beside its values; rows and columns from 0."""

    looks: dict[tuple[int, int], Look] = field(default_factory=dict)
    hidden: set[int] = field(default_factory=set)
    outline: dict[int, int] = field(default_factory=dict)
    unsaved: list[tuple[int, int]] = field(default_factory=list)
    rows: int = 0
    columns: int = 0

    def notes(self, name: str) -> list[str]:
        """Return what a reader should know of the sheet, in words."""
        said: list[str] = []
        if self.unsaved:
            row = self.unsaved[0][0] + 1
            said.append(
                f"{name}: {len(self.unsaved)} formulas have no stored result (first in row {row}) and were read as empty"
            )
        if self.hidden:
            said.append(f"{name}: {len(self.hidden)} hidden rows were read as well")
        return said


def look_of(code: str) -> Look:
    """Return what a number format shows beside the number."""
    first = re.split(r'(?<!\\);(?=(?:[^"]*"[^"]*")*[^"]*$)', code)[0]
    currency = _currency(first)
    texts = [folded(text) for text in re.findall(r'"([^"]*)"', first)]
    unit = next((UNIT_WORDS[text] for text in texts if text in UNIT_WORDS), "")
    zeros = len(first) if re.fullmatch(r"0{2,30}", first) else 0
    return Look(currency, "" if currency else unit, zeros)


def _currency(code: str) -> str:
    bracketed = re.search(r"\[\$([^\]-]*)(?:-[0-9A-Fa-f]*)?\]", code)
    candidates = [bracketed[1]] if bracketed else []
    candidates += re.findall(r'"([^"]*)"', code)
    candidates += re.findall(r"[€£¥₩₹₽₺]", code)
    for text in candidates:
        word = text.strip()
        if word.upper() in MINOR_UNITS:
            return word.upper()
        known = CURRENCY_SIGNS.get(word.casefold())
        if known:
            return known[0]
    bare = re.sub(r"\[[^\]]*\]", "", code)
    return "USD" if "$" in bare else ""


class _Styles:
    """Collects the cell formats of a workbook while their XML goes by."""

    def __init__(self) -> None:
        self.codes: dict[int, str] = {}
        self.struck: list[bool] = []
        self.looks: list[Look] = []
        self.inside = ""

    def start(self, tag: str, given: Mapping[str, str]) -> None:
        name = tag.rpartition(":")[2]
        if name in {"fonts", "cellXfs"}:
            self.inside = name
        elif name == "numFmt":
            self.codes[int(given.get("numFmtId", "0"))] = given.get("formatCode", "")[:255]
        elif self.inside == "fonts":
            self._font(name, given)
        elif self.inside == "cellXfs":
            self._format(name, given)

    def end(self, tag: str) -> None:
        if tag.rpartition(":")[2] == self.inside:
            self.inside = ""

    def _font(self, name: str, given: Mapping[str, str]) -> None:
        if name == "font":
            self.struck.append(False)
        elif name == "strike" and self.struck:
            self.struck[-1] = given.get("val", "1") not in {"0", "false"}

    def _format(self, name: str, given: Mapping[str, str]) -> None:
        if name == "xf":
            font = int(given.get("fontId", "0"))
            look = look_of(self.codes.get(int(given.get("numFmtId", "0")), ""))
            self.looks.append(structs.replace(look, struck=font < len(self.struck) and self.struck[font]))
        elif name == "alignment" and self.looks:
            indent = min(int(given.get("indent", "0")), 250) * _STEP
            self.looks[-1] = structs.replace(self.looks[-1], indent=indent)


def read_styles(xml: bytes) -> list[Look]:
    """Return the looks of the cell formats by their index; raises ExpatError."""
    styles = _Styles()
    if xml:
        parser = expat.ParserCreate()
        parser.StartElementHandler, parser.EndElementHandler = styles.start, styles.end
        parser.Parse(xml, True)  # noqa: FBT003  expat takes it by place only
    return styles.looks


class _Walker:
    """Collects the marks of one sheet while its XML goes by."""

    def __init__(self, looks: list[Look]) -> None:
        self.parser = expat.ParserCreate()
        self.parser.StartElementHandler, self.parser.EndElementHandler = self.start, self.end
        self.marks = SheetMarks()
        self.looks = looks
        self.row = -1
        self.column = -1
        self.look: Look | None = None
        self.formula = False
        self.value = False

    def start(self, tag: str, given: Mapping[str, str]) -> None:
        name = tag if ":" not in tag else tag.rpartition(":")[2]
        if name == "c":
            self._cell(given)
        elif name in {"v", "is"}:
            self._filled()
            if self.formula:  # some programs write an empty value after a formula they did not compute
                self.parser.CharacterDataHandler = self.text
        elif name == "f":
            self.formula = True
        elif name == "row":
            self._row(given)

    def text(self, _: str) -> None:
        self.value = True

    def end(self, tag: str) -> None:
        if self.formula and (tag == "c" or tag.endswith(":c")):
            if not self.value:
                self.marks.unsaved.append((self.row, self.column))
            self.parser.CharacterDataHandler = None
            self.formula = self.value = False

    def _row(self, given: Mapping[str, str]) -> None:
        self.row = int(given.get("r", self.row + 2)) - 1
        if not 0 <= self.row < _MOST_ROW:
            raise ValueError("row out of range")
        self.column = -1
        if given.get("hidden") in {"1", "true"}:
            self.marks.hidden.add(self.row)
        level = given.get("outlineLevel", "0")
        if level not in {"0", ""}:
            self.marks.outline[self.row] = int(level)

    def _cell(self, given: Mapping[str, str]) -> None:
        at = given.get("r")
        self.column = _column(at) if at else self.column + 1
        style = int(given.get("s", "0"))
        look = self.looks[style] if 0 <= style < len(self.looks) else None
        self.look = look or None

    def _filled(self) -> None:
        marks = self.marks
        marks.rows = max(marks.rows, self.row + 1)
        marks.columns = max(marks.columns, self.column + 1)
        if self.look is not None:
            marks.looks[self.row, self.column] = self.look


def _column(reference: str) -> int:
    number = 0
    for mark in reference:
        if not mark.isalpha() or number > 20_000:
            break
        number = number * 26 + ord(mark.upper()) - 64
    return number - 1


def read_sheet_marks(xml: bytes, looks: list[Look]) -> SheetMarks:
    """Return the marks of a sheet; raises ExpatError or ValueError on XML that is not sound."""
    walker = _Walker(looks)
    if xml:
        walker.parser.Parse(xml, True)  # noqa: FBT003  expat takes it by place only
    return walker.marks
