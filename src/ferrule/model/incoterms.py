"""Delivery terms: the eleven rules of Incoterms 2020 with their named places.

Source: International Chamber of Commerce, Incoterms 2020 (in force 1 January 2020), names and order as on
its wall chart. The chart is no substitute for the rule book; have terms confirmed by a forwarder.
"""

from __future__ import annotations

import re
from typing import Any

from msgspec import Struct

from ferrule.model.bad_value import BadValue
from ferrule.model.text import nearest, quoted
from ferrule.model.value import Value

__all__ = ["EXAMPLES", "PATTERN", "RULES", "Incoterm", "IncotermRule", "parse_incoterm"]


class IncotermRule(Struct, frozen=True):
    """One rule: its name, whether it is for sea and inland waterway only, and what its place names."""

    name: str
    water_only: bool
    place: str


RULES: dict[str, IncotermRule] = {
    "EXW": IncotermRule("Ex Works", water_only=False, place="place of delivery"),
    "FCA": IncotermRule("Free Carrier", water_only=False, place="place of delivery"),
    "CPT": IncotermRule("Carriage Paid To", water_only=False, place="place of destination"),
    "CIP": IncotermRule("Carriage and Insurance Paid To", water_only=False, place="place of destination"),
    "DAP": IncotermRule("Delivered at Place", water_only=False, place="place of destination"),
    "DPU": IncotermRule("Delivered at Place Unloaded", water_only=False, place="place of destination"),
    "DDP": IncotermRule("Delivered Duty Paid", water_only=False, place="place of destination"),
    "FAS": IncotermRule("Free Alongside Ship", water_only=True, place="port of shipment"),
    "FOB": IncotermRule("Free on Board", water_only=True, place="port of shipment"),
    "CFR": IncotermRule("Cost and Freight", water_only=True, place="port of destination"),
    "CIF": IncotermRule("Cost, Insurance and Freight", water_only=True, place="port of destination"),
}
PATTERN = r"^(EXW|FCA|CPT|CIP|DAP|DPU|DDP|FAS|FOB|CFR|CIF)( .+)?$"
EXAMPLES = ("FCA Port Halden", "DAP Wexmouth warehouse")
#: Rules of earlier editions → their successor in 2020.
_EARLIER = {"DAT": "DPU", "DAF": "DAP", "DDU": "DAP", "DES": "DAP", "DEQ": "DPU"}
_WRITTEN = re.compile(r"([A-Za-z]+)(?: (\S[^\x00-\x1f\x7f\u2028\u2029]*))?")


class Incoterm(Value):
    """A rule and its named place; the place is empty where none is written."""

    rule: str
    place: str = ""

    def __str__(self) -> str:
        return f"{self.rule} {self.place}".rstrip()


def parse_incoterm(written: Any) -> Incoterm:
    """Return the delivery term that is written; raises BadValue."""
    found = _WRITTEN.fullmatch(written) if isinstance(written, str) else None
    if found is None:
        raise BadValue(f"{quoted(written)} is not a delivery term", EXAMPLES)
    if found[1] not in RULES:
        best = _EARLIER.get(found[1].upper()) or nearest(found[1].upper(), RULES)
        forms = (f"{best} {found[2] or 'named place'}",) if best else EXAMPLES
        raise BadValue(f"{quoted(found[1])} is no rule of Incoterms 2020", forms)
    return Incoterm(found[1], (found[2] or "").strip())
