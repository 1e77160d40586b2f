"""`import`: a sheet recognised, and its parts, lines, sources and firms written as files of a product.

Without a folder nothing is written. A sheet of an assembly that was read before is a newer state of it: what it
changed is taken over, what somebody changed here since then stays, and where both did it is said.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import tomli
from msgspec import Struct, structs

from ferrule.app.import_files import (
    Memory,
    assembly_text,
    firms_text,
    memory_text,
    parts_text,
    read_memory,
)
from ferrule.app.import_newer import newer_files
from ferrule.app.init import skeleton
from ferrule.errors import FerruleError
from ferrule.exchange.drafted import Drafted, Known, draft_records
from ferrule.exchange.grid import SheetRefused
from ferrule.exchange.naming import number_for
from ferrule.exchange.recognise import recognise
from ferrule.exchange.recognised import Recognised
from ferrule.exchange.words import folded
from ferrule.load.build import load_product
from ferrule.load.loaded import Loaded
from ferrule.load.renewing import Change
from ferrule.load.toml_text import block_text
from ferrule.model.product import Product
from ferrule.source.products import open_products
from ferrule.source.writing import write_file

__all__ = [
    "Imported",
    "Reading",
    "import_sheet",
    "mapping_text",
    "read_mapping",
    "read_sheet",
    "write_import",
]

_MEMORY = ".ferrule/imports"


class Reading(Struct, frozen=True, kw_only=True):
    """A sheet as it was recognised, with the digest of its bytes."""

    found: Recognised
    digest: str


class Imported(Struct, frozen=True, kw_only=True):
    """What was written, or would be: files by path, and for a newer sheet what it changed."""

    reading: Reading
    drafted: Drafted
    top: str
    files: Mapping[str, bytes] = {}
    changes: tuple[Change, ...] = ()
    newer: bool = False
    written: bool = False


def read_sheet(
    path: Path,
    *,
    encoding: str | None = None,
    delimiter: str | None = None,
    mapping: Mapping[str, Any] | None = None,
) -> Reading:
    """Return a sheet recognised; raises FerruleError where it cannot be read."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise FerruleError(
            f"{path} cannot be read: {error.strerror or error}", "name a sheet that exists"
        ) from None
    try:
        found = recognise(data, path.name, encoding=encoding, delimiter=delimiter, mapping=mapping)
    except SheetRefused as error:
        raise FerruleError(f"{path.name}: {error.message}", error.hint) from None
    return Reading(found=found, digest=hashlib.sha256(data).hexdigest())


def read_mapping(path: Path) -> dict[str, Any]:
    """Return a saved mapping; raises FerruleError."""
    try:
        return tomli.loads(path.read_text("utf-8-sig"))
    except OSError as error:
        raise FerruleError(
            f"{path} cannot be read: {error.strerror or error}", "name a saved mapping"
        ) from None
    except (tomli.TOMLDecodeError, UnicodeDecodeError) as error:
        raise FerruleError(
            f"{path} is no TOML: {error}", "save one with --save-mapping and edit it"
        ) from None


def mapping_text(found: Recognised) -> str:
    """Return the meaning of every column, to be edited and given again with --mapping."""
    head = "# What each column means. Edit `means`, then pass this file with --mapping.\n"
    return "\n".join([head, *(block_text(("column",), row, many=True) for row in found.mapping()["column"])])


def import_sheet(reading: Reading, top: str, folder: Path, *, name: str = "", currency: str = "") -> Imported:
    """Return the files of a sheet for the product in ``folder``, or of a new product there; nothing is written yet.

    Raises FerruleError where the assembly stands there and no sheet was ever read for it, or the result would
    not be a product.
    """
    found = reading.found
    if not found.lines:
        raise FerruleError(
            f"{found.file} holds no list of parts that could be recognised",
            "run it without --to to see what was read, then pass --mapping",
        )
    if not (folder / "product.toml").is_file():
        drafted = draft_records(found, top)
        files = _new_product(reading, name or top, top, currency) | _new_files(reading, drafted, top)
        return _checked(Imported(reading=reading, drafted=drafted, top=top, files=files), {})
    present = _present(folder)
    loaded = load_product(present.items())
    memory = _memory(folder, top)
    drafted = draft_records(found, top, _known(loaded.product, memory))
    if memory is None:
        _refuse_known(loaded, drafted)
        files = _placed(_new_files(reading, drafted, top), present)
        return _checked(Imported(reading=reading, drafted=drafted, top=top, files=files), present)
    newer = newer_files(loaded, drafted, memory, top.lower(), found.file)
    remembered = {_memory_path(top): _remembered(reading, newer.drafted, memory)}
    done = Imported(
        reading=reading,
        drafted=newer.drafted,
        top=top,
        files={**newer.files, **remembered},
        changes=newer.changes,
        newer=True,
    )
    return _checked(done, present)


def write_import(imported: Imported, folder: Path) -> Imported:
    """Write the files below the product's folder; return it marked as written. Raises FerruleError."""
    for path, data in imported.files.items():
        write_file(folder / path, data)
    return structs.replace(imported, written=True)


