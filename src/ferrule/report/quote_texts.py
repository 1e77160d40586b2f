"""The texts of a request for a quote: the cover that goes with the sheet, and the statement that never does."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence

from msgspec import Struct

from ferrule.compute.inference import Inferred, Revealed
from ferrule.model.text import visible

__all__ = ["Cover", "cover_text", "statement_text"]


class Cover(Struct, frozen=True, kw_only=True):
    """What a cover says: who asks whom for what, under which paper, and which files go with it."""

    sender: str
    recipient: str
    day: dt.date
    watermark: str
    quantities: Sequence[int]
    of_each: bool
    currency: str
    incoterm: str
    agreement: str
    fill: Sequence[tuple[str, str]]
    files: Mapping[str, str]


def cover_text(cover: Cover) -> str:
    """Return the cover: what to fill and how it will be read. It says nothing of the product."""
    asked = ", ".join(f"{qty:,}" for qty in cover.quantities)
    of = "of each line" if cover.of_each else "units; what they need of each line stands beside"
    term = (
        f"delivery term {cover.incoterm}"
        if cover.incoterm
        else "the delivery term you offer, with its named place"
    )
    lines = [
        f"Request for a quote {cover.watermark}",
        f"From {cover.sender} to {cover.recipient}, {cover.day.isoformat()}",
        "",
        f"Please quote for {asked} {of}, in {cover.currency}, {term}.",
        "",
        "- One price for one, at each quantity. Leave open what you cannot quote: open is open, never nought.",
        "- State part prices and prices of work without your percentages on them; they stand in your terms.",
        "- If you offer another article than the one named, state its maker and number, and say so in the remark.",
        "- Lines marked `no price asked` are parts that we supply.",
        "- Leave line ids and the mark of the sheet as they are. Columns may move, and rows may be added.",
        "",
        "Columns to fill:",
        *(f"  {heading}: {about}" for heading, about in cover.fill),
        "",
        *(f"{name}  SHA-256 {digest}" for name, digest in cover.files.items()),
    ]
    if cover.agreement:
        lines += ["", f"Confidential, under: {cover.agreement}."]
    else:
        lines += ["", "For your quote only; please do not pass it on."]
    return "\n".join(visible(line) for line in lines) + "\n"


def statement_text(
    title: str, facts: Iterable[tuple[str, str]], reveals: Iterable[Revealed], infers: Iterable[Inferred]
) -> str:
    """Return the disclosure statement as text: for our own files, never to be sent."""
    rows = [title, "Internal: this statement is never sent.", ""]
    rows += [f"{key}: {value}" for key, value in facts]
    rows += ["", "What it reveals"]
    rows += [f"- {row.heading} ({row.level}) on {row.lines} lines, such as {row.example}" for row in reveals]
    rows += ["", "What a reader could infer"]
    rows += [f"- {row.what}: {row.words}" for row in infers]
    return "\n".join(visible(row) for row in rows) + "\n"
