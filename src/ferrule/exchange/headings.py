"""What each column of a table means: by its heading's words, by its cells, and by how columns fit together.

Words propose, cells confirm or refuse; where there are no words we know, cells alone may propose, and the
result is called a guess. The numbers that weigh one against the other are our own, tuned on generated sheets.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any, Literal, get_args

from msgspec import Struct

from ferrule.exchange.cells import currency_in, read_number
from ferrule.exchange.evidence import by_designators, by_product, content, dearer
from ferrule.exchange.grid import SheetRefused, column_letters
from ferrule.exchange.heading_words import Meaning, heading_meanings, least_of, told_by
from ferrule.exchange.profiles import Profile
from ferrule.exchange.words import folded
from ferrule.model.text import nearest, quoted

__all__ = [
    "Column",
    "Wanted",
    "key_of",
    "map_columns",
    "saved_mapping",
    "wanted_mapping",
]

_MEANINGS: frozenset[str] = frozenset(get_args(Meaning))
#: Meanings that several columns may have, told apart by rank: first source, second source.
_MANY = frozenset(
    {
        "maker",
        "maker_part",
        "seller",
        "seller_part",
        "link",
        "note",
        "spec",
        "category",
        "alternate",
        "batch",
        "other",
        "stock",
    }
)


Sureness = Literal["given", "sure", "likely", "guess", "none"]


class Column(Struct, frozen=True, kw_only=True):
    """One column: its heading, what it means, how sure that is and why, and what else it may be.

    ``sure``: given (by a saved mapping), sure, likely, guess or none. ``currency`` and ``per`` are what the
    heading says of prices, ``least`` the quantity they are good from; ``negative`` turns a mark round: a
    cross under "do not fit".
    """

    index: int
    heading: str = ""
    meaning: Meaning = "other"
    rank: int = 1
    sure: Sureness = "none"
    why: str = ""
    rivals: tuple[str, ...] = ()
    currency: str = ""
    per: Decimal = Decimal(1)
    least: Decimal | None = None
    negative: bool = False
    doubt: str = ""

    @property
    def letters(self) -> str:
        """The column's letters in a spreadsheet."""
        return column_letters(self.index)


#: Least weight of a meaning that only the cells propose.
_ENOUGH: dict[Meaning, float] = {
    "quantity": 0.95,
    "designators": 1.3,
    "link": 1.5,
    "item": 1.4,
    "price": 1.5,
    "name": 0.8,
    "maker_part": 1.0,
    "unit": 1.5,
    "currency": 2.0,
    "footprint": 0.9,
    "value": 0.9,
    "maker": 1.0,
    "line_total": 1.8,
    "part": 1.5,
}
#: Least weight of a meaning that the heading proposes, and of one that nothing proposes.
_ENOUGH_WORDED, _NEVER = 0.75, 9.0
_FROM_CELLS: tuple[Meaning, ...] = tuple(meaning for meaning in _ENOUGH if meaning != "line_total")


class Wanted(Struct, frozen=True):
    """Meanings that somebody has fixed: by heading, and by sheet and column letters."""

    headings: Mapping[str, tuple[Meaning, int]] = {}
    columns: Mapping[tuple[str, str], tuple[Meaning, int]] = {}

    def of(self, sheet: str, index: int, heading: str) -> tuple[Meaning, int] | None:
        """Return what is fixed for a column, its place before its heading."""
        return self.columns.get((sheet, column_letters(index))) or (
            self.headings.get(key_of(heading)) if heading else None
        )


_NOTHING = Wanted()


def key_of(heading: str) -> str:
    """Return a heading as it is compared between files."""
    return folded(heading.replace("\n", " "))


def map_columns(
    headings: Sequence[str],
    profiles: Sequence[Profile],
    *,
    first: int = 0,
    sheet: str = "",
    wanted: Wanted = _NOTHING,
) -> tuple[Column, ...]:
    """Return what each column means; ``first`` is the index of the first one in the sheet."""
    evidence = _Evidence(tuple(headings), tuple(profiles), _scores(headings, profiles))
    taken: dict[int, tuple[Meaning, int]] = {}
    for at, heading in enumerate(headings):
        fixed = wanted.of(sheet, first + at, heading)
        if fixed is not None:
            taken[at] = fixed
    given = frozenset(taken)
    _assign(evidence, taken)
    return tuple(
        _column(evidence, at, first, taken.get(at), given=at in given) for at in range(len(headings))
    )


