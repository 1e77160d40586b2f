"""An invoice from a file: TOML as we write it, or CSV with one row for each line or charge."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Iterator, Mapping
from decimal import Decimal, InvalidOperation
from typing import Any

import tomli

from ferrule.model.currencies import MINOR_UNITS
from ferrule.model.invoice import Invoice, InvoiceCharge, InvoiceLine
from ferrule.model.text import nearest

__all__ = ["read_invoice"]

_HEAD = ("number", "seller", "date", "ordered", "currency")
_LINE, _CHARGE = ("part", "order", "qty", "each"), ("charge", "amount")
_MOST = Decimal(10) ** 15


def read_invoice(name: str, data: bytes) -> tuple[Invoice | None, list[str]]:
    """Return the invoice of a file, and everything wrong with it in words; None where there is anything."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return None, [f"{name} is not UTF-8; save it as UTF-8"]
    reader = _Reader(name)
    invoice = reader.csv(text) if name.lower().endswith(".csv") else reader.toml(text)
    return (None, reader.faults) if reader.faults else (invoice, [])


class _Reader:
    """Reads one file; collects what is wrong."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.faults: list[str] = []

    def toml(self, text: str) -> Invoice | None:
        try:
            tree = tomli.loads(text, parse_float=Decimal)
        except ValueError as error:
            self.faults.append(f"{self.name}: {error}")
            return None
        self._known(tree, ("invoice", "line", "charge"), "the file")
        head = self._table(tree.get("invoice"), "[invoice]")
        self._known(head, _HEAD, "[invoice]")
        lines = [self._line(row, where) for where, row in self._rows(tree, "line", _LINE)]
        charges = [self._charge(row, where) for where, row in self._rows(tree, "charge", ("name", "amount"))]
        return self._invoice(head, lines, charges)

    def _rows(
        self, tree: Mapping[str, Any], table: str, keys: tuple[str, ...]
    ) -> Iterator[tuple[str, Mapping[str, Any]]]:
        rows = tree.get(table, [])
        if not isinstance(rows, list):
            self.faults.append(f"{self.name}: write each {table} as [[{table}]]")
            return
        for number, row in enumerate(rows, 1):
            where = f"{table} {number}"
            found = self._table(row, where)
            self._known(found, keys, where)
            yield where, found

    def csv(self, text: str) -> Invoice | None:
        rows = csv.DictReader(io.StringIO(text))
        heads = [head.strip() for head in rows.fieldnames or ()]
        self._known(dict.fromkeys(heads), (*_HEAD, *_LINE, *_CHARGE), "the heading")
        lines, charges, head = [], [], dict[str, Any]()
        for row in rows:
            where = f"row {rows.line_num}"
            said = {
                str(key).strip(): value.strip()
                for key, value in row.items()
                if isinstance(value, str) and value.strip()
            }
            for key in _HEAD:
                if key in said and head.setdefault(key, said[key]) != said[key]:
                    self.faults.append(
                        f"{self.name}: {where} says {key} {said[key]}, a row above {head[key]}"
                    )
            if "charge" in said:
                charges.append(self._charge({**said, "name": said["charge"]}, where))
            elif set(said) & set(_LINE):
                lines.append(self._line(said, where))
        return self._invoice(head, lines, charges)

    def _table(self, value: Any, where: str) -> Mapping[str, Any]:
        if isinstance(value, dict):
            return value
        self.faults.append(f"{self.name}: {where} is missing")
        return {}

    def _known(self, table: Mapping[str, Any], keys: tuple[str, ...], where: str) -> None:
        for key in table:
            if key not in keys:
                best = nearest(key, list(keys))
                self.faults.append(
                    f"{self.name}: {where} has no {key!r}" + (f"; did you mean {best!r}?" if best else "")
                )

    def _invoice(
        self, head: Mapping[str, Any], lines: list[InvoiceLine], charges: list[InvoiceCharge]
    ) -> Invoice | None:
        currency = self._text(head, "currency", "[invoice]")
        if currency and currency not in MINOR_UNITS:
            self.faults.append(f"{self.name}: {currency} is no currency of ISO 4217")
        found = Invoice(
            number=self._text(head, "number", "[invoice]"),
            seller=self._text(head, "seller", "[invoice]"),
            date=self._day(head, "date") or dt.date.min,
            currency=currency,
            ordered=self._day(head, "ordered") if "ordered" in head else None,
            lines=tuple(lines),
            charges=tuple(charges),
        )
        if not lines and not charges:
            self.faults.append(f"{self.name} has no line and no charge")
        return found

    def _line(self, row: Mapping[str, Any], where: str) -> InvoiceLine:
        return InvoiceLine(
            part=self._text(row, "part", where),
            qty=self._number(row, "qty", where),
            each=self._number(row, "each", where),
            order=str(row.get("order", "")),
        )

    def _charge(self, row: Mapping[str, Any], where: str) -> InvoiceCharge:
        return InvoiceCharge(name=self._text(row, "name", where), amount=self._number(row, "amount", where))

    def _text(self, table: Mapping[str, Any], key: str, where: str) -> str:
        value = table.get(key)
        if isinstance(value, str) and value.strip():
            return value.strip()
        self.faults.append(f"{self.name}: {where} does not say {key}")
        return ""

    def _day(self, table: Mapping[str, Any], key: str) -> dt.date | None:
        value = table.get(key)
        if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
            return value
        try:
            return dt.date.fromisoformat(value if isinstance(value, str) and len(value) == 10 else "")
        except ValueError:
            self.faults.append(f"{self.name}: {key} {value!r} is no date; write it as 2026-10-01")
            return None

    def _number(self, table: Mapping[str, Any], key: str, where: str) -> Decimal:
        value = table.get(key)
        try:
            plain = value if isinstance(value, str) else str(value)
            number = Decimal(plain) if value is not None and not isinstance(value, bool) else None
        except InvalidOperation:
            number = None
        if number is None or not number.is_finite() or not 0 <= number < _MOST:
            said = "does not say" if value is None else f"has {value!r} as"
            self.faults.append(f"{self.name}: {where} {said} {key}; write a number such as 12.50")
            return Decimal(0)
        return number
