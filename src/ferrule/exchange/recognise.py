"""A file of any make recognised as a list of parts: sheets, tables, columns, rows and cells put together.

What this does not do: it reads no table that is turned on its side, no picture and no PDF; it runs no formula
and no macro; it does not decide whether two lists of one file are the same list twice (it says so); it takes a
heading's word over a likely content only where both fit; and it writes nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from msgspec import Struct, field, structs

from ferrule.exchange.cells import Amount, DecimalMark, decimal_mark, is_not_fitted
from ferrule.exchange.doubts import missing_of, once, twins
from ferrule.exchange.grid import BLANK, Book, Cell, Grid
from ferrule.exchange.heading_words import heading_meanings
from ferrule.exchange.headings import Column, Wanted, map_columns, wanted_mapping
from ferrule.exchange.levels import Levels, find_levels, parents_of
from ferrule.exchange.lines import Draft, index_of, joined, make_line
from ferrule.exchange.profiles import is_numberish, profile
from ferrule.exchange.recognised import Aside, Doubt, Line, Place, Recognised, TableRead
from ferrule.exchange.reconcile import StatedRow, check_stated, count_lines
from ferrule.exchange.rows import Row, RowCells, classify, has_counted_names, total_label
from ferrule.exchange.sheets import read_book
from ferrule.exchange.staircase import as_indented
from ferrule.exchange.tables import Area, areas_of, cell_at
from ferrule.model.text import quoted, visible

__all__ = ["recognise"]

_SHOWN = 200
_MARK_SAMPLE = 3000
_MERGED_MOST = 100_000
_IDENTITY = frozenset({"part", "name", "value", "maker_part", "seller_part", "designators"})
_COUNTED = frozenset(
    {"quantity", "designators", "price", "pack_price", "line_total", "maker_part", "seller_part", "link"}
)


class _Table(Struct, kw_only=True):
    """One table on its way: its grid, where it is, what its columns mean and its rows are."""

    grid: Grid
    area: Area
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    mark: DecimalMark

    @property
    def meanings(self) -> frozenset[str]:
        return frozenset(column.meaning for column in self.columns)


class _Work(Struct, kw_only=True):
    """Everything collected over the tables of a file."""

    file: str
    lines: list[Line] = field(default_factory=list)
    aside: list[Aside] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    stated: list[StatedRow] = field(default_factory=list)
    tables: list[TableRead] = field(default_factory=list)
    sheets_aside: list[tuple[str, str]] = field(default_factory=list)
    sources: int = 0
    meanings: set[str] = field(default_factory=set)


def recognise(
    data: bytes,
    file: str,
    *,
    encoding: str | None = None,
    delimiter: str | None = None,
    mapping: Mapping[str, Any] | None = None,
) -> Recognised:
    """Return what a file says about parts. ``mapping`` is a saved one and wins over every guess.

    Raises SheetRefused where the bytes are no table, or the mapping is misspelt. A file without a list of parts
    is no error: it has no lines, and ``sheets_aside`` and ``aside`` say what is in it.
    """
    book = read_book(data, file, encoding=encoding, delimiter=delimiter)
    wanted = wanted_mapping(mapping) if mapping is not None else Wanted()
    work = _Work(file=file, sheets_aside=list(book.aside))
    tables = [table for grid in book.grids for table in _tables(grid, wanted)]
    kept = _kept(tables)
    for table in tables:
        if any(one is table for one in kept):
            _take(table, work)
        else:
            _leave(table, work)
    for grid in book.grids:
        if not any(table.grid.name == grid.name for table in tables):
            work.sheets_aside.append((grid.name, "empty"))
    return _result(book, work)


def _result(book: Book, work: _Work) -> Recognised:
    lines = tuple(work.lines)
    stated = check_stated(work.stated, lines)
    for one in stated:
        if one.agrees is False:
            work.doubts.append(
                Doubt(
                    what=f"{quoted(one.label)} states {one.amount}; the lines come to something else",
                    place=one.place,
                    about=one.of,
                )
            )
    counts = count_lines(lines, work.sources, frozenset(work.meanings))
    _doubt_counts(work, counts.repeated_places)
    return Recognised(
        file=book.file,
        form=book.form,
        notes=book.notes,
        tables=tuple(work.tables),
        lines=lines,
        aside=tuple(work.aside),
        sheets_aside=tuple(work.sheets_aside),
        stated=stated,
        doubts=once(work.doubts),
        missing=missing_of(lines),
        counts=counts,
    )


def _doubt_counts(work: _Work, repeated: Sequence[str]) -> None:
    if repeated:
        work.doubts.append(
            Doubt(
                what=f"designators stand twice in one table: {', '.join(repeated[:20])}", about="designators"
            )
        )
    if not work.lines:
        work.doubts.append(Doubt(what="no list of parts was recognised"))
    work.doubts += twins([table.sheet for table in work.tables], work.lines)


# --- tables ----------------------------------------------------------------------------------------------


def _tables(grid: Grid, wanted: Wanted) -> list[_Table]:
    return [_table(*as_indented(grid, area), wanted) for area in areas_of(grid)]


def _table(grid: Grid, area: Area, wanted: Wanted) -> _Table:
    columns = [
        [cell_at(grid, row, at) for row in area.body] for at in range(area.first_column, area.last_column + 1)
    ]
    mark = _mark(columns)
    mapped = map_columns(
        area.headings,
        [profile(cells, mark) for cells in columns],
        first=area.first_column,
        sheet=grid.name,
        wanted=wanted,
    )
    amounts = [cells for column, cells in zip(mapped, columns, strict=True) if column.meaning in _AMOUNTS]
    mark = _mark(amounts)
    return _Table(grid=grid, area=area, columns=mapped, rows=classify(grid, area, mapped), mark=mark)


_AMOUNTS = frozenset({"quantity", "price", "line_total", "pack_price", "moq", "pack_size"})


def _mark(columns: Sequence[Sequence[Cell]]) -> DecimalMark:
    texts = (
        cell.text
        for cells in columns
        for cell in cells[:_MARK_SAMPLE]
        if cell and cell.number is None and is_numberish(cell)
    )
    return decimal_mark(texts)


def _kept(tables: Sequence[_Table]) -> list[_Table]:
    """Return the tables that list parts; one without headings we know only where nothing else does."""
    likely = [table for table in tables if _lists_parts(table)]
    worded = [table for table in likely if not table.area.contrast]
    counted = [table for table in worded if table.meanings & (_COUNTED - {"link"})]
    return counted or worded or likely


def _lists_parts(table: _Table) -> bool:
    given = any(column.sure == "given" for column in table.columns)
    meanings = table.meanings
    if not any(row.kind == "part" for row in table.rows) or not meanings & (
        _IDENTITY | {"category"} if given else _IDENTITY
    ):
        return False
    if table.area.contrast and not given:
        return bool(meanings & {"quantity", "price", "designators"}) or has_counted_names(
            [row.cells.of("name") for row in table.rows]
        )
    return bool(meanings & _COUNTED) and len(meanings & (_COUNTED | _IDENTITY)) >= 2


def _leave(table: _Table, work: _Work) -> None:
    """List a table that is no list of parts, row by row."""
    grid, area = table.grid, table.area
    for row in (*area.above, *area.heading_rows, *area.body):
        text = joined(cell_at(grid, row, at).text for at in range(area.first_column, area.last_column + 1))
        if text:
            work.aside.append(
                Aside(
                    place=_place(work, grid, row),
                    kind="note",
                    text=visible(text, _SHOWN),
                    why="in a table that lists no parts",
                )
            )
    where = (
        f"row {grid.numbers[(area.heading_rows or area.body)[0]]}" if area.heading_rows or area.body else ""
    )
    work.sheets_aside.append((grid.name, f"the table at {where} lists no parts: {len(area.body)} rows"))


def _place(work: _Work, grid: Grid, row: int) -> Place:
    return Place(work.file, grid.name, grid.numbers[row])


# --- one table -------------------------------------------------------------------------------------------


def _take(table: _Table, work: _Work) -> None:
    index = len(work.tables)
    start = len(work.lines)
    work.meanings |= table.meanings
    _take_above(table, work)
    drafts = _drafts(table, work, index)
    index_by = index_of(table.columns)
    lines = [make_line(draft, table.columns, index_by, table.mark, work.doubts) for draft in drafts]
    lines = _counted_by_places(table, work, lines)
    levels = _levels(table, drafts)
    work.lines += _with_levels(lines, levels, start)
    for at, what in levels.doubts:
        work.doubts.append(Doubt(what=what, place=lines[at].place if lines else None, about="level"))
    _doubt_columns(table, work)
    grid = table.grid
    work.tables.append(
        TableRead(
            sheet=grid.name,
            title=table.area.title,
            heading_rows=tuple(grid.numbers[row] for row in table.area.heading_rows),
            columns=table.columns,
            lines=len(lines),
            levels=levels.told_by,
            decimal_mark=table.mark,
        )
    )


def _take_above(table: _Table, work: _Work) -> None:
    """List the rows above the headings, and take the totals they state."""
    grid = table.grid
    for row in table.area.above:
        cells = [cell for cell in grid.rows[row] if cell]
        place = _place(work, grid, row)
        work.aside.append(
            Aside(
                place=place,
                kind="above",
                text=visible(joined(cell.text for cell in cells), _SHOWN),
                why="above the headings",
            )
        )
        if len(cells) == 2 and is_numberish(cells[1]):
            filled = tuple(at for at, cell in enumerate(grid.rows[row]) if cell)
            label = total_label(RowCells(row=row, cells=grid.rows[row], by={}, filled=filled))
            if label:
                work.stated.append(
                    StatedRow(
                        place=place,
                        label=label,
                        cells=(("", cells[1]),),
                        before=len(work.lines),
                        table=None,
                        mark=table.mark,
                    )
                )


def _drafts(table: _Table, work: _Work, index: int) -> list[Draft]:
    """Return the part rows of a table with what belongs to them; the other rows are listed."""
    drafts: list[Draft] = []
    section, not_fitted = "", False
    down = _merged_down(table)
    for row in table.rows:
        place = _place(work, table.grid, row.cells.row)
        if row.kind == "part":
            drafts.append(
                Draft(
                    place=place,
                    table=index,
                    row=row.cells,
                    section=section,
                    section_not_fitted=not_fitted,
                    filled_down=down.get(row.cells.row, {}),
                    doubt=row.doubt,
                )
            )
            continue
        text = joined(cell.text for cell in row.cells.cells)
        if row.doubt:
            work.doubts.append(
                Doubt(what=f"row taken as {row.kind}: {row.doubt}", place=place, about=row.kind)
            )
        work.aside.append(Aside(place=place, kind=row.kind, text=visible(text, _SHOWN), why=row.why))
        if row.kind == "section":
            section, not_fitted = text, is_not_fitted(text)
        elif row.kind == "total":
            numbers = tuple(
                (table.columns[at].meaning, row.cells.cells[at])
                for at in row.cells.filled
                if is_numberish(row.cells.cells[at])
            )
            label = total_label(row.cells)
            work.stated.append(
                StatedRow(
                    place=place,
                    label=label,
                    cells=numbers or _in_label(label),
                    before=len(work.lines) + len(drafts),
                    table=index,
                    mark=table.mark,
                )
            )
        elif drafts and row.kind == "source":
            drafts[-1].sources.append((place, row.cells))
            work.sources += 1
        elif drafts and row.kind == "more":
            _go_on(drafts[-1], table, row)
    return drafts


def _in_label(label: str) -> tuple[tuple[str, Cell], ...]:
    """Return the number that stands in one cell with its label: ``Total: 74``."""
    _, _, behind = label.partition(":")
    cell = Cell(behind.strip())
    return (("", cell),) if behind.strip() and is_numberish(cell) else ()


def _go_on(draft: Draft, table: _Table, row: Row) -> None:
    place = row.cells.filled[0]
    text = row.cells.cells[place].text
    (draft.more_places if table.columns[place].meaning == "designators" else draft.more_notes).append(text)


def _merged_down(table: _Table) -> dict[int, dict[int, Cell]]:
    """Return for rows below the first of a merged range the value that stands in it, by place in the table."""
    found: dict[int, dict[int, Cell]] = {}
    first_column = table.area.first_column
    done = 0
    for first, column, last, _ in table.grid.merged:
        if last == first or not first_column <= column <= table.area.last_column:
            continue
        done += last - first
        if done > _MERGED_MOST:
            break
        cell = cell_at(table.grid, first, column) if first < len(table.grid.rows) else BLANK
        for row in range(first + 1, last + 1):
            found.setdefault(row, {})[column - first_column] = cell
    return found


def _counted_by_places(table: _Table, work: _Work, lines: list[Line]) -> list[Line]:
    """Return the lines with their designators counted where the table has no column of quantities."""
    if "quantity" in table.meanings or "designators" not in table.meanings or not lines:
        return lines
    work.doubts.append(
        Doubt(
            what="no column of quantities: the designators were counted",
            place=lines[0].place,
            about="quantity",
        )
    )
    return [
        structs.replace(line, quantity=Amount(number=Decimal(len(line.designators.names))))
        if line.designators.names
        else line
        for line in lines
    ]


def _doubt_columns(table: _Table, work: _Work) -> None:
    place = _place(work, table.grid, (table.area.heading_rows or table.area.body or (0,))[0])
    if not table.area.heading_rows:
        work.doubts.append(
            Doubt(what="no row of headings: the columns were told by their cells only", place=place)
        )
    elif table.area.contrast:
        work.doubts.append(
            Doubt(
                what="none of the headings is known: the columns were told by their cells only", place=place
            )
        )
    for column in table.columns:
        if column.sure == "guess":
            what = f"{quoted(column.heading) if column.heading else 'the column'} was taken as {column.meaning}, {column.why}"
            work.doubts.append(Doubt(what=what, place=place, column=column.letters, about=column.meaning))
        work.doubts += _unused(column, place)
        if column.doubt:
            work.doubts.append(
                Doubt(what=column.doubt, place=place, column=column.letters, about=column.meaning)
            )
    if not table.meanings & {"quantity", "designators"}:
        work.doubts.append(
            Doubt(what="no column of quantities was recognised", place=place, about="quantity")
        )
    if not table.meanings & (_IDENTITY - {"designators"}):
        work.doubts.append(
            Doubt(what="no column that names the parts was recognised", place=place, about="name")
        )
    if not table.meanings & {"maker", "seller"}:
        work.doubts.append(
            Doubt(what="no column of makers or sellers was recognised", place=place, about="maker")
        )


def _unused(column: Column, place: Place) -> Iterator[Doubt]:
    """Yield a doubt on a column whose heading says what its cells, or another column, speak against."""
    words = heading_meanings(column.heading)
    means = max(words, key=lambda name: words[name]) if words else "other"
    if column.meaning != "other" or means == "other" or words[means] < 1.5 or column.why == "empty":
        return
    what = (
        f"{quoted(column.heading)} was not used as {means}: its cells do not fit, or another column was taken"
    )
    yield Doubt(what=what, place=place, column=column.letters, about=means)


# --- levels ----------------------------------------------------------------------------------------------


def _levels(table: _Table, drafts: Sequence[Draft]) -> Levels:
    if not drafts:
        return Levels()
    rows = [draft.row for draft in drafts]

    def column(meaning: str) -> list[Cell]:
        return [row.of(meaning) for row in rows]

    texts = [column(name) for name in ("item", "part", "name", "maker_part", "value")]
    outline = [table.grid.outline.get(row.row, 0) for row in rows]
    return find_levels(
        column("level"), column("item"), column("part"), [cells for cells in texts if any(cells)], outline
    )


def _with_levels(lines: Sequence[Line], levels: Levels, start: int) -> list[Line]:
    if levels.levels is None:
        return list(lines)
    parents = parents_of(levels.levels)
    above = {parent for parent in parents if parent is not None}
    return [
        structs.replace(
            line,
            level=levels.levels[at],
            parent=None if parents[at] is None else start + (parents[at] or 0),
            assembly=at in above,
        )
        for at, line in enumerate(lines)
    ]