class _Evidence(Struct, frozen=True):
    """The headings and cells of a table's columns, and a weight for each meaning a column may have."""

    headings: tuple[str, ...]
    profiles: tuple[Profile, ...]
    scores: Mapping[tuple[int, Meaning], float]


def _assign(evidence: _Evidence, taken: dict[int, tuple[Meaning, int]]) -> None:
    """Give every column its likeliest meaning, the surest first; most meanings are given once."""
    used = {meaning for meaning, _ in taken.values()}
    ranked = sorted(((score, -at, meaning) for (at, meaning), score in evidence.scores.items()), reverse=True)
    for score, negative, meaning in ranked:
        at = -negative
        heading = evidence.headings[at]
        worded = meaning in heading_meanings(heading)
        several = worded and (meaning in _MANY or (meaning == "price" and least_of(heading) is not None))
        if at in taken or (meaning in used and not several):
            continue
        if score >= (_ENOUGH_WORDED if worded else _ENOUGH.get(meaning, _NEVER)):
            taken[at] = (meaning, _free_rank(heading, meaning, taken))
            used.add(meaning)


def _free_rank(heading: str, meaning: Meaning, taken: Mapping[int, tuple[Meaning, int]]) -> int:
    """Return the rank a heading tells (2 of "maker 2", or of an alternate), or the next that is free."""
    told = told_by(heading)
    rank = max(told.rank, 2) if "alternate" in told.ideas and meaning != "alternate" else told.rank
    ranks = {kept for name, kept in taken.values() if name == meaning}
    while rank in ranks:
        rank += 1
    return rank


def _scores(headings: Sequence[str], profiles: Sequence[Profile]) -> dict[tuple[int, Meaning], float]:
    scores: dict[tuple[int, Meaning], float] = {}
    for at, (heading, p) in enumerate(zip(headings, profiles, strict=True)):
        words = heading_meanings(heading)
        for meaning, weight in words.items():
            scores[at, meaning] = weight + content(meaning, p)
        if p.filled:
            _add_unworded(scores, at, words, p)
    _add_related(scores, profiles)
    return scores


def _add_unworded(
    scores: dict[tuple[int, Meaning], float], at: int, words: Mapping[Meaning, float], p: Profile
) -> None:
    """Add the meanings that a column's cells propose and its heading does not."""
    known = max(words.values(), default=0.0) >= 2
    for meaning in _FROM_CELLS:
        if meaning not in words:
            scores[at, meaning] = content(meaning, p) - (1.2 if known else 0.0)
    counting = p.from_one and p.whole >= 0.9
    if counting and not known:
        scores[at, "item"] += 0.3
    if counting and words.keys() & {"part", "name"}:
        scores[at, "item"] = max(scores.get((at, "item"), 0.0), 2.6)
    if "part" not in words and not any(scores.get((before, "part"), 0) > 1.5 for before in range(at)):
        leads = p.distinct >= 0.85 and p.share_filled >= 0.95 and at <= 1
        scores[at, "part"] += 0.5 * leads - 0.2


def _add_related(scores: dict[tuple[int, Meaning], float], profiles: Sequence[Profile]) -> None:
    """Add what columns tell of each other: designators counted, a product of two."""

    def add(at: int, meaning: Meaning, weight: float) -> None:
        scores[at, meaning] = scores.get((at, meaning), 0.0) + weight

    for at, agree in by_designators(profiles).items():
        if agree >= 0.5:
            add(at, "quantity", 3 * agree)
    for one, other, product in by_product(profiles):
        price = dearer(profiles, one, other)
        add(product, "line_total", 2.2)
        add(price, "price", 1.2)
        add(other if price == one else one, "quantity", 1.2)


