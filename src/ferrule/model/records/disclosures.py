"""What was disclosed: each request for a quote as it was sent, to whom, under which paper."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from ferrule.model.incoterms import Incoterm
from ferrule.model.number import Count
from ferrule.model.records.about import Id, Record, Text, about

__all__ = ["DisclosuresFile", "Level", "Sent", "SentLine"]

Level = Literal["nothing", "outline", "build", "price", "all"]


class SentLine(Record, frozen=True, kw_only=True):
    """One line of a request: the id the recipient saw, the part we mean, and every cell as it was sent."""

    id: Annotated[Id, about("Line id the recipient saw.", "L7K3M9QZ2PX4B")]
    part: Annotated[Id, about("Part or assembly meant.", "C-100N-0603")]
    supplied_by_us: Annotated[bool, about("Sent as a line without contents; no price is asked.", True)] = (
        False
    )
    asked: Annotated[
        tuple[Count, ...],
        about(
            "Quantities asked, one for each of `quantities`, in the part's unit; none where not known.",
            [2000],
        ),
    ] = ()
    makers: Annotated[tuple[str, ...], about("Makers' numbers that may be offered.", ["AC0603-104K16"])] = ()
    shown: Annotated[dict[str, str], about("Cells by heading.", {"name": "Capacitor", "unit": "each"})] = {}


class Sent(Record, frozen=True, kw_only=True):
    """A request for a quote as it was sent."""

    recipient: Annotated[Id, about("Firm it was sent to.", "harbour")]
    sent: Annotated[dt.date, about("Day it was made.", "2026-11-25")]
    key: Annotated[
        Text,
        about(
            "Secret from which line ids are made, the same in every record. Never sent.", "9f2c51d07be64a83"
        ),
    ]
    level: Annotated[Level, about("How much was disclosed.", "build")]
    agreement: Annotated[str | None, about("Paper under which it was sent.", "Confidentiality agreement")] = (
        None
    )
    agreement_until: Annotated[dt.date | None, about("Last day of that paper.", "2031-06-01")] = None
    assembly: Annotated[
        Id | None, about("Assembly the request is for; none for single parts.", "W20-500")
    ] = None
    quantities: Annotated[
        tuple[int, ...], about("Quantities asked, of the assembly or of each part.", [100])
    ] = ()
    currency: Annotated[str | None, about("Currency asked for, ISO 4217.", "USD")] = None
    incoterm: Annotated[Incoterm | None, about("Delivery term asked for.", "FCA Port Halden")] = None
    files: Annotated[
        dict[str, str], about("SHA-256 of each file sent, by its name.", {"request.csv": "e3b0c44298fc1c14"})
    ] = {}
    line: Annotated[tuple[SentLine, ...], about("Lines as they were sent.")] = ()


class DisclosuresFile(Record, frozen=True, kw_only=True):
    """What was disclosed: disclosures/*.toml."""

    disclosure: Annotated[dict[Id, Sent], about("Requests by the watermark on their sheets.")]
