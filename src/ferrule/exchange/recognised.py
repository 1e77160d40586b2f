"""What was recognised in a file: lines and where each stands, what was doubted, missing and set aside, and counts.

A writer needs nothing else: cells are read, but their written texts stay beside them.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any, Literal

from msgspec import Struct

from ferrule.exchange.cells import Amount, Places, Price
from ferrule.exchange.headings import Column, saved_mapping
from ferrule.exchange.rows import Kind

__all__ = ["Aside", "Cost", "Counts", "Doubt", "Line", "Place", "Recognised", "Stated", "Supply", "TableRead"]


class Place(Struct, frozen=True):
    """Where something stands. ``row`` is the one a spreadsheet shows, or the line of a text file."""

    file: str
    sheet: str
    row: int

    def __str__(self) -> str:
        sheet = f"{self.sheet}, " if self.sheet else ""
        return f"{self.file}: {sheet}row {self.row}"


class Doubt(Struct, frozen=True, kw_only=True):
    """Something a person should look at. Without a place it is about the whole file; ``column`` has letters."""

    what: str
    place: Place | None = None
    column: str = ""
    about: str = ""


class Supply(Struct, frozen=True, kw_only=True):
    """One way to get a part, as far as the file says it; empty texts are unknown.

    ``kind`` is "any" where any maker will do, "drawing" where it is made to our drawing; ``named`` is what the
    maker's cell says then. ``breaks`` are all prices with the quantity each is good from, where the file has
    several columns of prices. ``alternates`` are further maker's numbers of the same cell or its notes.
    """

    place: Place
    maker: str = ""
    maker_part: str = ""
    seller: str = ""
    seller_part: str = ""
    link: str = ""
    kind: Literal["", "any", "drawing"] = ""
    named: str = ""
    price: Price | None = None
    breaks: tuple[Price, ...] = ()
    pack_price: Price | None = None
    pack_size: Amount | None = None
    moq: Amount | None = None
    multiple: Amount | None = None
    lead_time: str = ""
    alternates: tuple[str, ...] = ()

    def each(self) -> Fraction | None:
        """Return the price of one piece, exactly: from a unit price, or a pack's price and size; else None."""
        if self.price is not None and self.price.amount is not None:
            return Fraction(self.price.amount) / Fraction(self.price.per)
        pack = self.pack_price
        if pack is None or pack.amount is None:
            return None
        size = pack.per if pack.per != 1 else self.pack_size.number if self.pack_size else None
        return Fraction(pack.amount) / Fraction(size) if size else None

    @property
    def currency(self) -> str:
        """The currency of its price, empty where none is said."""
        return next(
            (price.currency for price in (self.price, self.pack_price) if price and price.amount is not None),
            "",
        )


class Line(Struct, frozen=True, kw_only=True):
    """One part line. ``parent`` is the index of the line it is part of; ``assembly`` that others are part of it.

    ``quantity`` is what the cell says; ``unit`` what a unit column says. ``supplies`` has the row's own first,
    then those of other columns and of the rows below that only give another source. ``fitted`` is None where a
    column of marks leaves it open. ``extra`` holds the cells of columns without a meaning, by heading.
    """

    place: Place
    table: int
    item: str = ""
    part: str = ""
    name: str = ""
    value: str = ""
    footprint: str = ""
    designators: Places = Places()
    quantity: Amount = Amount()
    unit: str = ""
    fitted: bool | None = True
    level: int | None = None
    parent: int | None = None
    assembly: bool = False
    section: str = ""
    category: str = ""
    material: str = ""
    revision: str = ""
    note: str = ""
    supplies: tuple[Supply, ...] = ()
    line_total: Price | None = None
    alternates: tuple[str, ...] = ()
    extra: tuple[tuple[str, str], ...] = ()

    @property
    def differs(self) -> bool:
        """Whether it has designators and a quantity in pieces, and they do not agree."""
        return (
            bool(self.designators.written)
            and self.quantity.plain
            and len(self.designators.names) != self.quantity.number
        )


class Aside(Struct, frozen=True, kw_only=True):
    """A row that is no part line: what it is, its text, and why."""

    place: Place
    kind: Kind | Literal["above"]
    text: str
    why: str = ""


class Stated(Struct, frozen=True, kw_only=True):
    """A total that the file states, and what its lines come to.

    ``scope`` says which lines; ``computed`` is None where nothing comparable was read. For a cost it is
    quantity times price, and ``by_line_totals`` the sum of the written line totals.
    """

    place: Place
    label: str
    amount: Decimal
    of: Literal["cost", "quantity", "lines", "charge"]
    scope: str = ""
    computed: Fraction | None = None
    by_line_totals: Fraction | None = None
    agrees: bool | None = None


class Cost(Struct, frozen=True, kw_only=True):
    """What the priced lines come to in one currency (empty: none said)."""

    currency: str
    by_price: Fraction
    by_line_totals: Fraction | None
    priced: int


class Counts(Struct, frozen=True, kw_only=True):
    """What to reconcile. Tuples hold indexes of lines; None says that the file has no such column.

    ``quantity`` is the sum of the quantity cells as written that are plain numbers (of pieces), without
    multiplying down levels; ``left_out`` are the lines whose cell is another amount (``10cm``), ``unread``
    those with none. ``without_either`` name no maker and no seller, ``without_source`` no link either; any
    maker and our own drawing count as a maker said.
    """

    lines: int
    assemblies: int
    not_fitted: int
    sources: int
    quantity: Decimal
    leaf_quantity: Decimal
    fitted_quantity: Decimal
    left_out: tuple[int, ...]
    unread: tuple[int, ...]
    differ: tuple[int, ...]
    without_maker: tuple[int, ...] | None
    without_seller: tuple[int, ...] | None
    without_link: tuple[int, ...] | None
    without_either: tuple[int, ...] | None
    without_source: tuple[int, ...]
    unpriced: tuple[int, ...] | None
    any_maker: int
    to_drawing: int
    costs: tuple[Cost, ...]
    repeated_places: tuple[str, ...] = ()

    @property
    def leaves(self) -> int:
        """Lines that no other line is part of."""
        return self.lines - self.assemblies


class TableRead(Struct, frozen=True, kw_only=True):
    """A table: where its headings stand (no rows: it has none), its columns, and what tells its levels."""

    sheet: str
    title: str
    heading_rows: tuple[int, ...]
    columns: tuple[Column, ...]
    lines: int
    levels: str = ""
    decimal_mark: str = ""


class Recognised(Struct, frozen=True, kw_only=True):
    """One file recognised. ``missing`` names what no line says at all: source, lead time, moq, price."""

    file: str
    form: str
    notes: tuple[str, ...]
    tables: tuple[TableRead, ...]
    lines: tuple[Line, ...]
    aside: tuple[Aside, ...]
    sheets_aside: tuple[tuple[str, str], ...]
    stated: tuple[Stated, ...]
    doubts: tuple[Doubt, ...]
    missing: tuple[tuple[str, int], ...]
    counts: Counts

    def mapping(self) -> dict[str, Any]:
        """Return the meaning of every column as plain data, to be shown, edited, saved and given again."""
        return saved_mapping((table.sheet, table.columns) for table in self.tables)
