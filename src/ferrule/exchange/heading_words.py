# ruff: noqa: RUF001 - the signs people write are data
"""What the words of a heading say it means, each with a weight, in any of the languages of the word tables."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from functools import lru_cache
from typing import Literal

from msgspec import Struct

from ferrule.exchange.cells import read_number
from ferrule.exchange.grid import Cell
from ferrule.exchange.words import IDEAS, folded

__all__ = ["Meaning", "Told", "heading_hits", "heading_meanings", "least_of", "told_by"]

Meaning = Literal[
    "item", "level", "part", "name", "value", "footprint", "designators", "quantity", "unit", "maker", "maker_part",
    "seller", "seller_part", "link", "price", "pack_price", "pack_size", "line_total", "currency", "moq", "multiple",
    "lead_time", "fitted", "note", "category", "alternate", "revision", "material", "spec", "batch", "stock", "other",
]  # fmt: skip

_STOP = frozenset(
    "of the and de del de la della der die das des di da do du le les el und et y e i per pro par pour por fur"
    " for in on to a an & no. your our s d l je za na w v och og".split()
)
_INSIDE = sorted(
    (
        word
        for word in IDEAS
        if " " not in word
        and (len(word) >= 5 or (len(word) >= 2 and not word.isascii() and ord(word[0]) > 0x2E80))
    ),
    key=len,
    reverse=True,
)
_LONG_WORDS = sorted({word for word in IDEAS if len(word) >= 5 and word.isascii() and " " not in word})
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Za-z])(?=[0-9]+$)")
_TOKEN = re.compile(r"[^\W_]+(?:'[^\W_]+)?|[#№]")
_LONGEST = 90


class Told(Struct, frozen=True):
    """The ideas of a heading, the share of its words that told them, and a number in it."""

    ideas: frozenset[str]
    coverage: float
    rank: int = 1


@lru_cache(maxsize=8192)
def told_by(heading: str, *, fuzzy: bool = True) -> Told:
    """Return the ideas of a heading; ``fuzzy`` takes misspelt words too, which is slow."""
    if not heading or len(heading) > _LONGEST:
        return Told(frozenset(), 0.0)
    whole = folded(heading).strip(" :*.")
    if whole in IDEAS:
        return Told(frozenset(IDEAS[whole]), 1.0)
    bare = re.sub(r"[(\[{（].*?[)\]}）]", " ", heading)
    tokens = _TOKEN.findall(
        folded(_CAMEL.sub(" ", bare if _TOKEN.search(bare) else heading).replace("/", " / "))
    )
    short = folded(bare).strip(" :*.")
    if short in IDEAS:
        return Told(frozenset(IDEAS[short]), 1.0, _rank(tokens))
    ideas, matched, counted = _ideas(tokens, fuzzy=fuzzy)
    return Told(frozenset(ideas), matched / counted if counted else 0.0, _rank(tokens))


def _rank(tokens: Sequence[str]) -> int:
    numbers = [int(token) for token in tokens if token.isdecimal() and len(token) == 1]
    return numbers[0] if numbers and 1 <= numbers[0] <= 9 else 1


def _ideas(tokens: Sequence[str], *, fuzzy: bool) -> tuple[set[str], float, int]:
    ideas: set[str] = set()
    matched = 0.0
    at = 0
    counted = sum(1 for token in tokens if token not in _STOP and not token.isdecimal())
    while at < len(tokens):
        for long in (4, 3, 2, 1):
            phrase = " ".join(tokens[at : at + long])
            if at + long <= len(tokens) and phrase in IDEAS:
                ideas.update(IDEAS[phrase])
                matched += sum(1 for token in tokens[at : at + long] if token not in _STOP)
                at += long
                break
        else:
            found, how_much = _inside(tokens[at], fuzzy=fuzzy)
            ideas |= found
            matched += how_much
            at += 1
    return ideas, min(matched, counted), counted


@lru_cache(maxsize=8192)
def _inside(token: str, *, fuzzy: bool) -> tuple[frozenset[str], float]:
    """Return the ideas of the words inside a word, and how much of it they cover."""
    if token in _STOP or token.isdecimal() or len(token) > 40:
        return frozenset(), 0.0
    ideas: set[str] = set()
    left, covered = token, 0
    for word in _INSIDE:
        if word in left:
            ideas.update(IDEAS[word])
            covered += len(word)
            left = left.replace(word, " ", 1)
    for rest in left.split():
        if ideas and rest in IDEAS:
            ideas.update(IDEAS[rest])
            covered += len(rest)
    if not ideas and len(token) >= 7 and token[-4:] in IDEAS:  # Listpris, Ersatzteil
        return frozenset(IDEAS[token[-4:]]), 0.8
    if fuzzy and not ideas and len(token) >= 6 and token.isascii():
        like = difflib.get_close_matches(token, _LONG_WORDS, n=1, cutoff=0.86)
        if like:
            return frozenset(IDEAS[like[0]]), 0.9
    share = covered / len(token)
    return (frozenset(ideas), share) if share >= 0.4 else (frozenset(), 0.0)


@lru_cache(maxsize=8192)
def heading_meanings(heading: str, *, fuzzy: bool = True) -> Mapping[Meaning, float]:
    """Return the meanings that a heading's words propose, each with a weight of 0 to 3."""
    told = told_by(heading, fuzzy=fuzzy)
    if not told.ideas:
        return {}
    weight = 0.4 + 0.6 * told.coverage
    found = _proposals(told.ideas, leftover=told.coverage < 0.8)
    if "price" in found and least_of(heading) is not None:
        return {"price": 3.0}
    if "quantity" in found and re.search(r"[0-9]{2,}", heading):  # "quantity for 100": of a batch, not of one
        found = {"batch": 2.6, "quantity": 1.8}
    return {meaning: score * weight for meaning, score in found.items()}


