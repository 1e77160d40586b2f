"""A newer sheet of an assembly that was read before: edits of the files as they stand now, nothing written anew."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from msgspec import Struct, field, structs

from ferrule.app.import_files import (
    Memory,
    assembly_text,
    firm_blocks,
    firms_text,
    line_block,
    part_block,
    parts_text,
)
from ferrule.exchange.drafted import AssemblyDraft, Drafted, LineDraft, PartDraft
from ferrule.load.editing import Edit, edited
from ferrule.load.loaded import Loaded
from ferrule.load.renewing import Change, Renewed, paired_lines, renew_fields, renew_list
from ferrule.load.toml import decode
from ferrule.load.toml_text import block_text

__all__ = ["Newer", "newer_files"]

_NEW = "new in the sheet"


class Newer(Struct, frozen=True, kw_only=True):
    """Files as they will be, what changed, and the drafted records with the item references that lines keep."""

    files: Mapping[str, bytes]
    changes: tuple[Change, ...]
    drafted: Drafted


class _Work(Struct, kw_only=True):
    loaded: Loaded
    memory: Memory
    edits: dict[str, list[Edit]] = field(default_factory=dict)
    texts: dict[str, str] = field(default_factory=dict)
    changes: list[Change] = field(default_factory=list)

    def take(self, file: str, renewed: Renewed) -> None:
        """Collect edits of a file and what they change."""
        self.edits.setdefault(file, []).extend(renewed.edits)
        self.changes.extend(renewed.changes)

    def add(self, file: str, blocks: Iterable[str], whole: str) -> None:
        """Put blocks at the end of a file, or make it of ``whole`` where it is not there."""
        if file in self.loaded.documents:
            self.edits.setdefault(file, []).extend(Edit(block=block) for block in blocks)
        else:
            self.texts[file] = whole


def newer_files(loaded: Loaded, drafted: Drafted, memory: Memory, stem: str, sheet: str) -> Newer:
    """Return what a newer sheet makes of the files; ``stem`` names the files of its new parts and firms."""
    work = _Work(loaded=loaded, memory=memory)
    fresh = [part for part in drafted.parts if part.number not in memory.parts]
    for part in drafted.parts:
        if part.number in memory.parts:
            _renew_part(part, work)
    if fresh:
        work.add(f"parts/{stem}.toml", [part_block(part) for part in fresh], parts_text(fresh, sheet))
        work.changes += [_new(f"part {part.number}") for part in fresh]
    if drafted.firms:
        work.add(f"firms/{stem}.toml", firm_blocks(drafted.firms), firms_text(drafted.firms, sheet))
        work.changes += [_new(f"firm {number}") for number in drafted.firms]
    assemblies = []
    for assembly in drafted.assemblies:
        if assembly.number in memory.assemblies:
            assemblies.append(_renew_assembly(assembly, work))
        else:
            work.texts[f"assemblies/{assembly.number.lower()}.toml"] = assembly_text(assembly, sheet)
            work.changes.append(_new(f"assembly {assembly.number}"))
            assemblies.append(assembly)
    return Newer(
        files=_edited(work),
        changes=tuple(work.changes),
        drafted=structs.replace(drafted, assemblies=tuple(assemblies)),
    )


def _edited(work: _Work) -> dict[str, bytes]:
    files = {path: text.encode() for path, text in work.texts.items()}
    for file, edits in work.edits.items():
        if edits:
            files[file] = edited(decode(work.loaded.documents[file].data), edits).encode()
    return files


def _new(subject: str) -> Change:
    return Change(subject=subject, sheet=_NEW)


def _renew_part(part: PartDraft, work: _Work) -> None:
    before = work.memory.parts[part.number]
    home = work.loaded.product.homes.get(("part", part.number))
    if home is None:
        return
    now: Any = work.loaded.documents[home.file].tree
    for key in home.path:
        now = now[key]
    subject = f"part {part.number}"
    sources = [source.fields for source in part.sources]
    work.take(home.file, renew_fields(subject, home.path, before, part.fields, now))
    work.take(
        home.file,
        renew_list(
            f"{subject}, source",
            (*home.path, "source"),
            (before.get("source", ()), sources, now.get("source", ())),
            _source_key,
            lambda fields: block_text(("part", part.number, "source"), fields, many=True),
        ),
    )


def _source_key(fields: Mapping[str, Any]) -> tuple[str, ...]:
    return tuple(str(fields.get(key, "")) for key in ("maker", "maker_part", "seller", "seller_part"))


def _renew_assembly(assembly: AssemblyDraft, work: _Work) -> AssemblyDraft:
    """Collect the edits of an assembly; return it with the item references that its lines keep."""
    before = work.memory.assemblies[assembly.number]
    home = work.loaded.product.homes.get(("assembly", assembly.number))
    if home is None:
        return assembly
    now = work.loaded.documents[home.file].tree
    lines_now = now.get("line", [])
    paired = paired_lines(
        before.get("line", ()),
        [line.fields for line in assembly.lines],
        [line["item"] for line in lines_now if isinstance(line.get("item"), int)],
    )
    subject = assembly.number
    named = {key: value for key, value in assembly.fields.items() if key != "id"}
    said = {key: value for key, value in before.items() if key != "line"}
    work.take(home.file, renew_fields(f"assembly {subject}", home.path, said, named, now["assembly"]))
    places = {line["item"]: draft.place for line, draft in zip(paired, assembly.lines, strict=True)}
    work.take(
        home.file,
        renew_list(
            f"{subject}, item",
            ("line",),
            (before.get("line", ()), paired, lines_now),
            lambda line: line.get("item"),
            lambda line: line_block(line, [places[line["item"]]]),
        ),
    )
    kept = tuple(
        LineDraft(fields=fields, place=draft.place)
        for fields, draft in zip(paired, assembly.lines, strict=True)
    )
    return structs.replace(assembly, lines=kept)
