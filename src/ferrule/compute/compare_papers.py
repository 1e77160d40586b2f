"""Which documents say something else now: content under the same path, by SHA-256, and what rests on each."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from ferrule.model.product import Product

__all__ = ["DocumentChange", "compare_documents"]


class DocumentChange(Struct, frozen=True, kw_only=True):
    """A file that records name on both sides, with the SHA-256 of its content; None where there is no file.

    ``owners`` are the records that name it, (kind, number), now or before.
    """

    file: str
    owners: tuple[tuple[str, str], ...]
    before: str | None
    after: str | None


def compare_documents(before: Product, after: Product) -> tuple[DocumentChange, ...]:
    """Return the named files whose content differs, came or is gone, by path."""
    if before.digests == after.digests:
        return ()
    both = before.named_files() & after.named_files()
    differing = [file for file in sorted(both) if before.digests.get(file) != after.digests.get(file)]
    if not differing:
        return ()
    owners: dict[str, set[tuple[str, str]]] = {}
    for product in (before, after):
        for file, owner in _named(product):
            owners.setdefault(file, set()).add(owner)
    return tuple(
        DocumentChange(
            file=file,
            owners=tuple(sorted(owners[file])),
            before=before.digests.get(file),
            after=after.digests.get(file),
        )
        for file in differing
    )


def _named(product: Product) -> Iterator[tuple[str, tuple[str, str]]]:
    """Yield every file that a record names, with the record."""
    for kind, number, item in product.items():
        papers = [document.file for document in item.document]
        papers += [statement.statement or "" for statement in item.substances]
        papers.append((item.battery.test_summary if item.battery is not None else None) or "")
        yield from ((file, (kind, number)) for file in papers)
    for number, assembly in product.assemblies.items():
        programs = [step.program.file for step in assembly.steps if step.program is not None]
        plan = (assembly.quality.file if assembly.quality is not None else None) or ""
        yield from ((file, ("assembly", number)) for file in (*programs, plan))
    for number, tool in product.tools.items():
        paper = (tool.agreement.file if tool.agreement is not None else None) or ""
        yield from ((file, ("tool", number)) for file in (*(d.file for d in tool.document), paper))
    for number, firm in product.firms.items():
        yield from ((paper.file or "", ("firm", number)) for paper in firm.agreement)
