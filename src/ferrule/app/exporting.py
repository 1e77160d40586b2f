"""`export`: what other programs read. Which form, the name of the file says."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from pathlib import Path
from typing import Literal

from msgspec import Struct

from ferrule.app.buying import bought, open_plan
from ferrule.app.export_tables import list_table, purchase_table, sources_table
from ferrule.app.structure import Asked, exploded, open_structure
from ferrule.compute.buy import Ask
from ferrule.compute.structure import Context
from ferrule.errors import FerruleError
from ferrule.exchange.cyclonedx import Version, cyclonedx_bytes
from ferrule.exchange.table_out import OutTable, csv_bytes, parquet_bytes, schema_bytes, xlsx_bytes
from ferrule.source.snapshot import Snapshot
from ferrule.source.writing import write_file

__all__ = ["FORMS", "Form", "What", "Wish", "export_bytes", "form_of", "write_export"]

What = Literal["list", "sources", "purchase"]
Form = Literal["csv", "xlsx", "parquet", "cyclonedx"]
#: Endings of file names → form.
FORMS: dict[str, Form] = {".csv": "csv", ".xlsx": "xlsx", ".parquet": "parquet", ".cdx.json": "cyclonedx"}


class Wish(Struct, frozen=True, kw_only=True):
    """What is to be exported: a list of an assembly, the sources, or the purchases of a plan."""

    what: What
    name: str | None
    qty: Decimal = Decimal(1)
    today: dt.date
    version: Version = "1.6"
    guarded: bool = False


def form_of(path: Path) -> Form:
    """Return the form that a file's name asks for; raises FerruleError for an ending we do not write."""
    for ending, form in FORMS.items():
        if path.name.lower().endswith(ending):
            return form
    raise FerruleError(
        f"the name {path.name} does not say which form is meant", f"end it in {', '.join(FORMS)}"
    )


def export_bytes(snapshot: Snapshot, wish: Wish, form: Form) -> tuple[bytes, bytes | None]:
    """Return the bytes of an export, and for CSV its Table Schema; raises FerruleError."""
    if form == "cyclonedx":
        if wish.what != "list":
            raise FerruleError(f"CycloneDX holds a list of parts, not {wish.what}", "export a list")
        return _cyclonedx(open_structure(snapshot, Context(day=wish.today)), wish), None
    table = _table(snapshot, wish)
    if form == "xlsx":
        return xlsx_bytes([table]), None
    if form == "parquet":
        return parquet_bytes(table), None
    return csv_bytes(table, guarded=wish.guarded), schema_bytes(table)


def _table(snapshot: Snapshot, wish: Wish) -> OutTable:
    if wish.what == "purchase":
        buying = open_plan(snapshot, wish.name)
        return purchase_table(buying.product, bought(buying, Ask(today=wish.today), []))
    asked = open_structure(snapshot, Context(day=wish.today))
    if wish.what == "sources":
        return sources_table(asked.product)
    exploded(asked, _root(asked, wish), wish.qty)
    return list_table(asked.product, asked.structure, _root(asked, wish), wish.qty)


def _root(asked: Asked, wish: Wish) -> str:
    if wish.name is not None:
        return wish.name
    skus = asked.product.skus()
    if len(skus) == 1:
        return skus[0]
    raise FerruleError(
        "nothing says which assembly is meant", f"name one: {', '.join(skus) or 'there is no SKU'}"
    )


def _cyclonedx(asked: Asked, wish: Wish) -> bytes:
    totals = exploded(asked, _root(asked, wish), wish.qty)
    return cyclonedx_bytes(
        asked.product, asked.structure, totals, version=wish.version, complete=not asked.faults
    )


def write_export(path: Path, data: bytes, schema: bytes | None) -> list[Path]:
    """Write an export, and beside a CSV its schema; return the files written."""
    write_file(path, data)
    if schema is None:
        return [path]
    beside = path.with_name(f"{path.name.removesuffix(path.suffix)}.schema.json")
    write_file(beside, schema)
    return [path, beside]
