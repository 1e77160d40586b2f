"""Answers of the real command on the example product, each run once, and what tests read out of them."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import Any

from git_builders import ferrule

EXAMPLE = Path(__file__).parents[1] / "example-product"
GOLDEN = Path(__file__).parent / "cli" / "golden"
TODAY = ("--today", "2026-11-25")

Row = dict[str, Any]

#: A product of one SKU with two P in it, bought for three units by a plan of one build.
SMALL = {
    "product.toml": '[product]\nid = "T"\nname = "T"\ncurrency = "EUR"\nstage = "prototype"\n',
    "parts/p.toml": "[part.P]\n",
    "assemblies/t.toml": (
        '[assembly]\nid = "TOP"\n[assembly.sale.web]\nlist_price = "5 EUR"\n'
        '[[line]]\nitem = 1\npart = "P"\nqty = 2\n'
    ),
    "plans/p.toml": (
        '[plan]\nid = "p"\nstart = 2026-11-30\nend = "week 9"\n[[build]]\nname = "b"\nsku = "TOP"\nqty = 3\n'
    ),
}


@functools.cache
def answer(columns: int, *arguments: str) -> str:
    """Return what a command prints on the example; columns 0 is a pipe. It must succeed and warn of nothing.

    Names are hashed with seed 0, so that a run with another seed can be compared.
    """
    named = {"COLUMNS": str(columns)} if columns else {}
    done = ferrule(*arguments, *TODAY, cwd=EXAMPLE, PYTHONHASHSEED="0", **named)
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


def golden(name: str, text: str, *, update: bool) -> None:
    """Compare a text with the golden file of that name, byte for byte, or write it."""
    path = GOLDEN / name
    if update:
        path.write_bytes(text.encode())
    assert text.encode() == path.read_bytes()


def table(text: str, rows: int, title: str = "") -> list[dict[str, str]]:
    """Return so many rows of a table in a text that nothing wrapped, by heading; the first table if untitled."""
    lines = text.splitlines()
    start = lines.index(title) + 1
    while set(lines[start + 1]) != {"-", " "}:
        start += 1
    spans, at = [], 0
    for dashes in lines[start + 1].split("  "):
        spans.append((at, at + len(dashes)))
        at += len(dashes) + 2
    found = lines[start + 2 : start + 2 + rows]
    cells = [[line[a:b].strip() for a, b in spans] for line in (lines[start], *found)]
    return [dict(zip(cells[0], row, strict=True)) for row in cells[1:]]


def rounded(number: str | None, places: int, *, trim: bool = False) -> str:
    """Return a machine's number as people see it: rounded half up, thousands parted, "?" for none."""
    if number is None:
        return "?"
    if not number:
        return ""
    text = f"{Decimal(number).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP):,f}"
    return text.rstrip("0").rstrip(".") if trim and "." in text else text


def total(rows: list[Row], key: str) -> Decimal:
    """Return a column added up, what is blank or not known left out."""
    return sum((Decimal(row[key]) for row in rows if row[key] not in (None, "")), Decimal(0))


def near(one: Decimal, other: Decimal, within: str = "1e-6") -> bool:
    """Return whether two sums of numbers written to twelve places are the same."""
    return abs(one - other) < Decimal(within)


def small(folder: Path, files: Mapping[str, str] | None = None) -> Path:
    """Write the small product with some files changed, and return its folder."""
    for path, text in (SMALL | dict(files or {})).items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text, encoding="utf-8")
    return folder


def source(part: str, price: str, more: str = "") -> str:
    """Return the record of a part with one source; ``price`` is the price of one, from one piece on."""
    stated = f"price = [{{ from = 1, each = {price} }}]\n" if price else ""
    return (
        f'[part.{part}]\n[[part.{part}.source]]\nseller = "s"\nstatus = "approved"\ncurrency = "EUR"\n'
        f"{stated}{more}"
    )
