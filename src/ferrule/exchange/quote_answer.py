"""Answers to requests: a returned sheet matched to what was sent, line by line, and all that differs listed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct

from ferrule.exchange.cells import DecimalMark, decimal_mark
from ferrule.exchange.grid import BLANK, Book, Cell, Grid, SheetRefused
from ferrule.exchange.quote_columns import FILLED, LINE, SHEET, heading_key, quantity_in
from ferrule.exchange.quote_line import read_line
from ferrule.model.answers import Answer, AnswerLine, Difference
from ferrule.model.records.disclosures import Sent, SentLine
from ferrule.model.text import quoted

__all__ = ["read_answer"]

_Sents = Mapping[str, Sent]


class _Found(Struct, frozen=True):
    """Where a sheet's headings stand, and under which column each lies."""

    grid: Grid
    head: int
    columns: Mapping[str, int]
    doubled: tuple[str, ...]

    def rows(self) -> Iterator[tuple[int, tuple[Cell, ...]]]:
        """Yield the rows below the headings with the numbers a reader sees."""
        yield from list(zip(self.grid.numbers, self.grid.rows, strict=True))[self.head + 1 :]


def read_answer(book: Book, sents: _Sents, today: dt.date, *, recipient: str | None = None) -> Answer:
    """Return an answer matched to the request it answers; raises SheetRefused where it answers none of ours.

    The request is the one whose line ids the sheet has, and among several of one recipient the one whose mark
    stands on the sheet, else the latest. With ``recipient`` only what was sent to it counts.
    """
    found = _headings(book)
    ids = {_id(row, found) for _, row in found.rows()} - {""}
    marks = {_text(row, found.columns.get(SHEET)) for _, row in found.rows()} - {""}
    watermark = _request(sents, ids, marks, recipient)
    sent = sents[watermark]
    differences = [*_sheet_marks(watermark, marks, sents), *_columns(found, sent)]
    lines, told = _lines(found, sent, sents, today)
    return Answer(
        file=book.file,
        form=book.form,
        watermark=watermark,
        recipient=sent.recipient,
        assembly=sent.assembly,
        quantities=sent.quantities,
        lines=tuple(lines),
        differences=(*differences, *told),
        notes=(*book.notes, *(f"sheet {name!r} was not read: {why}" for name, why in book.aside)),
    )


def _headings(book: Book) -> _Found:
    for grid in book.grids:
        for at, row in enumerate(grid.rows[:200]):
            names = [_heading(cell) for cell in row]
            if LINE in names:
                columns: dict[str, int] = {}
                doubled = []
                for column, name in enumerate(names):
                    if name and name in columns:
                        doubled.append(name)
                    elif name:
                        columns[name] = column
                return _Found(grid, at, columns, tuple(doubled))
    raise SheetRefused(
        f"{quoted(book.file)} has no column headed {quoted(LINE)}",
        "it is no sheet of ours, or the heading was changed; put it back, the rest is found by it",
    )


def _heading(cell: Cell) -> str:
    known = quantity_in(cell.text)
    return f"{known[0]} {known[1]}" if known else heading_key(cell.text)


def _text(row: Sequence[Cell], column: int | None) -> str:
    return row[column].text if column is not None and column < len(row) else ""


def _id(row: Sequence[Cell], found: _Found) -> str:
    return _text(row, found.columns[LINE]).upper()


# --- which request ---------------------------------------------------------------------------------------


def _request(sents: _Sents, ids: set[str], marks: set[str], recipient: str | None) -> str:
    ranked = sorted(
        (
            (len(ids & {line.id for line in sent.line}), mark in marks, sent.sent, mark)
            for mark, sent in sents.items()
            if recipient is None or sent.recipient == recipient
        ),
        reverse=True,
    )
    if not ranked or not ranked[0][0]:
        hint = "pass the sheet that was sent, with its column of line ids as it was"
        raise SheetRefused("no line of it was ever sent out by us", hint)
    best = ranked[0]
    owner = sents[best[3]].recipient
    # among requests to the same firm the mark on the sheet decides, as a shorter later one has fewer lines
    same = [each for each in ranked if each[1] and sents[each[3]].recipient == owner and each[0]]
    return (same or [best])[0][3]


def _sheet_marks(watermark: str, marks: set[str], sents: _Sents) -> Iterator[Difference]:
    for mark in sorted(marks - {watermark}):
        whose = f", which was sent to {sents[mark].recipient}" if mark in sents else ", which we never made"
        yield Difference(kind="other sheet", words=f"the sheet is marked {quoted(mark)}{whose}")
    if watermark not in marks:
        yield Difference(
            kind="other sheet", words=f"the mark of the sheet that was sent, {watermark}, is not on it"
        )