def _proposals(ideas: frozenset[str], *, leftover: bool) -> dict[Meaning, float]:
    for rule in (_of_money, _of_firms, _of_amounts, _of_things):
        found = rule(ideas)
        if found:
            if leftover and "part" in found and "number" in ideas:
                found["seller_part"] = (
                    1.6  # "Norholt part number": a word we do not know before it is a firm's
                )
            return found
    return {"other": 2.0}


def _of_money(ideas: frozenset[str]) -> dict[Meaning, float]:
    if "currency" in ideas and "price" not in ideas:
        return {"currency": 3.0}
    if "price" in ideas:
        if "pack" in ideas:
            return {"pack_price": 3.0, "price": 1.0}
        return {"line_total": 3.0, "price": 1.2} if "total" in ideas else {"price": 3.0, "line_total": 1.2}
    return {}


def _of_firms(ideas: frozenset[str]) -> dict[Meaning, float]:  # noqa: C901, PLR0911 - cases in their order
    numbered = ideas & {"number", "reference", "part", "id", "maker_number", "seller_number"}
    if "alternate" in ideas:
        if "maker" in ideas and not numbered:
            return {"maker": 2.6}
        if "seller" in ideas:
            return {"seller_part" if numbered else "seller": 2.6}
        return {"maker_part": 2.6} if ideas & {"maker", "maker_number"} else {"alternate": 3.0}
    if "link" in ideas or "datasheet" in ideas:
        return {"link": 3.0 if "link" in ideas else 2.0}
    if "lead" in ideas:
        return {"lead_time": 3.0}
    if "maker" in ideas and "seller" not in ideas:
        return (
            {"maker_part": 3.0, "maker": 1.0}
            if numbered and "name" not in ideas
            else {"maker": 3.0, "maker_part": 1.0}
        )
    if "maker_number" in ideas and not ideas & {"seller", "quantity"}:
        return {"maker_part": 2.9, "part": 1.2, "name": 0.8}
    if "seller" in ideas and not ideas & {"quantity", "stock"}:
        if "note" in ideas:
            return {"note": 2.6, "seller": 1.0}
        return (
            {"seller_part": 3.0, "seller": 1.2}
            if numbered and "name" not in ideas
            else {"seller": 3.0, "maker": 1.2, "link": 1.0}
        )
    if "seller_number" in ideas:
        return {"seller_part": 2.8, "part": 1.4, "maker_part": 1.2}
    return {}


