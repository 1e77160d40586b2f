"""Text in columns: separated by a mark, or set in fixed widths; which, is judged by how well the rows agree."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator

from msgspec import Struct

from ferrule.exchange.grid import BLANK, Cell, Grid, SheetRefused, make_cell
from ferrule.model.columns import width

__all__ = ["DELIMITERS", "Columns", "read_columns"]

#: Separator → its name.
DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "vertical bar", "^": "caret", "~": "tilde"}
_SAMPLE_LINES = 400
#: Most lines a quoted cell may go over; an opening quote that is never closed would swallow the file.
_LONGEST_QUOTE = 60
_MOST_ROWS = 300_000
_MOST_COLUMNS = 2_000
_LINE_END = re.compile(r"\r\n|\r|\n")
_RULE = re.compile(r"[-=+_|: \t]*[-=_]{2,}[-=+_|: \t]*")
_GAP = re.compile(r" {2,}|\t+")


class Columns(Struct, frozen=True):
    """The sheet of a text file, its separator (empty for fixed widths), how it was found, and doubts."""

    grid: Grid
    delimiter: str
    how: str
    doubts: tuple[str, ...] = ()


def read_columns(text: str, name: str, delimiter: str | None = None) -> Columns:
    """Return the one sheet of a text; ``delimiter`` declares the separator. Raises SheetRefused on bounds."""
    lines = _LINE_END.split(text)
    if len(lines) > _MOST_ROWS:
        raise SheetRefused(f"the file has more than {_MOST_ROWS} lines", "split it")
    skipped = 0
    told = re.fullmatch(r"sep=(.)", lines[0].strip(" \ufeff")) if lines else None
    if told and delimiter is None:
        delimiter, skipped = told[1], 1
        how = "declared in the first line"
    else:
        how = "declared"
    if delimiter is None:
        delimiter, how = _judge(lines), "judged by how well the rows agree"
    if not delimiter:
        return Columns(_fixed(lines, name), "", how)
    rows, doubts = _separated(lines, delimiter, skipped)
    return Columns(_as_grid(rows, name, delimiter), delimiter, how, tuple(doubts))


def _as_grid(rows: list[tuple[int, list[str]]], name: str, delimiter: str) -> Grid:
    known: dict[str, Cell] = {"": BLANK}
    made: list[tuple[Cell, ...]] = []
    for at, (_, fields) in enumerate(rows):
        if len(fields) > _MOST_COLUMNS:
            raise SheetRefused(f"line {rows[at][0]} has more than {_MOST_COLUMNS} columns")
        cells: list[Cell] = []
        for field in fields:
            cell = known.get(field)
            if cell is None:
                cell = known[field] = make_cell(field)
            cells.append(cell)
        made.append(tuple(cells))
    if delimiter == "|":
        made = _without_frame(made)
    return Grid(name=name, rows=tuple(made), numbers=tuple(number for number, _ in rows))


def _without_frame(rows: list[tuple[Cell, ...]]) -> list[tuple[Cell, ...]]:
    """Return rows without the empty columns outside the first and last bar."""
    framed = [row for row in rows if len(row) > 1]
    if framed and all(not row[0] and not row[-1] for row in framed):
        return [row[1:-1] if len(row) > 1 else row for row in rows]
    return rows


# --- which separator -------------------------------------------------------------------------------------


def _judge(lines: list[str]) -> str:
    """Return the likeliest separator, or "" for fixed widths."""
    sample = [line for line in lines if line.strip()][:_SAMPLE_LINES]
    scores = {mark: _agreement(sample, mark) for mark in DELIMITERS}
    best = max(scores, key=lambda mark: scores[mark])
    fixed = _fixed_agreement(sample)
    if fixed > max(scores[best], 0.3) or (fixed > 0.4 and best != "\t" and _gaps_inside(sample, best) > 0.2):
        return ""
    return best if scores[best] > 0 else ","


def _gaps_inside(lines: list[str], mark: str) -> float:
    """Return the share of rows with a cell that has two blanks inside: cells of fixed widths, cut wrongly."""
    rows = _separated(lines, mark, 0)[0]
    gaps = sum(1 for _, fields in rows if any(len(_GAP.split(text.strip())) > 1 for text in fields))
    return gaps / len(rows) if rows else 0.0


def _agreement(lines: list[str], mark: str) -> float:
    """Return how far the rows agree on a number of cells: 0 (no mark at all) to about 1.2."""
    rows = _separated(lines, mark, 0)[0]
    if not rows:
        return 0.0
    counts = Counter(len(fields) for _, fields in rows)
    width_of, _ = max(counts.items(), key=lambda pair: (pair[1] * (pair[0] > 1), pair[0]))
    if width_of < 2:
        return 0.0
    # A ragged file may cut its empty cells at the end, so narrower rows speak only half against.
    same = sum(many for cells, many in counts.items() if cells == width_of)
    near = sum(many for cells, many in counts.items() if 1 < cells != width_of)
    filled = sum(1 for _, fields in rows for field in fields if field.strip()) / sum(
        len(fields) for _, fields in rows
    )
    return (same + near * 0.4) / len(rows) + min(width_of, 10) * 0.02 + filled * 0.05


def _fixed_agreement(lines: list[str]) -> float:
    """Return the share of lines that have a gap of blanks where most others have one."""
    table, least = _table_lines(lines)
    if len(table) < 3 or sum("\t" in line for line in table) * 2 > len(table):
        return 0.0
    bounds, _ = _boundaries(table)
    return len(table) / len(lines) if len(bounds) >= least - 1 else 0.0


def _table_lines(lines: list[str]) -> tuple[list[str], int]:
    """Return the lines with gaps of blanks, and how many texts they have at least: three, in a narrow table two."""
    wide = [line for line in lines if len(_GAP.split(line.strip())) >= 3]
    if len(wide) * 3 >= len(lines):
        return wide, 3
    narrow = [line for line in lines if len(_GAP.split(line.strip())) >= 2]
    return (narrow, 2) if len(narrow) * 10 >= len(lines) * 6 else (wide, 3)


# --- separated -------------------------------------------------------------------------------------------


def _separated(lines: list[str], mark: str, skipped: int) -> tuple[list[tuple[int, list[str]]], list[str]]:
    rows: list[tuple[int, list[str]]] = []
    doubts: list[str] = []
    field = re.compile(rf'[ ]*"((?:[^"]|"")*)"([^{re.escape(mark)}]*)|([^{re.escape(mark)}]*)')
    at = skipped
    while at < len(lines):
        line = lines[at]
        if '"' not in line:
            rows.append((at + 1, line.split(mark)))
            at += 1
            continue
        joined, used = _whole_record(lines, at, mark)
        if joined is None:
            doubts.append(f"line {at + 1}: a quotation mark is never closed; it was read as an inch mark")
            rows.append((at + 1, line.split(mark)))
            at += 1
            continue
        rows.append((at + 1, _fields(joined, field, mark)))
        at += used
    while rows and not any(text.strip() for text in rows[-1][1]):
        rows.pop()
    return rows, doubts


def _whole_record(lines: list[str], at: int, mark: str) -> tuple[str | None, int]:
    """Return a record with all lines of its quoted cells, and how many they are; None if never closed."""
    joined = lines[at]
    open_ = _open_after(joined, mark, opened=False)
    used = 1
    parts = [joined]
    while open_:
        if used >= _LONGEST_QUOTE or at + used >= len(lines) or not _closes_well(lines[at + used], mark):
            return None, 1
        parts.append(lines[at + used])
        open_ = _open_after(lines[at + used], mark, opened=True)
        used += 1
    return "\n".join(parts), used


def _closes_well(line: str, mark: str) -> bool:
    """Return whether the first quotation mark of a line, if any, may end a cell begun before."""
    end = re.search(r'(?<!")(?:"")*"(?!")', line)
    return end is None or line[end.end() :].lstrip(" ")[:1] in {"", mark}


def _open_after(line: str, mark: str, *, opened: bool) -> bool:
    """Return whether a quoted cell is still open at the end of a line."""
    at, end = 0, len(line)
    while True:
        if opened:
            at = line.find('"', at)
            if at < 0:
                return True
            if line[at + 1 : at + 2] == '"':
                at += 2
                continue
            opened = False
            at += 1
        else:
            start = re.compile(r'[ ]*"').match(line, at) if at == 0 or line[at - 1] == mark else None
            if start:
                opened = True
                at = start.end()
                continue
        at = line.find(mark, at)
        if at < 0:
            return False
        at += 1
        if at > end:
            return False


def _fields(record: str, field: re.Pattern[str], mark: str) -> list[str]:
    found: list[str] = []
    at = 0
    while True:
        cell = field.match(record, at)
        if cell is None:  # pragma: no cover - the pattern takes the empty text
            return found
        found.append(cell[3] if cell[1] is None else cell[1].replace('""', '"') + cell[2].rstrip())
        at = cell.end()
        if at >= len(record) or record[at] != mark:
            return found
        at += 1


# --- fixed widths ----------------------------------------------------------------------------------------


def _fixed(lines: list[str], name: str) -> Grid:
    expanded = [_by_columns(line.expandtabs(8)) for line in lines]
    bounds, narrow = _rule_bounds(lines), True
    if not bounds:
        bounds, narrow = _boundaries(_table_lines([line for line in lines if line.strip()])[0])
    rows: list[tuple[Cell, ...]] = []
    numbers: list[int] = []
    for at, line in enumerate(expanded):
        if not line.strip():
            continue
        rows.append(tuple(make_cell(text) for text in _cut(line, bounds, narrow=narrow)))
        numbers.append(at + 1)
    return Grid(name=name, rows=tuple(rows), numbers=tuple(numbers))


def _by_columns(line: str) -> str:
    """Return a line with a filler after each character that takes two columns."""
    return line if line.isascii() else "".join(mark + "\0" * (width(mark) - 1) for mark in line)


def _rule_bounds(lines: list[str]) -> list[int]:
    """Return the column starts that a line of dashes under the headings shows, if there is one."""
    for line in lines:
        runs = list(re.finditer(r"[-=]+", line))
        if len(runs) >= 3 and _RULE.fullmatch(line):
            return [run.start() for run in runs[1:]]
    return []


def _boundaries(table: list[str]) -> tuple[list[int], bool]:
    """Return the columns where cells start, after blanks that all lines share, and whether a gap is one wide."""
    shown = [_by_columns(line.expandtabs(8)) for line in table[:_SAMPLE_LINES]]
    if not shown:
        return [], False
    longest = max(map(len, shown))
    filled = [0] * (longest + 1)
    for line in shown:
        for at, mark in enumerate(line):
            filled[at] += mark != " "
    few = len(shown) // 100
    starts: list[int] = []
    narrow = False
    gap = 0
    for at in range(longest):
        if filled[at] <= few:
            gap += 1
            continue
        if gap >= 2 and at > gap:
            starts.append(at)
        elif gap == 1 and _ragged(shown, at):
            starts.append(at)
            narrow = True
        gap = 0
    return starts, narrow


def _ragged(lines: list[str], at: int) -> bool:
    """Return whether a gap one blank wide is one: every line has a text right after it."""
    return len(lines) >= 4 and all(line[at : at + 1].strip() and line[at - 1 : at] == " " for line in lines)


def _cut(line: str, bounds: list[int], *, narrow: bool) -> Iterator[str]:
    """Yield the cells of a line; a text that runs over a boundary stays whole."""
    start = 0
    inside = [bound for bound in bounds if bound < len(line)]
    if (
        inside
        and not _GAP.search(line.strip())
        and (not narrow or any(line[bound - 1] != " " for bound in inside))
    ):
        yield line.replace("\0", "")  # a title or note set across the columns
        return
    for bound in [*bounds, len(line)]:
        if bound < len(line) and line[bound - 1 : bound] not in {" ", ""}:
            yield ""
            continue
        yield line[start:bound].replace("\0", "")
        start = bound
