"""Three texts of one record: as it was read last time, as the newer sheet has it, and as it stands now.

What only the newer sheet changed is taken over; what only we changed stays; what both changed differently stays
ours and is said. So edits, comments and facts added later survive a newer sheet.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from msgspec import Struct

from ferrule.diagnostics.finding import Path
from ferrule.load.editing import Edit
from ferrule.model.designators import parse_designators

__all__ = ["Change", "Renewed", "paired_lines", "renew_fields", "renew_list"]

Record = Mapping[str, Any]


class Change(Struct, frozen=True, kw_only=True):
    """One field that the newer sheet changed: what it was, what the sheet says, what stands now.

    ``taken`` is False where we had changed it too: then ours stays. None is "not said".
    """

    subject: str
    #: Empty where the whole entry came or went.
    field: str = ""
    before: Any = None
    sheet: Any = None
    now: Any = None
    taken: bool = True


class Renewed(Struct, frozen=True, kw_only=True):
    """Edits of a file and the changes they stand for, with those that were not taken."""

    edits: tuple[Edit, ...] = ()
    changes: tuple[Change, ...] = ()

    def __add__(self, other: Renewed) -> Renewed:
        return Renewed(edits=self.edits + other.edits, changes=self.changes + other.changes)


def renew_fields(subject: str, path: Path, before: Record, sheet: Record, now: Record) -> Renewed:
    """Return the edits of one record's plain fields; lists of tables are left to `renew_list`."""
    edits, changes = [], []
    for key in dict.fromkeys([*before, *sheet]):
        was, says, stands = before.get(key), sheet.get(key), now.get(key)
        if says in (was, stands) or key == "source":
            continue
        taken = stands == was
        changes.append(Change(subject=subject, field=key, before=was, sheet=says, now=stands, taken=taken))
        if taken:
            edits.append(Edit(path=(*path, key), value=says))
    return Renewed(edits=tuple(edits), changes=tuple(changes))


def renew_list(
    subject: str,
    path: Path,
    records: tuple[Sequence[Record], Sequence[Record], Sequence[Record]],
    key_of: Callable[[Record], object],
    block: Callable[[Record], str],
) -> Renewed:
    """Return the edits of a list of tables (before, sheet, now), entries matched by ``key_of``.

    ``block`` is the text of a new entry. An entry that the sheet has no longer is taken out if it stands as it
    was read, else it is kept and said; one that we took out stays out.
    """
    before, sheet, now = (
        {key_of(record): (at, record) for at, record in enumerate(many)} for many in records
    )
    found = Renewed()
    for key, (_, says) in sheet.items():
        if key in before and key in now:
            at, stands = now[key]
            found += renew_fields(f"{subject} {_said(key)}", (*path, at), before[key][1], says, stands)
        elif key not in before and key not in now:
            found += Renewed(
                edits=(Edit(block=block(says)),),
                changes=(Change(subject=f"{subject} {_said(key)}", sheet=says),),
            )
    for key, (_, was) in before.items():
        if key not in sheet and key in now:
            at, stands = now[key]
            taken = stands == was
            found += Renewed(
                edits=(Edit(path=(*path, at)),) if taken else (),
                changes=(Change(subject=f"{subject} {_said(key)}", before=was, now=stands, taken=taken),),
            )
    return found


def _said(key: object) -> str:
    return " ".join(str(word) for word in key if word) if isinstance(key, tuple) else str(key)


def paired_lines(
    before: Sequence[Record], sheet: Sequence[Record], taken: Iterable[int]
) -> list[dict[str, Any]]:
    """Return the lines of the newer sheet with the item references they had, new ones with references never used.

    A line is the same if it is of the same part, else if it shares a designator; references of a sheet are only
    row numbers and may all have moved. ``taken`` are references in use now.
    """
    left = dict(enumerate(before))
    found: dict[int, int] = {}
    for same in (_same_part, _shares_place):
        for at, line in enumerate(sheet):
            if at in found:
                continue
            match = next((old for old, record in left.items() if same(record, line)), None)
            if match is not None:
                found[at] = int(left.pop(match)["item"])
    used = {*taken, *(int(line["item"]) for line in before)}
    return [
        {**line, "item": found[at] if at in found else _new_item(int(line["item"]), used)}
        for at, line in enumerate(sheet)
    ]


def _same_part(one: Record, other: Record) -> bool:
    return bool(one["part"] == other["part"])


def _shares_place(one: Record, other: Record) -> bool:
    return not _places(one).isdisjoint(_places(other))


def _places(line: Record) -> set[str]:
    return set(parse_designators(line["designators"]).names) if "designators" in line else set()


def _new_item(wished: int, used: set[int]) -> int:
    """Return the wished reference if nothing ever had it, else the next ten above all."""
    item = wished if wished not in used else (max(used) // 10 + 1) * 10
    used.add(item)
    return item