def _of_amounts(ideas: frozenset[str]) -> dict[Meaning, float]:  # noqa: PLR0911 - cases in their order
    if ideas & {"not_fitted", "fitted"} and "quantity" not in ideas:
        return {"fitted": 3.0}
    if ideas & {"minimum", "multiple"}:
        return {"moq" if "minimum" in ideas else "multiple": 2.8}
    if "stock" in ideas:
        return {"stock": 2.8}
    if "pack" in ideas and "footprint" not in ideas:
        return {"pack_size": 2.6, "unit": 0.8}
    if "batch" in ideas:
        return {"batch": 2.6, "quantity": 1.8}
    if "quantity" in ideas:
        return {"quantity": 2.0, "batch": 1.8, "line_total": 0.8} if "total" in ideas else {"quantity": 3.0}
    if "total" in ideas:
        return {"line_total": 2.0, "batch": 1.2, "quantity": 1.4}
    if "unit" in ideas:
        return {"unit": 3.0, "price": 0.9, "quantity": 0.6}
    return {"level": 3.0} if "level" in ideas else {}


def _of_things(ideas: frozenset[str]) -> dict[Meaning, float]:  # noqa: C901, PLR0912 - cases in their order
    numbered = ideas & {"number", "id", "reference"}
    if "layer" in ideas or "owner" in ideas:
        return {"other": 2.4}
    if "note" in ideas:
        return {"note": 3.0, "name": 0.6}
    if "designator" in ideas:
        return {"designators": 3.0, "part": 0.6, "name": 0.6}
    if "revision" in ideas:
        return {"revision": 3.0}
    found: dict[Meaning, float] = {}
    if "name" in ideas:
        found |= {"name": 3.0, "value": 0.6}
    if "value" in ideas:
        found |= {"value": 3.0}
    if "footprint" in ideas and "value" not in ideas:
        found |= {"footprint": 3.0, "unit": 0.5}
    if "spec" in ideas and not found:
        found |= {"spec": 2.6}
    if "part" in ideas and numbered and "item" not in ideas:
        return {"part": 3.0, "maker_part": 1.6, "seller_part": 1.0, "name": 1.0 if "name" in ideas else 0.0}
    if "item" in ideas:
        found |= {"item": 2.4, "part": 1.6 if numbered else 1.0, "name": 1.5, "designators": 0.6}
    if "material" in ideas and "part" in ideas:
        found |= {"material": 2.2, "name": 1.4, "part": 1.0}
    if not found and "part" in ideas:
        found |= {"name": 2.2, "part": 2.0, "designators": 1.4, "maker_part": 1.2}
    if not found and "category" in ideas:
        found |= {"category": 2.6, "name": 0.8, "maker_part": 0.8}
    if not found and "material" in ideas:
        found |= {"material": 2.6}
    if not found and numbered:
        found |= (
            {"designators": 2.0, "part": 1.7, "seller_part": 1.2, "maker_part": 1.0}
            if "reference" in ideas
            else {"item": 1.8, "part": 1.8, "designators": 1.0, "maker_part": 0.8}
        )
    return found


def heading_hits(row: Iterable[Cell]) -> frozenset[str]:
    """Return the different meanings that the cells of a row name as headings do."""
    found: set[str] = set()
    for cell in row:
        if not cell or cell.number is not None or len(cell.text) > _LONGEST:
            continue
        told = told_by(cell.text, fuzzy=False)
        if told.coverage >= (0.5 if len(cell.text.split()) <= 4 else 0.75):
            meanings = heading_meanings(cell.text, fuzzy=False)
            best = max(meanings, key=lambda name: meanings[name])
            found.add(best if told.rank == 1 else f"{best} {told.rank}")
    return frozenset(found)


def least_of(heading: str) -> Decimal | None:
    """Return the quantity from which a column of prices is good: 100 of "price @100" or "100+"."""
    found = re.search(
        r"(?:@|>=?|≥|\bab|\bfrom|\bdès|\bod|\bqty|от)\s*([0-9][0-9.,']*)\s*(k\b)?|\b([0-9]+)\s*()\+",
        heading,
        re.IGNORECASE,
    )
    number = read_number((found[1] or found[3]).rstrip(".,"))[0] if found else None
    return number * 1000 if found and found[2] and number else number
