# ruff: noqa: RUF001 - the signs people write are data
"""One cell read: a number, a quantity, a price, designators, a mark. What cannot be read is said, never guessed."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from decimal import Decimal
from functools import lru_cache
from typing import Literal

from msgspec import Struct

from ferrule.exchange.grid import Cell
from ferrule.exchange.words import (
    ALTERNATE,
    AS_NEEDED,
    CURRENCY_SIGNS,
    FILLERS,
    NO_WORDS,
    NOT_FITTED,
    UNIT_WORDS,
    YES_WORDS,
    folded,
)
from ferrule.model.currencies import MINOR_UNITS
from ferrule.model.text import quoted

__all__ = [
    "Amount",
    "DecimalMark",
    "Places",
    "Price",
    "alternates_in",
    "currency_in",
    "decimal_mark",
    "is_filler",
    "is_not_fitted",
    "looks_like_designators",
    "read_amount",
    "read_designators",
    "read_mark",
    "read_number",
    "read_price",
]

#: The mark before decimals in a table; empty where nothing in it tells.
DecimalMark = Literal[".", ",", ""]

_MOST_DIGITS = 40
_MOST_PLACES = 20_000
_SHORT = 200


def is_filler(text: str) -> bool:
    """Return whether text only says that nothing is known: ``n/a``, ``~``, ``-``."""
    return len(text) < 30 and folded(text) in FILLERS


# --- numbers ---------------------------------------------------------------------------------------------

_GROUPED = re.compile(r"(?<=[0-9])[ '’_](?=[0-9]{3}(?![0-9]))")
_BARE = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+)")
_TELLS_COMMA = re.compile(
    r"(?<![0-9.,])(?:[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+|[0-9]+,(?:[0-9]{1,2}|[0-9]{4,})|0,[0-9]+)(?![0-9.,])"
)
_TELLS_POINT = re.compile(
    r"(?<![0-9.,])(?:[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+|[0-9]+\.(?:[0-9]{1,2}|[0-9]{4,})|0\.[0-9]+)(?![0-9.,])"
)


def decimal_mark(texts: Iterable[str]) -> DecimalMark:
    """Return which mark the numbers of a table have before their decimals, or "" where none tells."""
    commas = points = 0
    for text in texts:
        if len(text) < 40:
            commas += bool(_TELLS_COMMA.search(text))
            points += bool(_TELLS_POINT.search(text))
    return "" if commas == points else "," if commas > points else "."


def read_number(text: str, mark: DecimalMark = "") -> tuple[Decimal | None, str]:
    """Return the number and what is doubtful about it; None where the text is no number.

    ``1,250`` is 1250 with a doubt where ``mark`` is unknown; ``mark`` decides it without one.
    """
    if len(text) > _MOST_DIGITS + 10:
        return None, ""
    bare = _GROUPED.sub("", text if text.isascii() else unicodedata.normalize("NFKC", text)).strip()
    if not _BARE.fullmatch(bare):
        return None, ""
    sign = "-" if bare[0] == "-" else ""
    digits, doubt = _pointed(bare.lstrip("+-"), mark)
    return (Decimal(sign + digits), doubt) if len(digits) <= _MOST_DIGITS else (None, "")


def _pointed(bare: str, mark: DecimalMark) -> tuple[str, str]:
    """Return digits with a decimal point, and a doubt."""
    points, commas = bare.count("."), bare.count(",")
    if not points and not commas:
        return bare, ""
    if points and commas:
        last = "." if bare.rfind(".") > bare.rfind(",") else ","
        other = "," if last == "." else "."
        return bare.replace(other, "").replace(last, "."), ""
    used = "." if points else ","
    if points + commas > 1:
        return bare.replace(used, ""), ""
    front, _, behind = bare.partition(used)
    if len(behind) != 3 or front in {"", "0"} or used == (mark or "."):
        return f"{front or '0'}.{behind}", ""
    doubt = f"{bare} was read as {front}{behind}: a comma before three figures may be decimal"
    return front + behind, "" if mark else doubt


# --- quantities ------------------------------------------------------------------------------------------


class Amount(Struct, frozen=True, kw_only=True):
    """A quantity as written. ``unit`` is empty for a plain number, else a unit word of ours.

    ``number`` is None where nothing is said or it cannot be read; ``as_needed`` where no number is meant.
    """

    written: str = ""
    number: Decimal | None = None
    unit: str = ""
    as_needed: bool = False
    not_fitted: bool = False
    doubt: str = ""

    @property
    def plain(self) -> bool:
        """Whether it is a plain number of pieces."""
        return self.number is not None and self.unit in {"", "each"}


_AMOUNT = re.compile(
    r"(?P<about>ca\.? |approx\.? |about |~ ?|≈ ?)?(?P<times>[x×] ?)?(?P<number>[+-]?[0-9][0-9.,' ’]*|[.,][0-9]+)(?P<rest>.*)",
    re.DOTALL | re.IGNORECASE,
)
_UNIT = re.compile(r"[ .]*(?P<unit>[^\W\d_]+[23²³.]?|\"|''|″|′|'|[x×])\.?[ ]*(?P<tail>.*)", re.DOTALL)
_OF_LENGTH = re.compile(r" ?[x×*] ?[0-9]")


def read_amount(cell: Cell, mark: DecimalMark = "") -> Amount:
    """Return the quantity that a cell states."""
    text = cell.text
    if cell.number is not None:
        return Amount(written=text, number=cell.number, unit=cell.unit, doubt=_negative(cell.number))
    if not text:
        return Amount()
    word = folded(text[:_SHORT])
    if word in AS_NEEDED:
        return Amount(written=text, as_needed=True)
    if word in FILLERS:
        return Amount(written=text)
    if is_not_fitted(text):
        found = _AMOUNT.match(text)
        number = read_number(found["number"].strip(), mark)[0] if found else None
        return Amount(written=text, number=number, not_fitted=True)
    return _amount(text, mark)


def _negative(number: Decimal) -> str:
    return "the quantity is negative" if number < 0 else ""


def _amount(text: str, mark: DecimalMark) -> Amount:
    shown = text if text.isascii() else unicodedata.normalize("NFKC", text)
    shown = re.sub(r"^(?:qty|quantity|menge|anzahl)[.: ]+", "", shown.strip("() \n"), flags=re.IGNORECASE)
    found = _AMOUNT.fullmatch(shown)
    if found is None:
        return Amount(written=text, doubt=f"{quoted(text)} is no quantity we can read")
    number, doubt = read_number(found["number"].strip(), mark)
    rest = found["rest"]
    if number is None:
        return Amount(written=text, doubt=f"{quoted(text)} is no quantity we can read")
    doubt = doubt or _negative(number) or ("only about so many" if found["about"] else "")
    if not rest.strip(" ."):
        return Amount(written=text, number=number, doubt=doubt)
    return _with_unit(text, number, rest, doubt)


def _with_unit(text: str, number: Decimal, rest: str, doubt: str) -> Amount:
    if re.match(r" ?[-–/+⁄] ?[0-9]", rest):
        return Amount(written=text, doubt=f"{quoted(text)} is no single number")
    if _OF_LENGTH.match(rest):
        return Amount(
            written=text, number=number, unit="each", doubt=f"{quoted(text)} was read as {number} pieces"
        )
    found = _UNIT.fullmatch(rest)
    unit = (
        UNIT_WORDS.get(folded(found["unit"])) or UNIT_WORDS.get(folded(found["unit"] + "."))
        if found
        else None
    )
    if found is None or unit is None:
        if re.match(r"\s*[\[(,;/]", rest) or (found and rest[:1] == " " and len(rest) < 40):
            return Amount(
                written=text, number=number, unit="each", doubt=f"{quoted(text)} was read as {number}"
            )
        return Amount(written=text, doubt=f"{quoted(text)} is no quantity we can read")
    if found["tail"]:
        doubt = doubt or f"{quoted(text)}: what follows the unit was not read"
    return Amount(written=text, number=number, unit=unit, doubt=doubt)


# --- prices ----------------------------------------------------------------------------------------------


class Price(Struct, frozen=True, kw_only=True):
    """A price as written: ``amount`` for ``per`` pieces. ``currency`` is empty where nothing says one.

    ``least`` is the quantity a price is good from, where the cell says it: ``0.0062 @ 5000``.
    """

    written: str = ""
    amount: Decimal | None = None
    currency: str = ""
    per: Decimal = Decimal(1)
    least: Decimal | None = None
    doubt: str = ""


_SIGNS = sorted(CURRENCY_SIGNS, key=len, reverse=True)
_SIGN = re.compile(
    "|".join(
        rf"(?<![^\W\d_]){re.escape(sign)}(?![^\W\d_])"
        if sign[-1].isalpha() or sign[0].isalpha()
        else re.escape(sign)
        for sign in _SIGNS
    )
    + r"|\b[A-Z]{3}\b",
    re.IGNORECASE,
)
_PER = re.compile(
    r"(?:/|per|je|pro|por|par|pour|na|za|あたり|за|每)\s*(?:(?:pack|lot|box|bag|reel) of)?\s*"
    r"(?P<number>[0-9][0-9.,' ]*)(?P<thousand>k\b)?",
    re.IGNORECASE,
)
_FROM = re.compile(r"\s*@\s*(?P<number>[0-9][0-9.,' ]*)(?P<thousand>k\b)?", re.IGNORECASE)
_EACH = re.compile(
    r"(?:/|per|je|pro|por|par)?\s*(?:ea\b|each|pcs?\b|piece|unit|stk\b|st\b|stück|szt|ks\b|шт|個|个|unidad|ud\b|pz\b|p/u|pp\b|/u)\.?",
    re.IGNORECASE,
)


@lru_cache(maxsize=20_000)
def currency_in(text: str) -> tuple[str, str]:
    """Return the currency that a text names and a doubt; both empty if it names none.

    ``$`` and ``¥`` and ``kr`` stand for more than one currency: the likeliest, with a doubt.
    """
    if text.isascii() and "$" not in text and text.strip("0123456789.,-+ '") == "":
        return "", ""
    for found in _SIGN.finditer(text[:_SHORT]):
        word = found[0].casefold()
        code = found[0].upper()
        if word in CURRENCY_SIGNS:
            known = CURRENCY_SIGNS[word]
            doubt = (
                f"{found[0]} was read as {known[0]}; it may be {' or '.join(known[1:])}"
                if len(known) > 1
                else ""
            )
            return known[0], doubt
        if code in MINOR_UNITS and found[0].isupper():
            return code, ""
    return "", ""


def read_price(cell: Cell, mark: DecimalMark = "", currency: str = "", per: Decimal = Decimal(1)) -> Price:
    """Return the price of a cell; ``currency`` and ``per`` are what the column says."""
    text = cell.text
    if cell.number is not None:
        return Price(written=text, amount=cell.number, currency=cell.currency or currency, per=per)
    if not text or is_filler(text) or len(text) > _SHORT:
        return Price(written=text)
    named, doubt = currency_in(text)
    bare = _SIGN.sub(lambda found: " " if _is_sign(found[0]) else found[0], text)
    bare = unicodedata.normalize("NFKC", bare)
    if not named and re.match(r"[?\ufffd]\s?[0-9]|[0-9.,]+\s?[?\ufffd]$", bare):  # a sign lost on its way
        bare, doubt = bare.strip("?\ufffd"), "the sign of the currency was lost"
    bare, least = _taken(_FROM, bare, mark)
    bare, share = _taken(_PER, bare, mark)
    per = share or per
    bare = _EACH.sub(" ", bare)
    number, unsure = _price_number(bare.strip(" ,;:*"), mark)
    if number is None:
        return Price(
            written=text, currency=named or currency, doubt=f"{quoted(text)} is no price we can read"
        )
    return Price(
        written=text, amount=number, currency=named or currency, per=per, least=least, doubt=unsure or doubt
    )


def _taken(pattern: re.Pattern[str], text: str, mark: DecimalMark) -> tuple[str, Decimal | None]:
    """Return text without what a pattern finds in it, and the number found."""
    found = pattern.search(text)
    if found is None:
        return text, None
    many = read_number(found["number"].strip(), mark)[0]
    number = many * (1000 if found["thousand"] else 1) if many else None
    return text[: found.start()] + text[found.end() :], number


def _is_sign(found: str) -> bool:
    return found.casefold() in CURRENCY_SIGNS or (found.isupper() and found in MINOR_UNITS)


def _price_number(bare: str, mark: DecimalMark) -> tuple[Decimal | None, str]:
    bare = re.sub(r"[.,][-–—]{1,2}$", "", bare).strip()
    about = bool(re.match(r"(?:~|ca\.?|≈|approx\.?)\s*", bare))
    bare = re.sub(r"^(?:~|ca\.?|≈|approx\.?)\s*", "", bare)
    number, doubt = read_number(bare, mark)
    return number, doubt or ("only about so much" if about and number is not None else "")


# --- designators -----------------------------------------------------------------------------------------


class Places(Struct, frozen=True, kw_only=True):
    """Designators as written, ranges filled in; ``doubt`` says where more than one reading is possible."""

    written: str = ""
    names: tuple[str, ...] = ()
    doubt: str = ""
    not_fitted: tuple[str, ...] = ()


_NAME = re.compile(
    r"[A-Za-z]{1,8}[-_]?[0-9]{1,5}(?:[A-Za-z]{1,2}|[._/][A-Za-z0-9]{1,3}|[A-Za-z]?[0-9]{1,3})?"
)
_CLASSIC = re.compile(r"[A-Za-z]{1,4}[0-9]{1,4}[A-Za-z]?")
_RANGE = re.compile(r"([A-Za-z]{1,8})([0-9]{1,6})\s*(?:-|–|—|~|\.{2,3}|…|:)\s*([A-Za-z]{0,8})([0-9]{1,6})")
_TO = re.compile(r"(?<=[0-9])\s+(?:to|thru|through|bis|à|al?|до|až|do|t/m|〜|～)\s+(?=[A-Za-z]{0,8}[0-9])")
_SEPARATORS = re.compile(
    r"[,;\n|、，；]|\s[&+/]\s|(?<=[0-9])[&+/](?=[A-Za-z]{1,4}[0-9])|\s(?:and|und|et|y|e|и)\s"
)


def read_designators(text: str, quantity: Decimal | None = None) -> Places:
    """Return the places that a cell names. ``quantity`` of the same row tells a range from a pair.

    ``S2-S5`` is four places, unless the quantity is two: then it is the two named, with a doubt. Blanks inside
    a name (``C  2``) are taken out; blanks between whole names part them.
    """
    if not text or is_filler(text):
        return Places(written=text)
    joined = _TO.sub("-", text if text.isascii() else unicodedata.normalize("NFKC", text))
    joined = re.sub(r"[〜～–—]", "-", joined)
    names: list[str] = []
    pairs: list[str] = []
    doubts: list[str] = []
    absent: list[str] = []
    for piece in _pieces(joined):
        bare, marked = _unbracketed(piece)
        found, pair = _expanded(bare, doubts)
        names += found
        pairs += pair
        if marked:
            absent += found
        if len(names) > _MOST_PLACES:
            return Places(written=text, doubt=f"more than {_MOST_PLACES} places")
    if quantity is not None and len(names) != quantity and len(pairs) == quantity:
        return Places(
            written=text,
            names=tuple(pairs),
            doubt=f"{quoted(text)} was read as {len(pairs)} places, by the quantity; as a range it would be {len(names)}",
        )
    return Places(written=text, names=tuple(names), doubt="; ".join(doubts[:3]), not_fitted=tuple(absent))


def _pieces(joined: str) -> list[str]:
    pieces: list[str] = []
    for piece in _SEPARATORS.split(joined):
        words = piece.split()
        if len(words) > 1 and all(_NAME.fullmatch(word) or _RANGE.fullmatch(word) for word in words):
            pieces += words
        elif len(words) > 1 and any(_CLASSIC.fullmatch(word) for word in words) and "-" in words:
            pieces.append(" ".join(words))
        elif words:
            pieces.append(
                "".join(words)
                if re.fullmatch(r"[A-Za-z]{1,5} +[0-9]{1,5}[A-Za-z]?", piece.strip())
                else " ".join(words)
            )
    return [piece for piece in pieces if piece.strip(" .*-")]


def _unbracketed(piece: str) -> tuple[str, bool]:
    """Return a name without what stands in brackets behind it, and whether that says "not fitted"."""
    found = re.fullmatch(r"([^()\[\]]+?)\s*[(\[]([^()\[\]]*)[)\]]", piece)
    if found:
        return found[1], is_not_fitted(found[2])
    return piece, False


def _expanded(piece: str, doubts: list[str]) -> tuple[list[str], list[str]]:
    """Return the places of a piece as a range, and as the names written in it."""
    bare = piece.strip(" .")
    found = _RANGE.fullmatch(bare)
    if found is None:
        chain = re.split(r"\s?-\s?", bare)
        if len(chain) > 2 and all(_CLASSIC.fullmatch(name) for name in chain):
            return chain, chain
        return [bare], [bare]
    letters, first, again, last = found.groups()
    low, high = int(first), int(last)
    if (again and again != letters) or low >= high:
        if again:
            doubts.append(f"{quoted(bare)} is no rising range; it was read as two places")
            return [letters + first, again + last], [letters + first, again + last]
        return [bare], [bare]
    if high - low >= _MOST_PLACES:
        doubts.append(f"the range {quoted(bare)} has more than {_MOST_PLACES} places")
        return [bare], [bare]
    digits = len(first) if first.startswith("0") else 0
    run = [f"{letters}{number:0{digits}}" for number in range(low, high + 1)]
    return run, [run[0], run[-1]]


def looks_like_designators(text: str) -> bool:
    """Return whether a cell is one or more designators of the usual form: a letter or two and a number."""
    if not text or not text[0].isalpha() or len(text) > 20_000:
        return False
    pieces = _pieces(re.sub(r"[–—]", "-", text[:2000]))
    return bool(pieces) and all(map(_is_designator, pieces[:-1] or pieces))  # the last one may be cut off


def _is_designator(piece: str) -> bool:
    bare = piece.strip(" .*")
    found = _RANGE.fullmatch(bare)
    if found:
        return found[3] in {"", found[1]} and int(found[2]) < int(found[4])
    if _CLASSIC.fullmatch(bare) or _CLASSIC.fullmatch(_unbracketed(piece)[0]):
        return True
    chain = bare.split("-")
    return len(chain) > 2 and all(map(_CLASSIC.fullmatch, chain)) and len({name[0] for name in chain}) == 1


# --- marks -----------------------------------------------------------------------------------------------

_SHORT_MARKS = frozenset({"nf", "nm", "nb", "n.b.", "dns", "omit", "omitted"})
_LONG_MARKS = re.compile(
    r"(?<![^\W_])(?:"
    + "|".join(re.escape(mark) for mark in sorted(NOT_FITTED - _SHORT_MARKS, key=len, reverse=True))
    + r")(?![^\W_])"
)


def is_not_fitted(text: str) -> bool:
    """Return whether a text says that the part is listed but not placed: ``DNP``, ``10k (do not fit)``."""
    if not text or len(text) > _SHORT:
        return False
    word = folded(text)
    return word in NOT_FITTED or bool(_LONG_MARKS.search(word))


def read_mark(text: str) -> bool | None:
    """Return yes or no of a cell that is a mark, None where it is neither."""
    word = folded(text[:_SHORT])
    if word in YES_WORDS:
        return True
    return False if word in NO_WORDS else None


_ALTERNATE = re.compile(
    r"(?<![^\W_])(?:"
    + "|".join(re.escape(word) for word in sorted(ALTERNATE - {"or", "ou", "oder"}, key=len, reverse=True))
    + r")\b[.:=]?\s*(?:part|pn|p/n|mpn|no\.?|for)?[.:]?\s*([A-Za-z0-9][A-Za-z0-9/+._-]*[0-9][A-Za-z0-9/+._-]*)",
    re.IGNORECASE,
)


def alternates_in(text: str) -> tuple[str, ...]:
    """Return the part numbers that a note gives as alternates: ``Alt. ESQ-120-23``."""
    return tuple(dict.fromkeys(found.rstrip(".,") for found in _ALTERNATE.findall(text[:2000])))
