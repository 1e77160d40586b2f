"""A picture becomes a PNG with an ordinary SVG program: same size, dashes, dot and text where the SVG has them."""

from __future__ import annotations

import shutil
import struct
import subprocess
import zlib
from pathlib import Path

import pytest
from chart_examples import MONEY

from ferrule.chart.svg import as_svg

RASTERISER = shutil.which("rsvg-convert")
INK, PAPER = (0x15, 0x20, 0x1F), (0xFD, 0xFD, 0xFB)


def pixels_of(png: bytes) -> list[list[tuple[int, ...]]]:
    """Return rows of red, green and blue of an 8-bit PNG that is not interlaced (W3C PNG, filters 0 to 4)."""
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    at, data, head = 8, b"", b""
    while at < len(png):
        size, kind = struct.unpack(">I4s", png[at : at + 8])
        chunk = png[at + 8 : at + 8 + size]
        head, data = (chunk if kind == b"IHDR" else head), data + (chunk if kind == b"IDAT" else b"")
        at += size + 12
    wide, tall, depth, colour, *_, interlaced = struct.unpack(">IIBBBBB", head)
    assert (depth, interlaced) == (8, 0)
    step = {2: 3, 6: 4}[colour]
    raw, before, rows = zlib.decompress(data), bytes(wide * step), []
    for row in range(tall):
        start = row * (wide * step + 1)
        before = unfiltered(raw[start], raw[start + 1 : start + 1 + wide * step], before, step)
        rows.append([tuple(before[i : i + 3]) for i in range(0, len(before), step)])
    return rows


def unfiltered(kind: int, line: bytes, above: bytes, step: int) -> bytes:
    done = bytearray()
    for index, value in enumerate(line):
        left = done[index - step] if index >= step else 0
        corner = above[index - step] if index >= step else 0
        guesses = (0, left, above[index], (left + above[index]) // 2, paeth(left, above[index], corner))
        done.append((value + guesses[kind]) % 256)
    return bytes(done)


def paeth(left: int, above: int, corner: int) -> int:
    near = left + above - corner
    return min((left, above, corner), key=lambda each: abs(near - each))


@pytest.mark.skipif(RASTERISER is None, reason="no rsvg-convert here")
def test_a_balance_becomes_a_png(tmp_path: Path) -> None:
    svg = as_svg(MONEY)
    (tmp_path / "cash.svg").write_text(svg, encoding="utf-8")
    command = [str(RASTERISER), str(tmp_path / "cash.svg"), "-o", str(tmp_path / "cash.png")]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    rows = pixels_of((tmp_path / "cash.png").read_bytes())
    assert f'viewBox="0 0 {len(rows[0])} {len(rows)}"' in svg
    assert rows[2][2] == PAPER
    # The dot of the trough, from the SVG: ink in its middle.
    circle = svg.split("<circle", 1)[1].split("/>", 1)[0]
    x, y = (float(circle.split(f'{name}="', 1)[1].split('"', 1)[0]) for name in ("cx", "cy"))
    assert rows[round(y)][round(x)] == INK
    # The floor is dashed: along its row paper and ink take turns.
    floor = svg.split('class="ferrule-floor"', 1)[1].split('d="M', 1)[1]
    level = rows[int(float(floor.split()[1]))]
    assert {PAPER, INK} <= {*level, *rows[int(float(floor.split()[1])) - 1]}
