"""The example's revisions as a reviewer reads them, and what the report leaves out."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping

import msgspec
import pytest

from builders import TODAY
from ferrule.compute.compare import Comparison, compare
from ferrule.load.build import load_product
from ferrule.model.product import Product
from ferrule.render.document import as_dict, as_text
from ferrule.report.diff import describe_diff
from ferrule.report.document import Cell, Column, Document, Table
from ferrule.source.packaged import example_files, example_revisions

MINUS = "\u2212"


def loaded(files: Mapping[str, bytes]) -> Product:
    product = load_product((path, data) for path, data in files.items() if path.endswith(".toml")).product
    digests = {
        file: hashlib.sha256(files[file]).hexdigest() for file in product.named_files() if file in files
    }
    return msgspec.structs.replace(product, digests=digests)


@pytest.fixture(scope="module")
def revisions() -> dict[str, Product]:
    newest = example_files()
    found = {
        name: loaded({path: data for path, data in (newest | differing).items() if path not in absent})
        for name, _, differing, absent in example_revisions()
    }
    return found | {"rev-C": loaded(newest)}


def between(revisions: Mapping[str, Product], one: str, other: str) -> Comparison:
    return compare(revisions[one], revisions[other], (TODAY, TODAY))


def rows(document: Document, key: str) -> list[tuple[Cell, ...]]:
    return next(list(table.rows) for table in document.tables if table.key == key)


def test_revision_b(revisions: Mapping[str, Product]) -> None:
    """Two more decoupling capacitors; the amplifier loses its second maker."""
    document = describe_diff(between(revisions, "rev-A", "rev-B"), ("rev-A", "rev-B"))
    assert [table.key for table in document.tables] == [
        "lines", "items", "sources", "supply", "questions", "reach", "approvals", "totals",
    ]  # fmt: skip
    assert rows(document, "lines") == [
        ("~", "changed", "W20-210", 20, "C-100N-0603", "quantity", "18", "20"),
        ("+", "added", "W20-210", 20, "C-100N-0603", "designators", "", "C19, C20"),
    ]
    assert rows(document, "supply") == [
        (
            "U-OPAMP-A",
            "Amplifier, dual, low noise, SOIC-8",
            "newly sole-source; second source gone",
            "2 approved sources, dunlin and sanderby",
            "1 approved source, dunlin",
        )
    ]
    assert [row[:2] for row in rows(document, "sources")] == [("~", "changed"), ("~", "changed")]
    assert [row[0] for row in rows(document, "reach")] == ["W20-SET3", "W20-SINGLE", "W20-210", "W20-500"]
    assert [row[0] for row in rows(document, "approvals")] == ["supplier", "document"]
    assert rows(document, "totals") == [
        ("lines", 0, 0, 1),
        ("parts and assemblies", 0, 0, 1),
        ("sources", 0, 0, 1),
    ]


def test_revision_c(revisions: Mapping[str, Product]) -> None:
    """Another amplifier under a new number and a new item; the carton holds 24."""
    found = between(revisions, "rev-B", "rev-C")
    document = describe_diff(found, ("rev-B", "rev-C"))
    assert rows(document, "lines") == [
        (MINUS, "removed", "W20-210", 290, "U-OPAMP-A", "line", "quantity 1; designators U14", ""),
        ("+", "added", "W20-210", 300, "U-OPAMP-B", "line", "", "quantity 1; designators U14"),
        (
            "~",
            "moved",
            "W20-210",
            300,
            "U-OPAMP-B",
            "designators U14",
            "item 290, U-OPAMP-A",
            "item 300, U-OPAMP-B",
        ),
        ("~", "changed", "W20-SINGLE", 110, "PKG-CTN-S", "per", "20", "24"),
        ("~", "changed", "W20-SINGLE", 120, "LBL-UN3481", "per", "20", "24"),
    ]
    new = [row[5:] for row in rows(document, "sources") if row[2] == "U-OPAMP-B"]
    assert new == [
        (
            "",
            "approved; 2500 at 0.58, 5000 at 0.55 USD; minimum order 2500; lead time 8 weeks; quote NH-26-1202",
        ),
        ("", "approved; 2500 at 94 JPY; minimum order 2500; lead time 10 weeks; quote KZ-26-0412"),
    ]
    assert [document.file for document in found.documents] == ["docs/drawings/PKG-CTN-S.txt"]
    assert [row[4] for row in rows(document, "evidence")] == [
        f"document docs/drawings/PKG-CTN-S.txt, {word}" for word in ("revision", "content hash", "approved")
    ]
    assert found.reused == ()  # item 290 is not used again: U-OPAMP-B came under 300
    assert found.supply == ()  # two makers for the new one; the old one is kept for service
    assert document.cautions


def test_old_item_kept_for_the_new_amplifier_would_be_a_fault(revisions: Mapping[str, Product]) -> None:
    new = revisions["rev-C"]
    lines = tuple(
        msgspec.structs.replace(line, item=290) if line.part == "U-OPAMP-B" else line
        for line in new.lines["W20-210"]
    )
    found = compare(
        revisions["rev-B"],
        msgspec.structs.replace(new, lines={**new.lines, "W20-210": lines}),
        (TODAY, TODAY),
    )
    document = describe_diff(found, ("rev-B", "here"))
    assert rows(document, "item_reused") == [
        ("W20-210", 290, "U-OPAMP-A", "U-OPAMP-B", "give the new line the next free item")
    ]


def test_nothing_changed(revisions: Mapping[str, Product]) -> None:
    document = describe_diff(between(revisions, "rev-C", "rev-C"), ("rev-C", "rev-C"))
    assert document.tables == ()
    assert document.notes == ("nothing changed",)
    assert document.cautions == ()


def test_hidden_counts_are_said(revisions: Mapping[str, Product]) -> None:
    files = dict(example_files())
    files["parts/amplifiers.toml"] = files.pop("parts/preamp.toml")
    document = describe_diff(compare(revisions["rev-C"], loaded(files), (TODAY, TODAY)), ("rev-C", "here"))
    assert document.notes == ("nothing changed", "2 records moved to other files: no change")


def test_effects_stand_in_their_places_and_totals_last(revisions: Mapping[str, Product]) -> None:
    columns = (Column("volume", "volume", "number"),)
    effects = [
        Table(key=key, columns=columns, rows=[(100,)])
        for key in ("cost", "cash_trough", "lead_time", "obsolete")
    ]
    document = describe_diff(between(revisions, "rev-B", "rev-C"), ("rev-B", "rev-C"), effects)
    assert [table.key for table in document.tables] == [
        "lines", "items", "sources", "cost", "lead_time", "obsolete",
        "evidence", "questions", "reach", "documents", "approvals", "cash_trough", "totals",
    ]  # fmt: skip


def test_text_and_machine_form(revisions: Mapping[str, Product]) -> None:
    document = describe_diff(between(revisions, "rev-A", "rev-C"), ("rev-A", "rev-C"))
    text = "\n".join(as_text(document, 100))
    assert "from: rev-A\nto: rev-C" in text
    assert "? = not known" in text
    made = as_dict(document)
    assert made["totals"][0] == {"what": "lines", "added": 1, "removed": 1, "changed": 3}
    hashes = {row["before"] for row in made["documents"]} | {row["after"] for row in made["documents"]}
    assert {len(digest) for digest in hashes} == {64}
