"""File kinds: which top-level tables tell a file's kind, and the record each is read into."""

from __future__ import annotations

from typing import Any

from ferrule.model.records.about import Record
from ferrule.model.records.as_built import AsBuiltFile
from ferrule.model.records.assembly import AssemblyFile
from ferrule.model.records.counts import CountsFile
from ferrule.model.records.disclosures import DisclosuresFile
from ferrule.model.records.firms import FirmsFile
from ferrule.model.records.part import PartsFile
from ferrule.model.records.plan import PlanFile
from ferrule.model.records.product import ProductFile
from ferrule.model.records.tool import ToolsFile
from ferrule.model.records.waiver import WaiversFile

__all__ = ["KINDS", "kind_of", "tables_of"]

#: Kind → record of the whole file. The order is the one in which documents list them.
KINDS: dict[str, type[Record]] = {
    "product": ProductFile,
    "parts": PartsFile,
    "assembly": AssemblyFile,
    "firms": FirmsFile,
    "tools": ToolsFile,
    "plan": PlanFile,
    "counts": CountsFile,
    "waivers": WaiversFile,
    "asbuilt": AsBuiltFile,
    "disclosures": DisclosuresFile,
}


def tables_of(kind: str) -> tuple[str, ...]:
    """Return the top-level tables of a kind, as written."""
    return KINDS[kind].__struct_encode_fields__


_KIND_OF_TABLE = {table: kind for kind in KINDS for table in tables_of(kind)}


def kind_of(tree: dict[str, Any]) -> str | None:
    """Return the kind most of the file's top-level tables belong to, the first one on a tie, or None."""
    votes = [_KIND_OF_TABLE[table] for table in tree if table in _KIND_OF_TABLE]
    return max(votes, key=votes.count) if votes else None
