"""What a request for a quote reveals, and what a reader can work out from it although it is not said."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from ferrule.compute.disclosure import Slice, SliceLine
from ferrule.model.product import Product

__all__ = ["Inferred", "Revealed", "inferred", "revealed"]


class Revealed(Struct, frozen=True):
    """One field of a request: on how many lines it says something, with an example."""

    heading: str
    level: str
    lines: int
    example: str


class Inferred(Struct, frozen=True):
    """Something a reader could work out: what, and from which facts."""

    what: str
    words: str


def revealed(found: Slice) -> tuple[Revealed, ...]:
    """Return the fields that say something, in the order of the sheet, with the quantities asked last."""
    rows = []
    for field in found.fields:
        texts = [text for line in found.lines if (text := line.text(field.key))]
        if texts:
            rows.append(
                Revealed(field.heading, "own words" if field.own else field.level, len(texts), texts[0])
            )
    if found.quantities:
        known = sum(None not in line.amounts for line in found.lines)
        asked = ", ".join(f"{qty:,}" for qty in found.quantities)
        rows.append(Revealed("quantities asked", "outline", known, f"for {asked}"))
    return tuple(rows)


def inferred(product: Product, found: Slice) -> tuple[Inferred, ...]:
    """Return what a reader could infer, from the fields that this request fills and from nothing else."""
    return (
        *_volume(product, found),
        *_shape(found),
        *_markets(product, found),
        *_history(product, found),
    )


def _volume(product: Product, found: Slice) -> Iterator[Inferred]:
    if found.quantities:
        asked = " and ".join(f"{qty:,}" for qty in found.quantities)
        words = f"price breaks asked at {asked} show the order of magnitude we plan"
        builds = {
            int(build.qty)
            for plan in product.plans.values()
            for build in plan.build
            if build.sku == found.root
        }
        met = sorted(builds & set(found.quantities))
        if met:
            words += f"; {', '.join(f'{qty:,}' for qty in met)} is the size of a planned build: ask beside it to hide it"
        yield Inferred("our volume", words)
    if _filled(found, "planned"):
        yield Inferred("our season", "planned quantities and days show when we build and so when we sell")


def _shape(found: Slice) -> Iterator[Inferred]:
    many = [line for line in found.lines if not line.work]
    if found.root is not None and found.quantities and "in_one" not in {field.key for field in found.fields}:
        smallest = min(found.quantities)
        if any(amount is not None and amount > smallest for line in many for amount in line.amounts[:1]):
            yield Inferred(
                "how many in one",
                f"quantities asked, divided by {smallest:,} or by their common measure "
                f"{_measure(found):,}, give how many of each part one unit has",
            )
    if _filled(found, "designators"):
        yield Inferred(
            "structure",
            "designators and places show which parts stand together, and so the blocks of the circuit",
        )
    hidden = [line for line in found.lines if line.opaque]
    if hidden and _filled(found, "package"):
        yield Inferred(
            "what we supply",
            f"package, quantity and places of {_parts(hidden)} supplied by us let a reader who knows "
            "the trade guess what they are",
        )
    sole = [line for line in found.lines if len(line.pieces.get("makers", ())) == 1]
    if sole:
        yield Inferred(
            "where we are weak",
            f"one approved maker each for {_parts(sole)}: whom to ask, and whom to hold",
        )
    if _filled(found, "documents"):
        yield Inferred("which files we hold", "a SHA-256 confirms to anybody who has a file that it is ours")


def _markets(product: Product, found: Slice) -> Iterator[Inferred]:
    assembly = product.assemblies.get(found.root or "")
    if assembly is not None and any(line.work for line in found.lines):
        shelf = " and our price on the shelf is public" if assembly.sale else ""
        yield Inferred(
            "our margin",
            f"who prices every line knows what one unit costs{shelf}: what is between is our margin, "
            "and a reason to ask for more",
        )
    if _filled(found, "own_maker") or _filled(found, "own_number"):
        yield Inferred(
            "that we know it",
            "the firm sees which of its own parts we consider, and may guess what they make",
        )
    if _filled(found, "origin") or _filled(found, "substances"):
        yield Inferred("our markets", "origin and statements on substances show where we mean to sell")


def _history(product: Product, found: Slice) -> Iterator[Inferred]:
    days = sorted(sent.sent for sent in product.disclosures.values() if sent.recipient == found.recipient)
    if days:
        listed = ", ".join(day.isoformat() for day in dict.fromkeys(days))
        yield Inferred(
            "what changed",
            f"line ids are the same as in what it got on {listed}: laid side by side they show what changed",
        )


def _filled(found: Slice, key: str) -> bool:
    return any(line.pieces.get(key) for line in found.lines)


def _measure(found: Slice) -> int:
    """Return the greatest common measure of the whole quantities asked first."""
    return math.gcd(*(int(line.amounts[0] or 0) for line in found.lines if line.amounts)) or 1


def _parts(lines: Sequence[SliceLine]) -> str:
    return "1 part" if len(lines) == 1 else f"{len(lines)} parts"
