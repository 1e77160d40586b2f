"""The characters pictures are made of in text: blocks and strokes, or ASCII alone."""

from __future__ import annotations

from msgspec import Struct

__all__ = ["BLOCKS", "NARROWEST", "PLAIN", "UNBOUND", "Looks", "Strokes"]

NARROWEST = 40
UNBOUND = 100  # columns of a drawing where nothing limits it


class Strokes(Struct, frozen=True):
    """How one line is drawn: level, upright, and its corners by where they open (right and down, ...)."""

    level: str
    upright: str
    right_down: str
    left_down: str
    right_up: str
    left_up: str


class Looks(Struct, frozen=True):
    """A set of characters. ``fills`` and ``strokes`` are used in turn, neighbours unlike each other."""

    fills: str
    unknown: str
    off: str
    strokes: tuple[Strokes, ...]
    floor: str
    dot: str
    edge: str
    corner: str
    bottom: str
    #: From the least to the most.
    levels: str


BLOCKS = Looks(
    fills="█░▓▒",
    unknown="╱",  # noqa: RUF001  a block character, not a slash
    off="╌",
    strokes=(
        Strokes("─", "│", "┌", "┐", "└", "┘"),
        Strokes("═", "║", "╔", "╗", "╚", "╝"),
        Strokes("╌", "╎", "╭", "╮", "╰", "╯"),
        Strokes("━", "┃", "┏", "┓", "┗", "┛"),
        Strokes("┄", "┆", "╭", "╮", "╰", "╯"),
    ),
    floor="┈",
    dot="●",
    edge="│",
    corner="└",
    bottom="─",
    levels="▁▂▃▄▅▆▇█",
)
PLAIN = Looks(
    fills="#.=:",
    unknown="/",
    off="-",
    strokes=(
        Strokes("-", "|", "+", "+", "+", "+"),
        Strokes("=", "H", "+", "+", "+", "+"),
        Strokes("~", "!", "+", "+", "+", "+"),
        Strokes("*", "*", "*", "*", "*", "*"),
        Strokes("'", ":", "+", "+", "+", "+"),
    ),
    floor=".",
    dot="o",
    edge="|",
    corner="+",
    bottom="-",
    levels="123456789",
)
