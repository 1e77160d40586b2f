# ruff: noqa: RUF001 - the signs people write are data
"""Text out of bytes of any encoding: declared, marked, or judged by what the characters would be; always said.

No byte says which code page wrote it. What can be judged is whether the characters make sense beside each
other: letters of one script in a word, signs beside figures, capitals in front. The judgement is told, and a
declared encoding always wins.
"""

from __future__ import annotations

import codecs
import re
import unicodedata
from collections.abc import Iterator

from msgspec import Struct

from ferrule.exchange.grid import SheetRefused
from ferrule.exchange.words import VOCABULARY
from ferrule.model.text import quoted

__all__ = ["Decoded", "decode"]

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig", "UTF-8"),
    (codecs.BOM_UTF32_LE, "utf-32", "UTF-32"),
    (codecs.BOM_UTF32_BE, "utf-32", "UTF-32"),
    (codecs.BOM_UTF16_LE, "utf-16", "UTF-16 little-endian"),
    (codecs.BOM_UTF16_BE, "utf-16", "UTF-16 big-endian"),
)
#: Tried in this order; of equal likelihood the first wins.
_PAGES = {
    "cp1252": "Windows-1252 (Western European)",
    "cp932": "Shift-JIS (Windows code page 932)",
    "cp1251": "Windows-1251 (Cyrillic)",
    "cp1250": "Windows-1250 (Central European)",
    "gb18030": "GB 18030 (simplified Chinese)",
    "cp949": "Windows-949 (Korean)",
    "big5": "Big5 (traditional Chinese)",
    "euc_jp": "EUC-JP (Japanese)",
    "cp1253": "Windows-1253 (Greek)",
    "cp1254": "Windows-1254 (Turkish)",
    "iso8859_15": "ISO 8859-15 (Western European)",
    "cp850": "code page 850 (DOS, Western European)",
    "cp866": "code page 866 (DOS, Cyrillic)",
    "koi8_r": "KOI8-R (Cyrillic)",
    "mac_roman": "Mac Roman",
}
_SAMPLE = 60_000
_CLOSE = 0.12
_WORD = re.compile(r"[^\W\d_]+")
_SYMBOLS = frozenset("°µ±×²³·–—€£¥®©™ΩΩ½¼¾§“”„‘’«»…Ø№")
_MOJIBAKE = re.compile("Ã[\x80-\xbf¤¶¼©¨±³¡­]|â‚¬|Â[°µ±²³]|â€[“™œ]")


class Decoded(Struct, frozen=True):
    """Text, the name of its encoding, how it was found out, and what may be wrong."""

    text: str
    name: str
    how: str
    doubts: tuple[str, ...] = ()


def decode(data: bytes, declared: str | None = None) -> Decoded:
    """Return the text of ``data``; ``declared`` is a name of an encoding. Raises SheetRefused."""
    if declared:
        return _declared(data, declared)
    for mark, codec, name in _MARKS:
        if data.startswith(mark):
            return _marked(data, codec, name)
    wide = _unmarked_wide(data)
    if wide is not None:
        return wide
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        return _judged(data, error.start)
    name = "ASCII" if data.isascii() else "UTF-8"
    doubts = (
        ("some text looks like UTF-8 that was once read as Windows-1252",) if _MOJIBAKE.search(text) else ()
    )
    return Decoded(text, name, "detected: every byte fits", doubts)


def _declared(data: bytes, declared: str) -> Decoded:
    try:
        codec = codecs.lookup(declared)
    except LookupError:
        raise SheetRefused(
            f"{quoted(declared)} is no encoding we know", "name one such as utf-8, cp1252, shift_jis"
        ) from None
    if not getattr(codec, "_is_text_encoding", True):
        raise SheetRefused(
            f"{quoted(declared)} is no encoding of text", "name one such as utf-8, cp1252, shift_jis"
        )
    try:
        text = codec.decode(data)[0]
    except UnicodeError as error:
        raise SheetRefused(
            f"the bytes are not {declared}: {error.__class__.__name__} at byte {getattr(error, 'start', 0)}"
        ) from None
    return Decoded(text.removeprefix("\ufeff"), declared, "declared")


def _marked(data: bytes, codec: str, name: str) -> Decoded:
    text = data.decode(codec, "replace")
    doubts = ("some bytes fit no character and were replaced",) if "\ufffd" in text else ()
    return Decoded(text.removeprefix("\ufeff"), name, "declared by its byte order mark", doubts)


def _unmarked_wide(data: bytes) -> Decoded | None:
    """Return UTF-16 without a mark: every second byte of the ASCII in it is zero."""
    head = data[: _SAMPLE & ~1]
    zeros = head.count(0)
    if len(head) < 4 or zeros * 20 < len(head):
        return None
    little = sum(1 for at in range(1, len(head), 2) if head[at] == 0)
    codec, name = (
        ("utf-16-le", "UTF-16 little-endian") if little * 2 >= zeros else ("utf-16-be", "UTF-16 big-endian")
    )
    text = data.decode(codec, "replace")
    if text.count("\ufffd") + text.count("\x00") > len(text) // 50:
        return None
    return Decoded(text, name, "detected by its zero bytes")


def _judged(data: bytes, where: int) -> Decoded:
    """Return the reading of the likeliest code page."""
    sample = _sample(data)
    ranked = sorted(((_likelihood(sample, page), -at, page) for at, page in enumerate(_PAGES)), reverse=True)
    best, _, page = ranked[0]
    text = data.decode(page, "replace")
    doubts = []
    rivals = [
        name for score, _, name in ranked[1:] if best - score < _CLOSE and not _same(sample, page, name)
    ]
    if rivals:
        doubts.append(f"it could also be {', '.join(_PAGES[name] for name in rivals[:3])}")
    if "\ufffd" in text:
        doubts.append("some bytes fit no character and were replaced")
    how = f"detected: byte {where} is not UTF-8, and this code page gives the likeliest text"
    return Decoded(text, _PAGES[page], how, tuple(doubts))


