"""Item references used again for another part: a fault that only two revisions can show.

An item reference is unique in its assembly and never used again (ISO 6433 calls it the link between a
drawing and its list): whoever reads an older drawing finds the wrong part under it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

from msgspec import Struct

from ferrule.compute.compare_items import renamed_items
from ferrule.model.product import Product
from ferrule.model.records.assembly import Line

__all__ = ["ItemReused", "item_reused"]


class ItemReused(Struct, frozen=True, kw_only=True):
    """One reference used again: what a finding of the rule ``item-reused`` is made of.

    ``index`` is the place of the line in the assembly's list after.
    """

    assembly: str
    item: int
    before: tuple[str, ...]
    after: str
    index: int

    @property
    def message(self) -> str:
        """Return the fault in the user's words."""
        was = " or ".join(f'"{part}"' for part in self.before)
        return f'item {self.item} of {self.assembly} was {was} and now is "{self.after}"'

    @property
    def hint(self) -> str:
        """Return one action."""
        return "give the new line the next free item"

    @property
    def facts(self) -> tuple[str, ...]:
        """Return what makes it another fault when it changes."""
        return (*self.before, self.after)


def item_reused(
    before: Product, after: Product, assemblies: Collection[str] | None = None
) -> Iterator[ItemReused]:
    """Yield references that stood for another part before, by assembly and in line order.

    ``assemblies`` are those whose lines differ, where that is known already.

    A part that only goes by a new number is the same part, and where one part follows another on an item by
    effectivity, a part that stood there before may stay.
    """
    renamed = renamed_items(before, after)
    for assembly in sorted(before.lines.keys() & after.lines.keys()):
        if assemblies is None or assembly in assemblies:
            old, new = before.lines[assembly], after.lines[assembly]
            yield from _in_assembly(assembly, _parts(old, renamed), new)


def _parts(lines: Iterable[Line], renamed: Mapping[str, str]) -> dict[int, set[str]]:
    found: dict[int, set[str]] = {}
    for line in lines:
        found.setdefault(line.item, set()).add(renamed.get(line.part, line.part))
    return found


def _in_assembly(assembly: str, stood: Mapping[int, set[str]], lines: Iterable[Line]) -> Iterator[ItemReused]:
    kept = list(lines)
    for index, line in enumerate(kept):
        parts = stood.get(line.item, set())
        follows = line.effective is not None and any(
            other.item == line.item and other.part in parts for other in kept
        )
        if parts and line.part not in parts and not follows:
            yield ItemReused(
                assembly=assembly, item=line.item, before=tuple(sorted(parts)), after=line.part, index=index
            )
