"""From a product to its frozen build: the whole expanded list and everything it was made from.

Pure: what comes from outside the product (names, day, commit, hashes of files, which waivers hold) is in
the `Stamp`. Everything else is computed, so that a lock can be computed again years later and compared.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Iterable, Mapping
from decimal import Decimal

from msgspec import Struct

from ferrule.compute.explode import Totals, explode
from ferrule.compute.lock_form import (
    FORMAT,
    Hashes,
    Lock,
    LockedBuild,
    LockedEach,
    LockedFile,
    LockedFirm,
    LockedWaiver,
)
from ferrule.compute.lock_records import locked_assembly, locked_firm, locked_part, locked_tool, locked_waiver
from ferrule.compute.structure import Context, Structure, structure_of
from ferrule.model.exact import Exact, shown
from ferrule.model.product import Product
from ferrule.model.records.waiver import Waiver

__all__ = ["Stamp", "lock_of", "roots"]


class Stamp(Struct, frozen=True, kw_only=True):
    """What a lock attests beside the product: who is asked, on which day, of which commit and files."""

    name: str
    day: dt.date
    stage: str
    commit: str
    ferrule: str
    rules: str
    #: Source files by path from the product's folder.
    files: Mapping[str, LockedFile]
    waivers: tuple[Waiver, ...] = ()
    supersedes: str = ""
    supersedes_sha256: str = ""


def roots(product: Product) -> list[str]:
    """Return what is frozen: the SKUs, or where nothing is sold, the assemblies used nowhere."""
    skus = product.skus()
    if skus:
        return skus
    used = {line.part for lines in product.lines.values() for line in lines}
    return sorted(number for number in product.assemblies if number not in used)


def lock_of(product: Product, stamp: Stamp) -> Lock:
    """Return the frozen build of a product; raises ValueError where assemblies contain themselves.

    Quantities are for one of each SKU, before attrition, packs and least orders: those belong to a plan.
    """
    structure = structure_of(product, Context(day=stamp.day))
    tops = roots(product)
    totals = {top: explode(product, structure, top) for top in tops}
    numbers = {number for each in totals.values() for number in each.quantities}
    assemblies = _with_phantoms(structure, tops)
    documents = {path: product.digests.get(path, "") for path in sorted(product.named_files())}
    return Lock(
        format=FORMAT,
        name=stamp.name,
        product=product.head.id,
        product_name=product.head.name,
        files_format=product.head.format,
        stage=stamp.stage,
        day=stamp.day,
        commit=stamp.commit,
        ferrule=stamp.ferrule,
        rules=stamp.rules,
        supersedes=stamp.supersedes,
        supersedes_sha256=stamp.supersedes_sha256,
        markets=product.head.markets,
        record_years=product.policy.record_years,
        self_approved=product.head.people == 1,
        hashes=Hashes(
            sources=_hash(f"{file.sha256}  {path}" for path, file in sorted(stamp.files.items())),
            documents=_hash(f"{digest}  {path}" for path, digest in documents.items()),
            list_=_hash(_list_lines(product, totals)),
        ),
        file=dict(stamp.files),
        document=documents,
        firm=_firms(product),
        build=_builds(product),
        assembly={
            number: locked_assembly(product, structure, number)
            for number in sorted(assemblies & product.assemblies.keys())
        },
        part={
            number: locked_part(part, _each(totals, number))
            for number, part in sorted(product.parts.items())
            if number in numbers
        },
        tool={number: locked_tool(tool) for number, tool in sorted(product.tools.items())},
        waiver=_waivers(stamp.waivers),
    )


def _with_phantoms(structure: Structure, tops: Iterable[str]) -> set[str]:
    """Return everything reached from the tops, phantoms included."""
    found: set[str] = set()
    left = list(tops)
    while left:
        number = left.pop()
        if number not in found:
            found.add(number)
            left += [edge.child for edge in structure.edges.get(number, ())]
    return found


def _each(totals: Mapping[str, Totals], number: str) -> tuple[LockedEach, ...]:
    return tuple(
        LockedEach(sku=top, qty=_plain(each.quantities[number]), at_least=number in each.at_least)
        for top, each in totals.items()
        if number in each.quantities
    )


def _list_lines(product: Product, totals: Mapping[str, Totals]) -> list[str]:
    rows = []
    for top, each in totals.items():
        for number, quantity in each.quantities.items():
            item = product.item(number)
            unit = item.unit if item is not None else ""
            bound = " or more" if number in each.at_least else ""
            rows.append(f"{top} {number} {_plain(quantity)} {unit}{bound}")
    return sorted(rows)


def _plain(number: Exact) -> str:
    text = shown(number)
    return text.rstrip("0").rstrip(".") if "." in text else text


def _hash(lines: Iterable[str]) -> str:
    return hashlib.sha256("".join(f"{line}\n" for line in lines).encode()).hexdigest()


def _firms(product: Product) -> dict[str, LockedFirm]:
    return {number: locked_firm(firm) for number, firm in sorted(product.firms.items())}


def _builds(product: Product) -> dict[str, LockedBuild]:
    return {
        f"{number}/{build.name}": LockedBuild(
            sku=build.sku,
            qty=Decimal(build.qty),
            factory=build.factory or "",
            serials=str(build.serials) if build.serials is not None else "",
        )
        for number, plan in sorted(product.plans.items())
        for build in plan.build
    }


def _waivers(waivers: Iterable[Waiver]) -> tuple[LockedWaiver, ...]:
    found = map(locked_waiver, waivers)
    return tuple(sorted(found, key=lambda row: (row.rule, row.subject, row.serials, row.reason)))
