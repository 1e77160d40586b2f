"""What was built of the frozen builds: which units hold a lot, which were made under a waiver, what one unit is."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping

from msgspec import Struct

from ferrule.model.product import Product
from ferrule.model.records.as_built import AsBuiltFile, BuildResult, BuiltUnder, Fitted, Run
from ferrule.model.serials import Serials

__all__ = ["Asked", "Built", "LotRow", "ResultRow", "RunRow", "WaiverRow", "built_units"]


class Asked(Struct, frozen=True, kw_only=True):
    """The question: builds, a part, a lot, a waiver by its rule or subject, one serial number; empty asks for all."""

    builds: tuple[str, ...] = ()
    part: str = ""
    lot: str = ""
    waiver: str = ""
    serial: int | None = None


class RunRow(Struct, frozen=True):
    """Units made in one go that the answer is about; ``serials`` are those of them that are."""

    build: str
    run: Run
    serials: Serials


class LotRow(Struct, frozen=True):
    """A lot, the units it went into, and whether the source is the frozen one (None: not known)."""

    build: str
    fitted: Fitted
    as_frozen: bool | None


class WaiverRow(Struct, frozen=True):
    """Units built under a waiver, as far as the answer is about them, and the last day it held, if it is on record still."""

    build: str
    under: BuiltUnder
    serials: Serials
    until: dt.date | None


class ResultRow(Struct, frozen=True):
    """A paper on the build, and whether its content is the recorded one (None: nothing is recorded)."""

    build: str
    result: BuildResult
    same: bool | None


class Built(Struct, frozen=True, kw_only=True):
    """The answer, in the order of builds and of their files; ``units`` are all serial numbers it is about."""

    units: Serials
    runs: tuple[RunRow, ...]
    lots: tuple[LotRow, ...]
    waivers: tuple[WaiverRow, ...]
    results: tuple[ResultRow, ...]


def built_units(product: Product, asked: Asked, makers: Mapping[tuple[str, str], frozenset[str]]) -> Built:
    """Return the units a question is about, with their lots, waivers and papers.

    ``makers`` are the makers a frozen build chose, by build and part. A unit is meant when it holds such a
    lot, was built under such a waiver, and has that number, as far as each was asked for.
    """
    names = asked.builds or tuple(product.as_built)
    meant = {name: _meant(product.as_built[name], asked) for name in names if name in product.as_built}
    files = {name: product.as_built[name] for name in meant}
    return Built(
        units=_joined(meant.values()),
        runs=tuple(
            RunRow(name, run, run.serials.within(meant[name]))
            for name, file in files.items()
            for run in file.run
            if len(run.serials.within(meant[name]))
        ),
        lots=tuple(
            LotRow(name, row, _as_frozen(row, makers.get((name, row.part))))
            for name, file in files.items()
            for row in file.fitted
            if _about_lot(row, asked) and len(row.serials.within(meant[name]))
        ),
        waivers=tuple(
            WaiverRow(name, row, row.serials.within(meant[name]), _until(product, row))
            for name, file in files.items()
            for row in file.built_under
            if _about_waiver(row, asked) and len(row.serials.within(meant[name]))
        ),
        results=tuple(_results(product, files, meant)),
    )


def _meant(file: AsBuiltFile, asked: Asked) -> Serials:
    """Return the units of one build that the question is about."""
    units = _joined([*(run.serials for run in file.run), *(row.serials for row in file.fitted)])
    units = units.joined(_joined(row.serials for row in file.built_under))
    if asked.part or asked.lot:
        units = units.within(_joined(row.serials for row in file.fitted if _about_lot(row, asked)))
    if asked.waiver:
        units = units.within(_joined(row.serials for row in file.built_under if _about_waiver(row, asked)))
    if asked.serial is not None:
        units = units.within(Serials(((asked.serial, asked.serial),)))
    return units


def _joined(serials: Iterable[Serials]) -> Serials:
    found = Serials(())
    for each in serials:
        found = found.joined(each)
    return found


def _about_lot(row: Fitted, asked: Asked) -> bool:
    return asked.part in ("", row.part) and asked.lot in ("", row.lot)


def _about_waiver(row: BuiltUnder, asked: Asked) -> bool:
    return asked.waiver in ("", row.rule, row.subject, f"{row.rule} {row.subject}")


def _as_frozen(row: Fitted, makers: frozenset[str] | None) -> bool | None:
    return None if row.maker is None or not makers else row.maker in makers


def _until(product: Product, row: BuiltUnder) -> dt.date | None:
    same = (each for each in product.waivers if (each.rule, each.subject) == (row.rule, row.subject))
    return max((each.until for each in same if each.until is not None), default=None)


def _results(
    product: Product, files: Mapping[str, AsBuiltFile], meant: Mapping[str, Serials]
) -> Iterator[ResultRow]:
    for name, file in files.items():
        for row in file.result:
            if row.serials is None or len(row.serials.within(meant[name])):
                digest = product.digests.get(row.file)
                yield ResultRow(name, row, None if row.sha256 is None else digest == row.sha256)