def _present(folder: Path) -> dict[str, bytes]:
    """Return the product's files as they lie on the disk, by path within it; raises FerruleError."""
    snapshot = open_products(Path(), product=folder)[0].read()
    if snapshot.problems:
        raise FerruleError(
            f"{snapshot.problems[0].path}: {snapshot.problems[0].message}", "`ferrule check` shows all of it"
        )
    return {file.path.removeprefix(f"{snapshot.folder}/"): file.data for file in snapshot.files}


# --- a new assembly --------------------------------------------------------------------------------------


def _new_product(reading: Reading, name: str, top: str, currency: str) -> dict[str, bytes]:
    said = {cost.currency for cost in reading.found.counts.costs} - {""}
    home = currency or (said.pop() if len(said) == 1 else "")
    if not home:
        raise FerruleError(
            "nothing says which currency the new product counts in", "pass --currency, such as --currency EUR"
        )
    files = skeleton(name, number_for(top, ()), home)
    return {path: data for path, data in files.items() if not path.startswith(("parts/", "assemblies/"))}


def _new_files(reading: Reading, drafted: Drafted, top: str) -> dict[str, bytes]:
    sheet, stem = reading.found.file, top.lower()
    texts = {
        f"assemblies/{each.number.lower()}.toml": assembly_text(each, sheet) for each in drafted.assemblies
    }
    if drafted.parts:
        texts[f"parts/{stem}.toml"] = parts_text(drafted.parts, sheet)
    if drafted.firms:
        texts[f"firms/{stem}.toml"] = firms_text(drafted.firms, sheet)
    files = {path: text.encode() for path, text in texts.items()}
    return files | {_memory_path(top): _remembered(reading, drafted, Memory())}


def _remembered(reading: Reading, drafted: Drafted, memory: Memory) -> bytes:
    return memory_text(reading.found, drafted, reading.digest, {**memory.numbers, **drafted.numbers}).encode()


def _placed(files: Mapping[str, bytes], present: Mapping[str, bytes]) -> dict[str, bytes]:
    """Return files under names that nothing has yet."""
    taken = {path.casefold() for path in present}
    found = {}
    for path, data in files.items():
        stem, number, free = path.removesuffix(".toml"), 1, path
        while free.casefold() in taken:
            number += 1
            free = f"{stem}-{number}.toml"
        found[free] = data
    return found


def _memory_path(top: str) -> str:
    return f"{_MEMORY}/{top}.toml"


def _refuse_known(loaded: Loaded, drafted: Drafted) -> None:
    for assembly in drafted.assemblies:
        if assembly.number in loaded.product.assemblies or assembly.number in loaded.product.parts:
            raise FerruleError(
                f"{assembly.number} stands in the product already and was not read from a sheet",
                "pass --as with another number for what this sheet describes",
            )


# --- what a product knows --------------------------------------------------------------------------------


def _memory(folder: Path, top: str) -> Memory | None:
    path = folder / _memory_path(top)
    try:
        return read_memory(path.read_bytes())
    except FileNotFoundError:
        return None
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise FerruleError(
            f"{path} cannot be read: {error}", "restore it from git, or pass --as with a new number"
        ) from None


def _known(product: Product, memory: Memory | None) -> Known:
    parts: dict[tuple[str, ...], str] = {}
    for number, item in {**product.parts, **product.assemblies}.items():
        parts["part", folded(number)] = number
        for source in item.source:
            if source.maker_part and source.maker:
                names = {
                    source.maker,
                    product.firms[source.maker].name if source.maker in product.firms else "",
                }
                for name in names - {""}:
                    parts.setdefault(("maker", folded(name), folded(source.maker_part)), number)
    firms = {folded(number): number for number in product.firms}
    firms |= {folded(firm.name): number for number, firm in product.firms.items()}
    ours: set[str] = set()
    if memory is not None:
        parts |= memory.numbers
        ours = {*memory.parts, *memory.assemblies}
    taken = {number.casefold() for number in (*product.parts, *product.assemblies)}
    return Known(parts=parts, firms=firms, taken=frozenset(taken), ours=frozenset(ours))


def _checked(imported: Imported, present: Mapping[str, bytes]) -> Imported:
    """Return it if its files can be read back; raises FerruleError: nothing must be written that cannot."""
    files = {**present, **imported.files}
    loaded = load_product(
        (path, data) for path, data in files.items() if path.endswith(".toml") and not path.startswith(".")
    )
    before = (
        {(f.rule, f.place.file, f.facts) for f in load_product(present.items()).findings}
        if present
        else set()
    )
    wrong = [
        finding
        for finding in loaded.findings
        if finding.place.file in imported.files
        and (finding.rule, finding.place.file, finding.facts) not in before
    ]
    if wrong:
        raise FerruleError(
            f"{wrong[0].place.file} would not be right: {wrong[0].message}",
            "nothing was written; leave the row out of the sheet, and tell us of it",
        )
    return imported
