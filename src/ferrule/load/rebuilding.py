"""A product with some of its files' trees exchanged: what the change leaves alone stays the very same object.

A value that is read again is equal to what it was, but another object. Whoever keeps results by the records they
were made from can tell at a glance what a change does not touch, if that is the same object as before.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from ferrule.load.build import put_together, read_tree
from ferrule.load.loaded import Loaded, Reading
from ferrule.load.toml import Document
from ferrule.model.product import Product

__all__ = ["Known", "rebuild"]

#: Changed records of one product, by the record they stand for and the tree they were read from.
Known = dict[tuple[int, str], Any]

#: By kind of file: where the product keeps what its tables and lists hold.
_FIELDS = {
    "parts": {"part": "parts"},
    "firms": {"firm": "firms", "channel": "channels", "lane": "lanes", "duty": "duties", "rate": "rates"},
    "tools": {"tool": "tools"},
    "counts": {"stock": "stock", "order": "orders", "movement": "movements", "made": "made"},
}


def rebuild(loaded: Loaded, trees: Mapping[str, dict[str, Any]], known: Known | None = None) -> Loaded:
    """Return the product as if some of its files held these trees; no other file is read again.

    The new trees must not be changed afterwards. Records, and fields of records, whose part of the tree is the
    very object it was stay the very objects they were, and so do tables and lists of such records. Documents
    keep their old bytes, so lines cannot be looked up in a file that was given a new tree; digests are those of
    before. With ``known``, which one product's calls may share, so do records that are changed the same way twice.
    """
    shared = known if known is not None else {}
    pairs = {file: (_read(loaded, file, tree, shared), loaded.readings[file]) for file, tree in trees.items()}
    readings = {**loaded.readings, **{file: new for file, (new, _) in pairs.items()}}
    if not loaded.findings and all(_has_same_names(*pair) for pair in pairs.values()):
        documents = {**loaded.documents, **{f: new.document for f, (new, _) in pairs.items() if new.document}}
        product = _exchanged(loaded.product, pairs.values())
        return replace(loaded, product=product, documents=documents, readings=readings)
    again = put_together(readings, loaded.folder, loaded.unread)
    return replace(again, product=_with_old_tables(again.product, loaded.product))


def _read(loaded: Loaded, file: str, tree: dict[str, Any], known: Known) -> Reading:
    old, new = loaded.readings[file], read_tree(Document(file, tree, loaded.documents[file].data), ())
    if new.document is None or old.document is None or new.holes or old.holes:
        return new
    if new.record is None or type(new.record) is not type(old.record):
        return new
    return replace(
        new, record=_kept_fields(new.record, old.record, (new.document.tree, old.document.tree), known)
    )


# --- records ------------------------------------------------------------------------------------------


def _kept(new: Any, old: Any, trees: tuple[Any, Any], known: Known) -> Any:
    """Return what was read from a tree, with the old objects wherever the tree is the same object as before."""
    tree, before = trees
    if tree is before:
        return old
    if type(new) is not type(old) or type(tree) is not type(before):
        return new
    if isinstance(new, dict) and isinstance(tree, dict):
        return {
            name: _kept(each, old[name], (tree[name], before[name]), known) if name in old else each
            for name, each in new.items()
        }
    if isinstance(new, Struct) and isinstance(tree, dict):
        return known.setdefault((id(old), repr(tree)), _kept_fields(new, old, trees, known))
    if isinstance(new, tuple) and isinstance(tree, list):
        rows = zip(new, old, tree, before, strict=False)  # what is longer has nothing to keep
        kept = tuple(_kept(one, other, (now, then), known) for one, other, now, then in rows)
        return known.setdefault((id(old), repr(tree)), (*kept, *new[len(old) :]))
    return new


def _kept_fields(new: Struct, old: Struct, trees: tuple[Any, Any], known: Known) -> Any:
    tree, before = trees
    names = zip(new.__struct_fields__, new.__struct_encode_fields__, strict=True)
    fields = {
        name: _kept(getattr(new, name), getattr(old, name), (tree.get(key), before.get(key)), known)
        for name, key in names
    }
    return replace(new, **fields)


# --- the product --------------------------------------------------------------------------------------


def _has_same_names(new: Reading, old: Reading) -> bool:
    """Return whether two readings of a file are whole and their records go by the same names."""
    if new.findings or new.holes or old.holes or new.record is None or new.kind != old.kind:
        return False
    if new.kind not in _FIELDS:
        return new.kind == "plan"
    return all(
        _names(getattr(new.record, table)) == _names(getattr(old.record, table))
        for table in _FIELDS[new.kind]
    )


def _names(table: Any) -> Any:
    return table.keys() if isinstance(table, dict) else len(table)


def _exchanged(product: Product, pairs: Iterable[tuple[Reading, Reading]]) -> Product:
    """Return the product with the records of new readings in the places of the old ones."""
    swaps: dict[str, dict[int, Any]] = {}
    for new, old in pairs:
        if new.kind == "plan":
            swaps.setdefault("plans", {})[id(old.record)] = new.record
        for table, field in _FIELDS.get(new.kind, {}).items():
            swaps.setdefault(field, {}).update(_swaps(getattr(new.record, table), getattr(old.record, table)))
    fields = {
        field: _swapped(getattr(product, field), changed) for field, changed in swaps.items() if changed
    }
    return replace(product, **fields)


def _swaps(new: Any, old: Any) -> dict[int, Any]:
    """Return the new records by the identity of those they replace."""
    pairs = ((new[name], old[name]) for name in (new if isinstance(new, dict) else range(len(new))))
    return {id(before): after for after, before in pairs if after is not before}


def _swapped(table: Any, changed: Mapping[int, Any]) -> Any:
    if isinstance(table, tuple):
        return tuple(changed.get(id(record), record) for record in table)
    return {name: changed.get(id(record), record) for name, record in table.items()}


def _with_old_tables(new: Product, old: Product) -> Product:
    """Return a product with the old one's tables and lists where they hold the very same records, and its digests."""
    same = {
        name: getattr(old, name)
        for name in Product.__struct_fields__
        if _holds_the_same(getattr(new, name), getattr(old, name))
    }
    return replace(new, **{**same, "digests": old.digests})


def _holds_the_same(new: Any, old: Any) -> bool:
    if isinstance(new, dict):
        return new.keys() == old.keys() and all(value is old[name] for name, value in new.items())
    if isinstance(new, tuple):
        return len(new) == len(old) and all(one is other for one, other in zip(new, old, strict=True))
    return new is old
