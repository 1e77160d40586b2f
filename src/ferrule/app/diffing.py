"""`diff`: two states of a product side by side, what differs, and what that does to money and days."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from ferrule.app.holidays import holidays_of
from ferrule.app.loading import load_snapshot
from ferrule.compute.compare import Comparison, compare
from ferrule.compute.conditions import Condition
from ferrule.compute.effects import Effects, effects_of
from ferrule.compute.figures import figures_of
from ferrule.compute.gate import Verdict, needs_effects, parse_gate, verdicts
from ferrule.errors import FerruleError
from ferrule.load.build import Loaded
from ferrule.model.bad_value import BadValue
from ferrule.source.products import Opened, open_products
from ferrule.source.snapshot import Snapshot

__all__ = ["Diff", "diff", "gate_of", "two_sides"]

#: The effects of no change.
_NONE = Effects(costs=(), dates=(), cash=(), idle=(), same=(0, 0, 0), failed=())


class Diff(Struct, frozen=True, kw_only=True):
    """What differs between two states, their names, what that does, and what came of the gate.

    ``effects`` is None where nothing differs or they were not asked for. ``faults`` counts what could not be read.
    """

    found: Comparison
    sides: tuple[str, str]
    effects: Effects | None
    verdicts: tuple[Verdict, ...]
    faults: int

    @property
    def fails(self) -> bool:
        """Return whether a condition of the gate is met or cannot be decided."""
        return any(verdict.fails for verdict in self.verdicts)


def gate_of(written: str | None) -> tuple[Condition, ...]:
    """Return the conditions of a gate as they are written; raises FerruleError."""
    if written is None:
        return ()
    try:
        return parse_gate(written)
    except BadValue as error:
        raise FerruleError(error.message, f"write it as {' or '.join(map(str, error.forms))}") from None


def two_sides(
    start: Path, names: tuple[str, str | None], *, product: Path | None, index: bool
) -> tuple[Snapshot, Snapshot]:
    """Return the product before and after, each at a revision or in a folder; raises FerruleError.

    A name is a revision where git knows one by it, else a folder. Without a second name the work tree is meant,
    or the index. Where the earlier revision does not hold the product yet, everything is new.
    """
    before, after = names
    if after is not None and index:
        raise FerruleError(
            "with --index the staged files are the second side", f"leave out {after} or --index"
        )
    place = None if after is None else _folder(start, after, product)
    if place is not None:
        return _before(start, before, None, product), place
    opened = _only(open_products(start, product=product, revision=after, index=index))
    return _before(start, before, opened, product), opened.read()


def _folder(start: Path, name: str, product: Path | None) -> Snapshot | None:
    """Return the product in a folder, where the name is no revision; None where it is one.

    Raises FerruleError where it is neither.
    """
    try:
        _only(open_products(start, product=product, revision=name))
    except FerruleError as error:
        if (start / name).is_dir():
            read = _only(open_products(start / name)).read()
            return replace(read, label=f"folder {name}")
        raise _no_side(name, error) from None
    return None


def _before(start: Path, name: str, after: Opened | None, product: Path | None) -> Snapshot:
    if after is None:
        place = _folder(start, name, product)
        return place or _only(open_products(start, product=product, revision=name)).read()
    try:
        found = after.read_at(name)
    except FerruleError as error:
        if not (start / name).is_dir():
            raise _no_side(name, error) from None
        return replace(_only(open_products(start / name)).read(), label=f"folder {name}")
    if found is not None:
        return found
    there = _elsewhere(start, name, after) if product is None else None
    return there or Snapshot(
        label=f"{name} (no product there yet)", folder=after.folder, files=(), digests=_nothing
    )


def _no_side(name: str, error: FerruleError) -> FerruleError:
    """Return the error with the ways out that a comparison has."""
    if "not a git repository" in error.message or "git was not found" in error.message:
        return FerruleError(
            f"{name} is no folder, and {error.message}", "name two folders, or a revision inside a repository"
        )
    return error


def _elsewhere(start: Path, name: str, after: Opened) -> Snapshot | None:
    """Return the product with the same id in another folder of a revision; None where there is none."""
    try:
        found = [each.read() for each in open_products(start, revision=name)]
    except FerruleError:
        return None
    number = load_snapshot(after.read()).product.head.id
    return next((each for each in found if load_snapshot(each).product.head.id == number), None)


def _only(products: list[Opened]) -> Opened:
    if len(products) == 1:
        return products[0]
    names = ", ".join(each.folder or "." for each in products[:8])
    raise FerruleError(
        f"there are several products here: {names}", f"pass --product {products[0].folder or '.'}"
    )


def _nothing(paths: object) -> dict[str, str]:
    del paths
    return {}


def diff(
    before: Snapshot,
    after: Snapshot,
    today: dt.date,
    *,
    gate: tuple[Condition, ...] = (),
    effects: bool = True,
) -> Diff:
    """Return what changed from one state to the other, both judged on one day, and what it does.

    Without ``effects`` cost, dates and cash are worked out only where the gate asks for them.
    """
    old, new = load_snapshot(before), load_snapshot(after)
    found = compare(old.product, new.product, (today, today))
    done = None
    if not found.is_empty and (effects or needs_effects(gate)):
        one, other = (figures_of(each.product, today, holidays_of(each.product).days) for each in (old, new))
        done = effects_of(one, other)
    asked = done if done is not None else _NONE if found.is_empty else None
    return Diff(
        found=found,
        sides=(before.label, after.label),
        effects=done,
        verdicts=verdicts(gate, found, asked),
        faults=_faults(before, old) + _faults(after, new),
    )


def _faults(snapshot: Snapshot, loaded: Loaded) -> int:
    """Return how much could not be read; a product that is not there yet has no faults."""
    return len(loaded.findings) + len(snapshot.problems) if snapshot.files else 0
