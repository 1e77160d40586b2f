"""How pictures look: four tones a step of lightness apart, eight patterns, six kinds of dashes; light, dark and print.

Every tone has its own ink, so that what stands on it is read in grey too (contrast 4.5 or more; a test measures it).
Names are prefixed and every rule begins with the picture's own class: nothing leaks into a page around it.
"""

from __future__ import annotations

__all__ = ["DARK", "DASHES", "KINDS", "LIGHT", "PATTERNS", "STRIPS", "STYLE", "TILE", "TONES", "tone"]

#: Paper, ink, faint ink, then each tone and what is written over it. Neighbouring tones are far apart in lightness.
LIGHT = {
    "paper": "#fdfdfb", "ink": "#15201f", "faint": "#55615f",
    "tone0": "#1d4a50", "over0": "#ffffff", "tone1": "#dfe9e4", "over1": "#15201f",
    "tone2": "#7aa9a6", "over2": "#0b1413", "tone3": "#f6f3e6", "over3": "#15201f",
}  # fmt: skip
DARK = {
    "paper": "#121817", "ink": "#e4ebe8", "faint": "#9aa8a4",
    "tone0": "#cfe3df", "over0": "#0e1615", "tone1": "#2a3d3f", "over1": "#eef4f1",
    "tone2": "#6d9c99", "over2": "#071110", "tone3": "#1a2322", "over3": "#e4ebe8",
}  # fmt: skip
TONES = 4

#: Side of a pattern's tile in pixels; bars and swatches put their patterned strip on a multiple of it.
TILE = 8
#: One set of paths an element: each is drawn over its tone.
PATTERNS: tuple[tuple[str, ...], ...] = (
    (),
    ("M-1 1 L1 -1 M0 8 L8 0 M7 9 L9 7",),
    ("M2 2 h2 M6 6 h2",),
    ("M0 2 h8 M0 6 h8",),
    ("M2 0 v8 M6 0 v8",),
    ("M-1 7 L1 9 M0 0 L8 8 M7 -1 L9 1",),
    ("M0 4 h8 M4 0 v8",),
    ("M0 6 L4 2 L8 6",),
)

#: Width and dashes of lines, by order: the first is the strongest.
DASHES: tuple[tuple[str, str], ...] = (
    ("2.5", ""), ("2", "8 3"), ("2.5", "2 3"), ("2", "10 3 2 3"), ("1.2", ""), ("1.2", "5 5"),
)  # fmt: skip

#: What time is spent on, in words, and the element (tone and pattern) it looks like. None is hatched as closures are.
KINDS = {
    "waiting": "waiting for a seller", "making": "making", "shipping": "shipping", "inspection": "inspection",
}  # fmt: skip
STRIPS = {"waiting": 8, "making": 0, "shipping": 2, "inspection": 3}


def tone(index: int) -> int:
    """Return the tone of element ``index``. It moves on by one each time the patterns begin again: 32 are distinct."""
    return (index + index // len(PATTERNS)) % TONES


_SHAPES = (
    (".ferrule-picture", "max-width:100%;height:auto;break-inside:avoid"),
    (
        ".ferrule-picture text",
        "font:12px ui-monospace,'DejaVu Sans Mono',Menlo,Consolas,'Liberation Mono',monospace;white-space:pre",
    ),
    (".ferrule-picture .ferrule-title", "font-size:15px;font-weight:bold"),
    (".ferrule-picture .ferrule-strong", "font-weight:bold"),
    (".ferrule-picture .ferrule-line", "fill:none;stroke-linejoin:miter"),
    (".ferrule-picture pattern path", "fill:none;stroke-width:1.4"),
    (".ferrule-picture .ferrule-open", "fill:none;stroke-dasharray:3 2"),
    (".ferrule-picture .ferrule-floor", "fill:none;stroke-width:1.2;stroke-dasharray:14 6"),
)


def _colours(of: dict[str, str]) -> list[tuple[str, str]]:
    rules = [
        (".ferrule-picture text", f"fill:{of['ink']}"),
        (".ferrule-picture .ferrule-quiet", f"fill:{of['faint']}"),
        (".ferrule-picture .ferrule-paper", f"fill:{of['paper']}"),
        (".ferrule-picture .ferrule-faint", f"stroke:{of['faint']}"),
        (".ferrule-picture .ferrule-dot", f"fill:{of['ink']}"),
        (
            ",".join(f".ferrule-picture .ferrule-{name}" for name in ("line", "open", "floor", "edge")),
            f"stroke:{of['ink']}",
        ),
    ]
    for tone in range(TONES):
        rules += [
            (f".ferrule-picture .ferrule-tone{tone}", f"fill:{of[f'tone{tone}']}"),
            (f".ferrule-picture path.ferrule-over{tone}", f"stroke:{of[f'over{tone}']}"),
            (f".ferrule-picture text.ferrule-over{tone}", f"fill:{of[f'over{tone}']}"),
        ]
    return rules


def _css(rules: list[tuple[str, str]]) -> str:
    return "".join(f"{selector}{{{body}}}" for selector, body in rules)


STYLE = (
    _css([*_SHAPES, *_colours(LIGHT)])
    + "@media screen and (prefers-color-scheme:dark){"
    + _css(_colours(DARK))
    + "}"
)
