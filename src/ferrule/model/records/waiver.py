"""Who accepted which finding, why, and until when."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from ferrule.model.number import Count
from ferrule.model.records.about import Id, Record, Text, about
from ferrule.model.serials import Serials

__all__ = ["Waiver", "WaiversFile"]


class Waiver(Record, frozen=True, kw_only=True):
    """A finding accepted with a limit: a last day, a quantity or serials; at least one, always."""

    rule: Annotated[Id, about("Rule whose finding is accepted.", "sole-source")]
    subject: Annotated[Text, about("Record it covers, with all below it, as `check` names it.", "part/U-MCU")]
    kind: Annotated[
        Literal["waiver", "deviation"],
        about("A deviation is agreed before building, a waiver after.", "deviation"),
    ] = "deviation"
    reason: Annotated[Text, about("Why it is accepted.", "only maker with the secured start we need")]
    risk: Annotated[
        str | None, about("What it costs if it goes wrong.", "26 weeks to qualify; 14 weeks of cover")
    ] = None
    risk_owner: Annotated[str | None, about("Who answers for the risk.", "R. Alder")] = None
    accepted_by: Annotated[str | None, about("Who accepted it.", "M. Tarn")] = None
    accepted: Annotated[dt.date | None, about("Day it was accepted.", "2026-10-20")] = None
    until: Annotated[dt.date | None, about("Last day it holds.", "2027-04-30")] = None
    quantity: Annotated[Count | None, about("Units it holds for.", 1500)] = None
    serials: Annotated[Serials | None, about("Serial numbers it holds for.", "1-1500")] = None
    corrective_action: Annotated[str | None, about("What ends it.", "second maker qualified by spring")] = (
        None
    )
    renewals: Annotated[int, about("How often it was renewed.", 0)] = 0


class WaiversFile(Record, frozen=True, kw_only=True):
    """Accepted findings: waivers/*.toml."""

    waiver: Annotated[tuple[Waiver, ...], about("Accepted findings.")]
