"""How a frozen build was really made: serial numbers, lots, sources used, waivers, results."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from ferrule.model.records.about import Id, Record, Text, about
from ferrule.model.serials import Serials

__all__ = ["AsBuilt", "AsBuiltFile", "BuildResult", "BuiltUnder", "Fitted", "Run"]


class AsBuilt(Record, frozen=True, kw_only=True):
    """Which frozen build this adds to. The lock itself is never touched."""

    freeze: Annotated[Id, about("Name of the frozen build.", "spring-27")]


class Run(Record, frozen=True, kw_only=True):
    """Units made in one go, by serial number."""

    serials: Annotated[Serials, about("Serial numbers, both ends included.", "1-1200", "1-400, 500-611")]
    sku: Annotated[Id, about("What was made (a SKU or assembly).", "W20-SINGLE")]
    factory: Annotated[Id | None, about("Where.", "harbour")] = None
    date: Annotated[dt.date | None, about("Day the last unit was finished.", "2027-04-09")] = None
    identities: Annotated[str | None, about("Identities issued to them.", "K-000001 to K-001200")] = None


class Fitted(Record, frozen=True, kw_only=True):
    """A lot of a part, and the units it went into."""

    part: Annotated[Id, about("Part number.", "CELL-18650")]
    lot: Annotated[str, about("Maker's lot or date code.", "2634")]
    serials: Annotated[Serials, about("Serial numbers of the units that hold it.", "1-640")]
    maker: Annotated[Id | None, about("Maker whose part it really was.", "korvel")] = None
    seller: Annotated[Id | None, about("Firm it was really bought from.", "norholt")] = None
    evidence: Annotated[str | None, about("What the traceability rests on.", "reel log 27-03")] = None


class BuiltUnder(Record, frozen=True, kw_only=True):
    """A waiver or deviation, and the units built under it."""

    rule: Annotated[Id, about("Rule of the waiver.", "sole-source")]
    subject: Annotated[Text, about("Record the waiver covers.", "part/U-MCU")]
    serials: Annotated[Serials, about("Serial numbers of the units.", "1-1200")]


class BuildResult(Record, frozen=True, kw_only=True):
    """A paper that proves how the build went."""

    kind: Annotated[
        Literal["first article", "inspection", "test", "calibration", "process settings", "other"],
        about("What it shows.", "first article"),
    ]
    file: Annotated[Text, about("Path inside the product folder.", "docs/builds/spring-first-article.pdf")]
    sha256: Annotated[str | None, about("SHA-256 of its content.", "e3b0c44298fc1c14")] = None
    date: Annotated[dt.date | None, about("Day of the result.", "2027-03-30")] = None
    passed: Annotated[bool | None, about("Whether it passed.", True)] = None
    serials: Annotated[Serials | None, about("Units it speaks of; all when not said.", "1-80")] = None


class AsBuiltFile(Record, frozen=True, kw_only=True):
    """What was built of a frozen build: frozen/NAME.asbuilt.toml."""

    as_built: Annotated[AsBuilt, about("Which frozen build this adds to.")]
    run: Annotated[tuple[Run, ...], about("Units made, by serial number.")] = ()
    fitted: Annotated[tuple[Fitted, ...], about("Lots of parts and the units they went into.")] = ()
    built_under: Annotated[tuple[BuiltUnder, ...], about("Units built under waivers and deviations.")] = ()
    result: Annotated[tuple[BuildResult, ...], about("First article, inspections, tests, calibration.")] = ()
