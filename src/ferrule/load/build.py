"""Files in, one product and all findings out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import msgspec

from ferrule.diagnostics.finding import Finding, Path, Place, Related, Severity
from ferrule.load.drafting import setting_faults
from ferrule.load.kinds import KINDS, kind_of, tables_of
from ferrule.load.loaded import Holes, Loaded, Reading
from ferrule.load.misfit import Misfit, path_order
from ferrule.load.toml import Document, read_document
from ferrule.load.values import read_value
from ferrule.model.product import Home, Product
from ferrule.model.records.about import Record
from ferrule.model.records.product import Head, ProductFile
from ferrule.model.text import nearest

__all__ = ["Loaded", "load_product", "put_together", "read_tree"]

_PRUNINGS = 50  # a file that still does not fit after this many rounds is left out whole


def load_product(files: Iterable[tuple[str, bytes]], folder: str = "", unread: Iterable[str] = ()) -> Loaded:
    """Return the product that the files (path and bytes) make, with every fault of their form.

    A fault never hides the rest: what does not fit is left out and the remainder is read. ``folder`` is
    the product's folder within the paths; its product.toml is the one that counts. ``unread`` names files
    that exist and could not be read, so that nothing is said to be missing from them.
    """
    readings = {file: _read(file, data) for file, data in sorted(files)}
    loaded = put_together(readings, folder, frozenset(unread))
    faults = setting_faults(loaded)
    return msgspec.structs.replace(loaded, findings=(*loaded.findings, *faults)) if faults else loaded


def put_together(readings: Mapping[str, Reading], folder: str, unread: frozenset[str]) -> Loaded:
    """Return the product that what each file gave makes, with every fault of the whole."""
    builder = _Builder(folder, unread)
    for file, reading in readings.items():
        builder.add(file, reading)
    return Loaded(
        builder.product(),
        tuple(builder.findings),
        builder.documents,
        builder.holes,
        readings=readings,
        folder=folder,
        unread=unread,
    )


def _error(
    rule: str, place: Place, message: str, hint: str = "", related: tuple[Related, ...] = ()
) -> Finding:
    return Finding(
        rule=rule, severity=Severity.ERROR, message=message, place=place, hint=hint, related=related
    )


# --- one file -----------------------------------------------------------------------------------------


def _read(file: str, data: bytes) -> Reading:
    document, findings = read_document(file, data)
    if document is None:
        return Reading(findings=tuple(findings))
    return read_tree(document, tuple(findings))


def read_tree(document: Document, findings: tuple[Finding, ...]) -> Reading:
    """Return what a parsed file gives, its faults after those of its bytes."""
    if not document.tree:
        return Reading(document=document, findings=findings)
    try:
        kind = kind_of(document.tree)
        if kind is None:
            return Reading(document=document, findings=(*findings, _unknown_kind(document)))
        return _convert(kind, document, findings)
    except RecursionError:
        place = Place(file=document.file, line=1, column=1)
        message, hint = "lists or tables are nested too deep", "nest at most 100 levels"
        return Reading(findings=(_error("not-toml", place, message, hint),))


def _unknown_kind(document: Document) -> Finding:
    first = next(iter(document.tree))
    known = [table for kind in KINDS for table in tables_of(kind)]
    best = nearest(first, known, likeness=0.7)
    hint = f"did you mean `{best}`?" if best else f"a file starts with one of: {', '.join(known)}"
    place = Place(file=document.file, path=(first,), on="key")
    return _error("unknown-file-kind", place, f"`{first}` tells no kind of file", hint)


def _convert(kind: str, document: Document, findings: tuple[Finding, ...]) -> Reading:
    try:
        fits = msgspec.convert(document.tree, KINDS[kind], dec_hook=read_value)
        return Reading(document=document, findings=findings, kind=kind, record=fits)
    except (msgspec.ValidationError, ValueError) as error:
        holes = Holes()
        told, record = _convert_what_fits(kind, document, error, holes)
        return Reading(document=document, findings=(*findings, *told), kind=kind, record=record, holes=holes)


def _convert_what_fits(
    kind: str, document: Document, error: Exception, holes: Holes
) -> tuple[list[Finding], Record | None]:
    from ferrule.load.schema import explain  # noqa: PLC0415  jsonschema is wanted only for a file that does not fit

    tree = _copy(document.tree)
    found: list[Finding] = []
    for number in range(_PRUNINGS):
        misfits = explain(kind, tree)
        if number == 0:
            found = [_misfit_finding(document.file, misfit) for misfit in misfits]
            if not misfits:  # the two checks disagree: say what the reader said, lose nothing
                found.append(_error("wrong-type", Place(file=document.file), str(error)))
        if not misfits or not _prune(tree, misfits, holes):
            break
        try:
            return found, msgspec.convert(tree, KINDS[kind], dec_hook=read_value)
        except (msgspec.ValidationError, ValueError):
            continue
    return found, None


def _misfit_finding(file: str, misfit: Misfit) -> Finding:
    place = Place(file=file, path=misfit.path, on="key" if misfit.on_key else "value")
    return _error(misfit.rule, place, misfit.message, misfit.hint)


# --- all files together -------------------------------------------------------------------------------


class _Builder:
    def __init__(self, folder: str, unread: frozenset[str]) -> None:
        self.head_file = f"{folder}/product.toml" if folder else "product.toml"
        self.findings: list[Finding] = []
        self.documents: dict[str, Document] = {}
        self.damaged = set(unread)
        self.holes: dict[str, Holes] = {}
        self.homes: dict[tuple[str, str | int], Home] = {}
        self.declared: dict[str, set[str]] = {}
        self.keyed: dict[str, dict[str, Any]] = {}
        self.listed: dict[str, list[Any]] = {}
        self.lines: dict[str, Any] = {}
        self.as_built: dict[str, Any] = {}
        self.head: ProductFile | None = None

    # -- one file ---------------------------------------------------------------------------------

    def add(self, file: str, reading: Reading) -> None:
        self.findings += reading.findings
        if reading.document is None:
            self.damaged.add(file)
            return
        self.documents[file] = reading.document
        if reading.holes is not None:
            self.holes[file] = reading.holes
            self._declare(reading.document.tree)
        if reading.record is not None:
            _TAKERS[reading.kind](self, file, reading.record)

    def _found(
        self, rule: str, place: Place, message: str, hint: str = "", related: tuple[Related, ...] = ()
    ) -> None:
        self.findings.append(_error(rule, place, message, hint, related))

    def _declare(self, tree: dict[str, Any]) -> None:
        for table in ("part", "firm", "channel", "lane", "tool", "calendar", "role", "disclosure"):
            if isinstance(tree.get(table), dict):
                self.declared.setdefault(table, set()).update(map(str, tree[table]))
        for table, key in (("assembly", "id"), ("plan", "id"), ("as_built", "freeze")):
            head = tree.get(table)
            if isinstance(head, dict) and isinstance(head.get(key), str):
                self.declared.setdefault(table, set()).add(head[key])

    # -- records ----------------------------------------------------------------------------------

    def take_tables(self, file: str, record: Record, tables: tuple[str, ...]) -> None:
        """Keep the records of tables that are keyed by id."""
        for table in tables:
            for number, value in getattr(record, table).items():
                if self._is_new(table, number, file, (table, number)):
                    self.keyed.setdefault(table, {})[number] = value

    def take_lists(self, file: str, record: Record, tables: tuple[str, ...]) -> None:
        """Keep the records of lists; they go by their index over all files."""
        for table in tables:
            kept = self.listed.setdefault(table, [])
            for index, value in enumerate(getattr(record, table)):
                self.homes[table, len(kept)] = Home(file, (table, index))
                kept.append(value)

    def take_head(self, file: str, record: Any) -> None:
        if file != self.head_file:
            place = Place(file=file, path=("product",), on="key")
            self._found(
                "id-defined-twice",
                place,
                "only product.toml holds the product table",
                "take it out here, or give the product a folder of its own",
            )
            return
        self.head = record
        self.homes["product", record.product.id] = Home(file, ("product",))
        for table in ("calendar", "role", "rule"):
            for number in getattr(record, table):
                self.homes[table, number] = Home(file, (table, number))

    def take_assembly(self, file: str, record: Any) -> None:
        number = record.assembly.id
        if self._is_new("assembly", number, file, ("assembly",)):
            self.keyed.setdefault("assembly", {})[number] = record.assembly
            self.lines[number] = record.line

    def take_plan(self, file: str, record: Any) -> None:
        if self._is_new("plan", record.plan.id, file, ("plan",)):
            self.keyed.setdefault("plan", {})[record.plan.id] = record

    def take_as_built(self, file: str, record: Any) -> None:
        """Keep what was built of a frozen build; rows go by the build's name and their index in its file."""
        name = record.as_built.freeze
        if self._is_new("as_built", name, file, ("as_built",)):
            self.as_built[name] = record

    def _is_new(self, kind: str, number: str, file: str, path: Path) -> bool:
        rivals = ("part", "assembly") if kind in ("part", "assembly") else (kind,)
        for rival in rivals:
            first = self.homes.get((rival, number))
            if first is not None:
                place = Place(file=file, path=path, on="key")
                other = Related(
                    place=Place(file=first.file, path=first.path, on="key"), note="first defined here"
                )
                self._found(
                    "id-defined-twice",
                    place,
                    _twice(kind, rival, number),
                    "give one of them another id",
                    (other,),
                )
                return False
        self.homes[kind, number] = Home(file, path)
        return True

    # -- the whole --------------------------------------------------------------------------------

    def product(self) -> Product:
        head = self.head
        if head is None:
            self._no_head()
            head = ProductFile(product=Head(id="unnamed", name="unnamed", currency="XXX", stage="prototype"))
        lists: dict[str, Any] = {name: tuple(self.listed.get(table, ())) for name, table in _LISTS.items()}
        tables: dict[str, Any] = {
            name: dict(sorted(self.keyed.get(table, {}).items())) for name, table in _TABLES.items()
        }
        return Product(
            head=head.product,
            policy=head.policy,
            conventions=head.conventions,
            calendars=head.calendar,
            roles=head.role,
            severities=head.rule,
            homes=self.homes,
            lines=dict(sorted(self.lines.items())),
            as_built=dict(sorted(self.as_built.items())),
            declared={kind: frozenset(ids) for kind, ids in self.declared.items()},
            **tables,
            **lists,
        )

    def _no_head(self) -> None:
        told = any(finding.place.file == self.head_file for finding in self.findings)
        if self.head_file not in self.damaged and not told:
            hint = "add [product] with id, name, currency and stage, or run `ferrule init`"
            self._found("missing-key", Place(file=self.head_file), "there is no [product] table", hint)


