"""Drafted records as the files of a product, and the memory of what a sheet said.

The memory is a file under ``.ferrule/imports``: what was written, without anything changed later, and the number
each part got. It belongs into git with the product; a newer sheet is compared with it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

import tomli
from msgspec import Struct

from ferrule.exchange.drafted import AssemblyDraft, Drafted, PartDraft
from ferrule.exchange.recognised import Place, Recognised
from ferrule.load.toml_text import block_text

__all__ = [
    "Memory",
    "assembly_text",
    "firms_text",
    "line_block",
    "memory_text",
    "part_block",
    "parts_text",
    "read_memory",
]

_MOST_PLACES = 6


class Memory(Struct, frozen=True, kw_only=True):
    """What a sheet said when it was last read: records by number, and the number of each identity."""

    file: str = ""
    parts: Mapping[str, Mapping[str, Any]] = {}
    assemblies: Mapping[str, Mapping[str, Any]] = {}
    numbers: Mapping[tuple[str, ...], str] = {}
    columns: Sequence[Mapping[str, Any]] = ()


def part_block(part: PartDraft) -> str:
    """Return a part and its sources as text, each under the rows of the sheet it comes from."""
    path = ("part", part.number)
    text = block_text(path, part.fields, about=_about(part.places))
    return text + "".join(
        "\n" + block_text((*path, "source"), source.fields, many=True, about=_about([source.place]))
        for source in part.sources
    )


def line_block(fields: Mapping[str, Any], places: Iterable[Place] = ()) -> str:
    """Return a line as text."""
    return block_text(("line",), fields, many=True, about=_about(places))


def parts_text(parts: Iterable[PartDraft], sheet: str) -> str:
    """Return a parts file."""
    return "\n".join([_head("parts", sheet), *(part_block(part) for part in parts)])


def assembly_text(assembly: AssemblyDraft, sheet: str) -> str:
    """Return an assembly's file."""
    lines = [line_block(line.fields, [line.place]) for line in assembly.lines]
    return "\n".join([_head("assembly", sheet), block_text(("assembly",), assembly.fields), *lines])


def firms_text(firms: Mapping[str, Mapping[str, Any]], sheet: str) -> str:
    """Return a firms file."""
    return "\n".join([_head("firms", sheet), *firm_blocks(firms)])


def firm_blocks(firms: Mapping[str, Mapping[str, Any]]) -> list[str]:
    """Return firms as texts."""
    return [block_text(("firm", number), fields) for number, fields in firms.items()]


def _head(kind: str, sheet: str) -> str:
    return (
        f"#:schema ../.ferrule/schema/{kind}.schema.json\n\n"
        f"# Read from {sheet}. What the sheet does not say is left out: an absent price is unknown, not free.\n"
    )


def _about(places: Iterable[Place]) -> list[str]:
    named = [str(place) for place in places]
    more = [f"and {len(named) - _MOST_PLACES} more rows"] if len(named) > _MOST_PLACES else []
    return [*named[:_MOST_PLACES], *more]


def memory_text(
    found: Recognised, drafted: Drafted, digest: str, numbers: Mapping[tuple[str, ...], str]
) -> str:
    """Return the memory of a sheet."""
    blocks = [
        "# What a sheet said when it was read, for comparison with a newer one. Written by `ferrule import`.\n",
        block_text(("sheet",), {"format": 1, "file": found.file, "sha256": digest}),
        *(block_text(("column",), column, many=True) for column in found.mapping()["column"]),
        *(
            block_text(("number",), {"by": list(identity), "is": number}, many=True)
            for identity, number in sorted(numbers.items())
        ),
    ]
    for part in drafted.parts:
        fields = {**part.fields, "source": [dict(source.fields) for source in part.sources]}
        blocks.append(
            block_text(("part", part.number), {key: value for key, value in fields.items() if value})
        )
    for assembly in drafted.assemblies:
        lines = [dict(line.fields) for line in assembly.lines]
        fields = {**{key: value for key, value in assembly.fields.items() if key != "id"}}
        blocks.append(block_text(("assembly", assembly.number), fields))
        blocks += [block_text(("assembly", assembly.number, "line"), line, many=True) for line in lines]
    return "\n".join(blocks)


def read_memory(data: bytes) -> Memory:
    """Return what a memory holds; raises ValueError where it is none of format 1."""
    tree = tomli.loads(data.decode("utf-8"), parse_float=Decimal)
    if tree.get("sheet", {}).get("format") != 1:
        raise ValueError("not a memory of format 1")
    return Memory(
        file=str(tree["sheet"].get("file", "")),
        parts=tree.get("part", {}),
        assemblies=tree.get("assembly", {}),
        numbers={tuple(row["by"]): row["is"] for row in tree.get("number", [])},
        columns=tree.get("column", []),
    )
