"""What identifies a record that has no id of its own: the same words whatever its file and place in the list.

Findings, waivers and settings name records by these keys; revisions are compared by them.
"""

from __future__ import annotations

__all__ = ["NATURAL_KEYS", "keys_of"]

#: Table → the keys that identify a record within its list, as files write them.
NATURAL_KEYS: dict[str, tuple[str, ...]] = {
    "line": ("item",),
    "source": ("maker", "seller", "maker_part"),
    "price": ("from",),
    "tier": ("from",),
    "alternates": ("part",),
    "document": ("file",),
    "duty": ("destination", "code", "origin"),
    "rate": ("rate",),
    "stock": ("part", "place", "lot"),
    "order": ("id", "part"),
    "movement": ("part", "custodian", "kind", "date"),
    "made": ("sku", "factory", "date"),
    "sales": ("sku", "channel", "build"),
    "waiver": ("rule", "subject"),
    "substances": ("rule",),
    "customs_code": ("destination",),
    "payment": ("due",),
    "schedule": ("due",),
    "pack": ("form",),
    "approval": ("role",),
    "run": ("serials",),
    "fitted": ("part", "lot"),
    "built_under": ("rule", "subject"),
    "result": ("kind", "file"),
}


def keys_of(table: str) -> tuple[str, ...]:
    """Return the keys that identify a record of a list; a list that is not named goes by ``name`` or ``id``."""
    return NATURAL_KEYS.get(table, ("name", "id"))