def _sample(data: bytes) -> bytes:
    """Return the lines that hold bytes over 127, up to a bound: only they can tell."""
    lines: list[bytes] = []
    size = 0
    for line in re.split(rb"[\r\n]+", data):
        if not line.isascii() and size < _SAMPLE:
            lines.append(line[:2000])
            size += len(lines[-1])
    return b"\n".join(lines)


def _same(sample: bytes, one: str, other: str) -> bool:
    return sample.decode(one, "replace") == sample.decode(other, "replace")


def _likelihood(sample: bytes, page: str) -> float:
    """Return how much sense the text makes in a code page, about -1 to 2; the weights are our own."""
    text = sample.decode(page, "replace")
    foreign = [mark for mark in text if ord(mark) > 127]
    if not foreign:
        return -1.0
    score = sum(_sense(text)) / len(foreign)
    if len(sample) > 0 and page in {"cp932", "gb18030", "cp949", "big5", "euc_jp"}:
        score = min(score, 1.0)
    words = {word.casefold() for word in _WORD.findall(text) if not word.isascii()}
    known = sum(1 for word in words if word in VOCABULARY)
    return score + min(1.0, 0.34 * known) + 0.8 * _one_language(text)


#: Letters beyond a to z of some languages: the accents of a text come from one of them.
_ALPHABETS = tuple(
    map(
        frozenset,
        (
            "äöüß", "éèêëàâçîïôùûœæ", "ñóíáúü", "ãõçáâàéêíóôú", "àèéìíòóùú", "åäöé", "æøåé", "áčďéěíňóřšťúůýž",
            "ąćęłńóśźż", "áéíóöőúüű", "çğıiöşüâ", "áäčďéíĺľňóôŕšťúýž", "čćđšž", "ăâîșțşţ", "ëïéöüè",
            "абвгдеёжзийклмнопрстуфхцчшщъыьэюя", "абвгґдеєжзиіїйклмнопрстуфхцчшщьюя",
        ),
    )
)  # fmt: skip


def _one_language(text: str) -> float:
    """Return the share of letters beyond ASCII that the best fitting alphabet has; East Asian ones all fit."""
    letters = [mark for mark in text.casefold() if ord(mark) > 127 and mark.isalpha()]
    if not letters:
        return 1.0
    eastern = sum(1 for mark in letters if mark > "\u0370" and _script(mark) != "cyrillic")
    return max([eastern, *(sum(mark in alphabet for mark in letters) for alphabet in _ALPHABETS)]) / len(
        letters
    )


def _sense(text: str) -> Iterator[float]:
    """Yield for each character over 127 how well it fits its place."""
    previous = " "
    for at, mark in enumerate(text):
        if ord(mark) > 127:
            yield _fit(previous, mark, text[at + 1 : at + 2] or " ")
        previous = mark


def _fit(before: str, mark: str, after: str) -> float:
    if mark == "\ufffd" or unicodedata.category(mark) in {"Cc", "Co", "Cn"}:
        return -3.0
    if "\u2500" <= mark <= "\u259f":
        return -1.5
    if mark in _SYMBOLS:
        return _symbol(before, mark, after)
    if mark.isalpha():
        return _letter(before, mark, after)
    return 0.3 if "\u3000" <= mark <= "\u303f" or "\uff00" <= mark <= "\uffef" else -0.4


def _symbol(before: str, mark: str, after: str) -> float:
    if before.isalpha() and after.isalpha() and mark not in "·’Ø":
        return -0.6
    return 0.9


def _letter(before: str, mark: str, after: str) -> float:
    script = _script(mark)
    beside = [_script(near) for near in (before, after) if near.isalpha()]
    if script in {"kana", "han", "hangul"}:
        return _east(mark, script, beside)
    if any(near != script for near in beside):
        return -0.8
    if mark.isupper() and before.isalpha() and before.islower():
        return -0.9
    lone = not beside
    if script == "latin":
        return -0.2 if lone else 0.8 if mark in _USUAL else 0.35
    return 0.2 if lone else 0.8 if mark.islower() or not before.isalpha() else 0.4


_USUAL = frozenset("äöüßÄÖÜéèêëàâçîïôùûÉÈÀÇñóíáúÑÓÍÁÚãõâêåøæÅØÆìòěščřžýůďťňąęłńśźżŁŚŻŠČŘŽőűıİğşŞ")


def _east(mark: str, script: str, beside: list[str]) -> float:
    if script == "kana":
        half_width = "\uff61" <= mark <= "\uff9f"
        near = any(name in {"kana", "han"} for name in beside)
        return (0.1 if half_width else 1.0) if near else (-0.5 if half_width else 0.3)
    if "\uac00" <= mark <= "\ud7a3":
        return 0.9
    common = "\u4e00" <= mark <= "\u9fa5"
    return (0.75 if beside and all(name in {"kana", "han"} for name in beside) else 0.35) if common else -0.6


def _script(mark: str) -> str:
    if mark.isascii() or mark < "\u0250" or "\u1e00" <= mark <= "\u1eff":
        return "latin"
    if "\u0400" <= mark <= "\u052f":
        return "cyrillic"
    if "\u0370" <= mark <= "\u03ff":
        return "greek"
    if "\u3040" <= mark <= "\u30ff" or "\uff66" <= mark <= "\uff9f":
        return "kana"
    if "\uac00" <= mark <= "\ud7a3":
        return "hangul"
    return "han" if "\u3400" <= mark <= "\u9fff" else "other"
