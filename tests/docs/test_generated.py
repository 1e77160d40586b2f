"""Schemas and the field table are in step with the records."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest

from ferrule.diagnostics.registry import all_rules
from ferrule.load.kinds import KINDS
from ferrule.load.schema import json_schema, schema_text
from ferrule.model.records.about import Record

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src/ferrule"
ROW = re.compile(r"^\| (\w+) \| (`.*`) \| (.+) \|$", re.MULTILINE)
ISSUES = [
    "What to buy", "When", "Will the money last", "What changed", "A build that can be rebuilt",
    "Spreadsheets, quotes, consigned parts", "See it",
]  # fmt: skip


@pytest.mark.parametrize("kind", list(KINDS))
def test_schema_files(kind: str, *, update: bool) -> None:
    path = ROOT / "schema" / f"{kind}.schema.json"
    if update:
        path.write_text(schema_text(kind))
    assert path.read_text() == schema_text(kind)


def properties(node: Any, at: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    if isinstance(node, dict):
        for name, value in node.get("properties", {}).items():
            yield f"{at}.{name}", value
        for name, value in node.items():
            yield from properties(value, f"{at}/{name}")


@pytest.mark.parametrize("kind", list(KINDS))
def test_every_property_is_described_and_closed(kind: str) -> None:
    schema = json_schema(kind)
    for where, prop in properties(schema):
        assert prop.get("description"), where
    for name, definition in schema["$defs"].items():
        if definition.get("type") == "object":
            assert definition["additionalProperties"] is False, name
    assert "unevaluatedProperties" not in json.dumps(schema)


def records(base: type[Record] = Record) -> Iterator[type[Record]]:
    for record in base.__subclasses__():
        yield record
        yield from records(record)


def own_fields(record: type[Record]) -> dict[str, str]:
    """Return written name → name of the fields a record adds to its base."""
    inherited = {field.name for base in record.__bases__ for field in msgspec.structs.fields(base)}
    return {f.encode_name: f.name for f in msgspec.structs.fields(record) if f.name not in inherited}


def table() -> list[tuple[str, list[str], str]]:
    text = (ROOT / "DEVELOPERS.md").read_text()
    return [(found[1], re.findall(r"`(\w+)`", found[2]), found[3]) for found in ROW.finditer(text)]


def test_every_field_has_a_reader() -> None:
    listed: dict[str, list[str]] = {}
    for record, fields, _ in table():
        listed.setdefault(record, []).extend(fields)
    assert {record: sorted(fields) for record, fields in listed.items()} == {
        record.__name__: sorted(own_fields(record)) for record in records()
    }


def test_readers_exist_and_read() -> None:
    shared = "".join(path.read_text() for path in (SOURCE / "diagnostics/rules").glob("_*.py"))
    shared += (SOURCE / "diagnostics/waiving.py").read_text()
    by_name = {record.__name__: record for record in records()}
    for record, fields, reader in table():
        named = re.findall(r"[a-z]+(?:-[a-z]+)+", reader) if reader.startswith("rule") else []
        assert set(named) <= set(all_rules()), reader
        known = (
            any(issue in reader for issue in ISSUES)
            or "load" in reader
            or "check" in reader
            or "explode" in reader
        )
        places = re.findall(r"`(\w+/\w+)`", reader)
        assert named or known or places or "`named_files`" in reader, reader
        modules = [SOURCE / "diagnostics/rules" / f"{name.replace('-', '_')}.py" for name in named]
        modules += [SOURCE / f"{place}.py" for place in places]
        text = (shared if named else "") + "".join(path.read_text() for path in modules)
        for field in fields if modules else ():
            name = own_fields(by_name[record])[field]
            assert re.search(rf"\.{name}\b|getattr\(", text), f"{record}.{field} is not read by {reader}"
