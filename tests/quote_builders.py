"""Requests for quotes made and answered in tests: packs written, sheets filled as a firm would, answers read."""

from __future__ import annotations

import csv
import io
import shutil
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path

from answers import EXAMPLE
from builders import TODAY
from ferrule.app.quoting import Packed, Wish, pack, write_pack
from ferrule.app.quoting_read import ReadQuote, open_answer
from ferrule.source.products import open_products

__all__ = ["FILL", "Row", "copied", "filled", "pack_bytes", "packed", "read", "sent", "sheet_rows", "written"]

Row = dict[str, str]
#: What a firm fills beside its prices.
FILL = {"valid until": "2027-01-31", "quote date": "2026-11-26", "lead time": "10 weeks"}
NOT_ASKED = "no price asked"


def copied(folder: Path, edits: Mapping[str, tuple[str, str]] | None = None) -> Path:
    """Return a copy of the example product without its requests, with texts replaced in some files."""
    shutil.copytree(EXAMPLE, folder, symlinks=True)
    shutil.rmtree(folder / "disclosures", ignore_errors=True)
    for name, (old, new) in (edits or {}).items():
        text = (folder / name).read_text("utf-8")
        assert old in text
        (folder / name).write_text(text.replace(old, new), "utf-8")
    return folder


def written(folder: Path, files: Mapping[str, str]) -> Path:
    """Return a folder with these files."""
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, "utf-8")
    return folder


def packed(product: Path, recipient: str, **wish: object) -> Packed:
    """Return the request for a firm as of the day of the tests."""
    return pack(open_products(product)[0].read(), Wish(recipient=recipient, today=TODAY, **wish))  # type: ignore[arg-type]


def sent(product: Path, recipient: str, to: Path, **wish: object) -> Path:
    """Write the request for a firm and return its folder."""
    write_pack(packed(product, recipient, **wish), to, product)
    return to


def pack_bytes(folder: Path) -> bytes:
    """Return everything a pack holds: names, contents, and the parts of workbooks unzipped."""
    found = []
    for path in sorted(folder.rglob("*")):
        found += [path.name.encode(), path.read_bytes()]
        if path.suffix == ".xlsx":
            with zipfile.ZipFile(path) as book:
                found += [part for name in book.namelist() for part in (name.encode(), book.read(name))]
    return b"\n".join(found)


def sheet_rows(folder: Path) -> list[Row]:
    """Return the rows of the CSV in a pack."""
    path = next(folder.glob("request-*.csv"))
    return list(csv.DictReader(io.StringIO(path.read_bytes().decode("utf-8-sig"))))


def filled(folder: Path, price: Callable[[int, int], str], **fill: str) -> list[Row]:
    """Return the rows with every price asked filled: by row, counted from 0, and column of quantities."""
    rows = sheet_rows(folder)
    for at, row in enumerate(rows):
        prices = [heading for heading in row if heading.startswith("price of one")]
        if row[prices[0]] != NOT_ASKED:
            row.update({heading: price(at, column) for column, heading in enumerate(prices)})
            row.update(FILL | {key.replace("_", " "): value for key, value in fill.items()})
    return rows


def csv_text(rows: list[Row], delimiter: str = ",") -> str:
    """Return rows as CSV, in the order of columns of the first."""
    buffer = io.StringIO()
    writer = csv.DictWriter(buffer, list(rows[0]), delimiter=delimiter, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return buffer.getvalue()


def read(product: Path, answer: Path, recipient: str | None = None) -> ReadQuote:
    """Return an answer read against a product on disk."""
    return open_answer(open_products(product)[0].read(), answer, TODAY, product, recipient=recipient)