#: Field of Product → table of the files.
_TABLES = {
    "parts": "part",
    "assemblies": "assembly",
    "firms": "firm",
    "channels": "channel",
    "lanes": "lane",
    "tools": "tool",
    "plans": "plan",
    "disclosures": "disclosure",
}
_LISTS = {
    "duties": "duty",
    "rates": "rate",
    "stock": "stock",
    "orders": "order",
    "movements": "movement",
    "made": "made",
    "waivers": "waiver",
}


def _take_firms(builder: _Builder, file: str, record: Record) -> None:
    builder.take_tables(file, record, ("firm", "channel", "lane"))
    builder.take_lists(file, record, ("duty", "rate"))


_TAKERS: dict[str, Any] = {
    "product": _Builder.take_head,
    "parts": lambda b, file, record: b.take_tables(file, record, ("part",)),
    "assembly": _Builder.take_assembly,
    "firms": _take_firms,
    "tools": lambda b, file, record: b.take_tables(file, record, ("tool",)),
    "plan": _Builder.take_plan,
    "counts": lambda b, file, record: b.take_lists(file, record, ("stock", "order", "movement", "made")),
    "waivers": lambda b, file, record: b.take_lists(file, record, ("waiver",)),
    "asbuilt": _Builder.take_as_built,
    "disclosures": lambda b, file, record: b.take_tables(file, record, ("disclosure",)),
}


def _twice(kind: str, rival: str, number: str) -> str:
    if kind == rival:
        return f'{kind} "{number}" is defined twice'
    article = "an" if rival == "assembly" else "a"
    return f'"{number}" is already the id of {article} {rival}'


# --- leaving out what does not fit --------------------------------------------------------------------


def _copy(node: Any) -> Any:
    if isinstance(node, dict):
        return {key: _copy(value) for key, value in node.items()}
    return [_copy(value) for value in node] if isinstance(node, list) else node


def _prune(tree: Any, misfits: list[Misfit], holes: Holes) -> bool:
    """Take out what does not fit, last entries first; a record that misses a key goes whole."""
    paths = {m.path[:-1] if m.rule == "missing-key" else m.path for m in misfits}
    return all(holes.take(tree, path) for path in sorted(paths, key=path_order, reverse=True))