def _column(
    evidence: _Evidence, at: int, first: int, fixed: tuple[Meaning, int] | None, *, given: bool
) -> Column:
    heading = evidence.headings[at]
    currency, doubt = currency_in(_bracketed(heading))
    meaning, rank = fixed or ("other", 1)
    score = evidence.scores.get((at, meaning), 0.0)
    rivals = sorted(
        (
            (weight, name)
            for (column, name), weight in evidence.scores.items()
            if column == at and name != meaning and weight > max(1.0, score - 0.8)
        ),
        reverse=True,
    )
    sure, why = _sureness(evidence, at, meaning, score, given=given)
    return Column(
        index=first + at,
        heading=heading,
        meaning=meaning,
        rank=rank,
        sure=sure,
        why=why,
        rivals=tuple(name for _, name in rivals[:3]),
        currency=currency,
        per=_per(heading),
        least=least_of(heading) if meaning == "price" else None,
        negative="not_fitted" in told_by(heading).ideas or bool(_NEGATIVE.match(folded(heading))),
        doubt=doubt if meaning in {"price", "line_total", "pack_price"} else "",
    )


_NEGATIVE = re.compile(r"(?:not|no|nicht|ne|non)\b")


def _sureness(
    evidence: _Evidence, at: int, meaning: Meaning, score: float, *, given: bool
) -> tuple[Sureness, str]:
    if given:
        return "given", "given by the mapping"
    words = heading_meanings(evidence.headings[at])
    if meaning == "other":
        return "none", "no meaning found" if evidence.profiles[at].filled else "empty"
    if words.get(meaning, 0.0) >= 1.8 and score >= words[meaning] - 0.7:
        return "sure", "by its heading, and its cells fit"
    if meaning in words:
        return "likely", "by its heading among other readings, and its cells"
    return "guess", "by its cells only"


def _bracketed(heading: str) -> str:
    """Return a heading's text in which a currency counts: all of it, its plain words taken out."""
    return re.sub(r"\b(?:per|pro|ext|qty)\b", " ", heading, flags=re.IGNORECASE)


def _per(heading: str) -> Decimal:
    """Return how many pieces the prices of a column are for: 100 of "price per 100"."""
    found = re.search(r"(?:/|per|je|pro|par|por|za)\s*([0-9][0-9.,' ]*)\s*(k\b)?", heading, re.IGNORECASE)
    number = read_number(found[1].strip())[0] if found else None
    if found is None or number is None or number <= 0:
        return Decimal(1)
    return number * 1000 if found[2] else number


# --- saved -----------------------------------------------------------------------------------------------


def saved_mapping(sheets: Iterable[tuple[str, Sequence[Column]]]) -> dict[str, Any]:
    """Return the mapping as plain data to be written, edited and read again with `wanted_mapping`.

    Shape: ``{"column": [{"sheet", "column", "heading", "means", "rank"}]}``, rank only from the second on.
    """
    rows: list[dict[str, Any]] = []
    for sheet, columns in sheets:
        for column in columns:
            row: dict[str, Any] = {
                "sheet": sheet,
                "column": column.letters,
                "heading": column.heading,
                "means": column.meaning,
            }
            if column.rank > 1:
                row["rank"] = column.rank
            rows.append(row)
    return {"column": rows}


def wanted_mapping(data: Mapping[str, Any]) -> Wanted:
    """Return the meanings fixed by saved data; raises SheetRefused where it is misspelt.

    A row with a heading fixes that heading in any sheet and column, so that it serves a newer file; a row
    without one fixes the column of its sheet.
    """
    headings: dict[str, tuple[Meaning, int]] = {}
    columns: dict[tuple[str, str], tuple[Meaning, int]] = {}
    rows = data.get("column", [])
    if not isinstance(rows, list):
        raise SheetRefused("a mapping is a list of columns", "write [[column]] tables with heading and means")
    for row in rows:
        means = row.get("means") if isinstance(row, Mapping) else None
        if means not in _MEANINGS:
            likely = nearest(str(means), _MEANINGS)
            raise SheetRefused(
                f"{quoted(means)} is nothing a column can mean",
                f"did you mean {likely}?" if likely else f"known are {', '.join(sorted(_MEANINGS))}",
            )
        rank = row.get("rank", 1)
        if not isinstance(rank, int) or isinstance(rank, bool) or not 1 <= rank <= 99:
            raise SheetRefused(f"{quoted(rank)} is no rank", "write 1 for the first source, 2 for the second")
        if row.get("heading"):
            headings[key_of(str(row["heading"]))] = (means, rank)
        else:
            columns[str(row.get("sheet", "")), str(row.get("column", "")).upper()] = (means, rank)
    return Wanted(headings, columns)