def _columns(found: _Found, sent: Sent) -> Iterator[Difference]:
    row = found.grid.numbers[found.head]
    for name in found.doubled:
        yield Difference(
            kind="not read", row=row, words=f"two columns are headed {quoted(name)}; the first counts"
        )
    for qty in sent.quantities:
        if f"price {qty}" not in found.columns:
            yield Difference(kind="not read", row=row, words=f"the column for the price at {qty:,} is gone")
    wanted = {each.heading for each in FILLED} | {LINE, SHEET}
    wanted |= {heading_key(heading) for line in sent.line for heading in line.shown}
    for name in found.columns:
        if name.startswith("price "):
            if int(name.split()[1]) not in sent.quantities:
                yield Difference(
                    kind="not asked", row=row, words=f"a price at {name.split()[1]} was not asked"
                )
        elif not name.startswith("amount ") and name not in wanted:
            yield Difference(
                kind="not asked", row=row, words=f"a column {quoted(name)} was added and is not read"
            )


# --- lines -----------------------------------------------------------------------------------------------


def _lines(
    found: _Found, sent: Sent, sents: _Sents, today: dt.date
) -> tuple[list[AnswerLine], list[Difference]]:
    known = {line.id: line for line in sent.line}
    mark = _mark(found)
    rows: dict[str, list[tuple[int, tuple[Cell, ...]]]] = {}
    told: list[Difference] = []
    for number, row in found.rows():
        ident = _id(row, found)
        if ident in known:
            rows.setdefault(ident, []).append((number, row))
        elif ident:
            told.append(_unknown(ident, number, sent, sents))
        elif any(cell for cell in row):
            words = "; ".join(cell.text for cell in row if cell)
            told.append(
                Difference(kind="added row", row=number, words=f"a row without a line id: {quoted(words)}")
            )
    lines = []
    for line in sent.line:
        line_read, differences = _line(line, rows.get(line.id, []), found, sent, mark=mark, today=today)
        lines.append(line_read)
        told += differences
    return lines, told


def _mark(found: _Found) -> DecimalMark:
    columns = [
        at for name, at in found.columns.items() if name.startswith("price ") or name == "one-off charge"
    ]
    return decimal_mark(
        row[at].text for _, row in found.rows() for at in columns if at < len(row) and row[at].number is None
    )


def _unknown(ident: str, row: int, sent: Sent, sents: _Sents) -> Difference:
    owners = sorted(
        {other.recipient for other in sents.values() if any(line.id == ident for line in other.line)}
    )
    if owners and owners != [sent.recipient]:
        words = f"{quoted(ident)} was sent to {owners[0]}, not to {sent.recipient}"
    elif owners:
        words = f"{quoted(ident)} is of another request to {sent.recipient}"
    else:
        words = f"{quoted(ident)} was never sent out by us"
    return Difference(kind="unknown line", row=row, line=ident[:64], words=words)


def _line(  # noqa: PLR0913  a line and all it is read against
    line: SentLine,
    rows: Sequence[tuple[int, tuple[Cell, ...]]],
    found: _Found,
    sent: Sent,
    *,
    mark: DecimalMark,
    today: dt.date,
) -> tuple[AnswerLine, list[Difference]]:
    if not rows:
        read, _ = read_line(line, 0, {}, sent, mark=mark, today=today)
        gone = Difference(
            kind="line gone", line=line.id, part=line.part, words="the line is not in the answer"
        )
        return read, [gone]
    each = [read_line(line, number, _cells(row, found), sent, mark=mark, today=today) for number, row in rows]
    read, differences = each[0]
    if len(each) == 1:
        return read, differences
    numbers = ", ".join(str(number) for number, _ in rows)
    same = all(other.prices == read.prices and other.currency == read.currency for other, _ in each)
    words = f"the line stands in rows {numbers}"
    if not same:
        words += " with different prices, of which none counts"
        read, _ = read_line(line, rows[0][0], {}, sent, mark=mark, today=today)
    differences.append(
        Difference(kind="repeated line", row=rows[1][0], line=line.id, part=line.part, words=words)
    )
    return read, differences


def _cells(row: Sequence[Cell], found: _Found) -> dict[str, Cell]:
    return {name: row[at] if at < len(row) else BLANK for name, at in found.columns.items()}
