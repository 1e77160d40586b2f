"""An SVG sheet that is filled from the top: text, marks, looks, and the shell that makes it stand alone.

Built with the standard library's xml.etree, which cannot forget to escape. Measured in 2026: the one kept library
for drawing SVG (drawsvg 2.4.2) takes 52 ms to import against 10, writes fractions as "1/3", floats in all their
digits, and lets ESC through, so it would save nothing here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from fractions import Fraction
from xml.etree import ElementTree as ET

from ferrule.chart.looks import PATTERNS, STYLE, TILE, tone
from ferrule.model.columns import width, wrap
from ferrule.model.exact import Exact, shown_amount
from ferrule.model.text import visible

__all__ = ["LINE", "MARGIN", "NARROWEST", "SIZE", "Sheet", "long", "pixels", "put", "write"]

MARGIN = 16
NARROWEST = 280
SIZE = 12
LINE = 17
_TITLE = 15
_EM = Fraction(61, 100)  # the advance of the fixed-pitch faces in use is 0.55 to 0.602
_KEY = re.compile(r"[A-Za-z][A-Za-z0-9-]*")


def long(text: str, size: int = SIZE) -> Fraction:
    """Return the pixels that text takes at most."""
    return width(text) * size * _EM


def put(parent: ET.Element, tag: str, looks: str = "", **attributes: Exact | int | str) -> ET.Element:
    """Return a new element under ``parent``; numbers are written with two decimals, "_" in names as "-"."""
    element = ET.SubElement(parent, tag)
    if looks:
        element.set("class", " ".join(f"ferrule-{look}" for look in looks.split()))
    for name, value in attributes.items():
        element.set(name.replace("_", "-"), value if isinstance(value, str) else pixels(value))
    return element


def pixels(number: Exact | int) -> str:
    """Return a length or place as it is written: two decimals, none where it is whole."""
    if isinstance(number, int):
        return str(number)
    return shown_amount(number, 2, separator=False).removesuffix(".00")


def write(  # noqa: PLR0913  a text has a place, words and looks
    parent: ET.Element, x: Exact | int, y: Exact | int, text: str, looks: str = "", *, end: bool = False
) -> None:
    """Put one line of text, which must be harmless already; ``x`` is its start, or its end."""
    element = put(parent, "text", looks, x=x, y=y)
    if end:
        element.set("text-anchor", "end")
    element.text = text


class Sheet:
    """A drawing ``width`` pixels wide, filled from the top. ``y`` is where the next thing begins."""

    def __init__(self, width: int, key: str) -> None:
        if not _KEY.fullmatch(key):
            raise ValueError(f"{visible(key)} cannot begin the ids of a picture: letters, digits and hyphens")
        self.width = max(width, NARROWEST)
        self.inner = self.width - 2 * MARGIN
        self.key = key
        self.y = MARGIN
        self.body = ET.Element("g")
        self._patterns: dict[str, ET.Element] = {}

    def paragraph(self, text: str, looks: str = "", *, indent: int = 0, size: int = SIZE) -> None:
        """Write wrapped text and move down."""
        line = LINE * size // SIZE
        for part in wrap(text, self.columns(self.inner - indent, size)):
            write(self.body, MARGIN + indent, self.y + size, part, looks)
            self.y += line

    def columns(self, room: Exact | int, size: int = SIZE) -> int:
        """Return how many characters fit into ``room`` pixels; at least two."""
        return max(2, int(Fraction(room) / (size * _EM)))

    def pattern(self, index: int) -> str:
        """Return the fill of element ``index``: its tone under its pattern, which is defined on first use."""
        paths = PATTERNS[index % len(PATTERNS)]
        return self._defined(str(index), paths, f"tone{tone(index)}", f"over{tone(index)}")

    def hatching(self) -> str:
        """Return the fill of what is not known."""
        return self._defined("unknown", ("M0 8 L8 0",), "paper", "faint")

    def _defined(self, name: str, paths: Sequence[str], under: str, over: str) -> str:
        identity = f"{self.key}-fill-{name}"
        if identity not in self._patterns:
            made = ET.Element("pattern", id=identity, patternUnits="userSpaceOnUse")
            made.set("width", str(TILE))
            made.set("height", str(TILE))
            put(made, "rect", under, width=TILE, height=TILE)
            for path in paths:
                put(made, "path", over, d=path)
            self._patterns[identity] = made
        return f"url(#{identity})"

    def finished(self, title: str, sentences: Iterable[str]) -> str:
        """Return the whole SVG as text with a final newline."""
        height = str(self.y + MARGIN)
        root = ET.Element("svg", xmlns="http://www.w3.org/2000/svg", role="img")
        root.set("class", "ferrule-picture")
        root.set("aria-labelledby", f"{self.key}-title {self.key}-desc")
        root.set("viewBox", f"0 0 {self.width} {height}")
        root.set("width", str(self.width))
        root.set("height", height)
        ET.SubElement(root, "title", id=f"{self.key}-title").text = visible(title)
        ET.SubElement(root, "desc", id=f"{self.key}-desc").text = "\n".join(sentences)
        ET.SubElement(root, "style").text = STYLE
        ET.SubElement(root, "defs").extend(self._patterns.values())
        put(root, "rect", "paper", width=self.width, height=height)
        root.append(self.body)
        ET.indent(root, " ")
        return ET.tostring(root, encoding="unicode", short_empty_elements=True) + "\n"

    def title(self, text: str) -> None:
        """Write the picture's title and move down."""
        self.paragraph(visible(text), "title", size=_TITLE)
        self.y += 4
