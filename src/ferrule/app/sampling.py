"""`sample`: the inspection plan of a lot, its verdict, and whether the plan stood before the lot was made."""

from __future__ import annotations

import datetime as dt
import posixpath
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from pathlib import Path

from ferrule.app.structure import Asked
from ferrule.compute.first_article import Checked, first_articles
from ferrule.compute.lot_plan import CLASSES, LotPlan, Precedence, Protection, Regime, plan_lot
from ferrule.compute.sampling_tables import AQLS
from ferrule.errors import FerruleError
from ferrule.load.toml_text import block_text
from ferrule.model.bad_value import BadValue
from ferrule.model.percent import parse_percent
from ferrule.model.records.assembly import Quality
from ferrule.model.text import nearest
from ferrule.source.committed import committed
from ferrule.source.writing import write_file

__all__ = ["articles_of", "defects", "lot_plan", "precedence", "protection", "quality_of", "write_sheet"]


def quality_of(asked: Asked, number: str) -> Quality:
    """Return the quality record of an assembly, or of the only one right below it; raises FerruleError."""
    _refuse_unknown(asked, number)
    product = asked.product
    for near in ([number], [edge.child for edge in asked.structure.edges.get(number, ())]):
        found = [
            quality
            for each in dict.fromkeys(near)
            if each in product.assemblies and (quality := product.assemblies[each].quality) is not None
        ]
        if len(found) == 1:
            return found[0]
    raise FerruleError(
        f"{number} has no quality plan",
        'add quality = { level = "II", critical = "0", major = "1.0", minor = "4.0" }',
    )


def articles_of(asked: Asked, number: str) -> tuple[Checked, ...]:
    """Return the characteristics of an assembly and of all below it; raises FerruleError for an unknown one."""
    _refuse_unknown(asked, number)
    return first_articles(asked.product, asked.structure, number)


def _refuse_unknown(asked: Asked, number: str) -> None:
    if number not in asked.product.assemblies:
        best = nearest(number, asked.product.assemblies)
        raise FerruleError(
            f"no assembly has the number {number}",
            f"did you mean {best}?" if best else "`ferrule explode` without a number lists the assemblies",
        )


def protection(bad: str, risk: str) -> Protection:
    """Return what a plan that accepts none must catch; raises FerruleError for what is no share."""
    shares = []
    for option, written in (("--bad", bad), ("--risk", risk)):
        try:
            share = Fraction(parse_percent(written).fraction)
        except BadValue as error:
            raise FerruleError(f"{option}: {error.message}", f'write it as {option} "1 %"') from None
        if not 0 < share < 1:
            raise FerruleError(
                f"{option} is {written}; it lies between 0 % and 100 %", f'such as {option} "1 %"'
            )
        shares.append(share)
    return Protection(*shares)


def lot_plan(number: str, quality: Quality, lot: int, regime: Regime) -> LotPlan:
    """Return the plans of a lot; raises FerruleError for a limit or lot that the tables do not have."""
    try:
        return plan_lot(number, quality, lot, regime)
    except ValueError as error:
        raise FerruleError(f"quality plan of {number}: {error}", f"limits: 0, {', '.join(AQLS)}") from None


def defects(written: str | None) -> dict[str, int]:
    """Return the defects found by class, from ``major=1,minor=3``; raises FerruleError."""
    found: dict[str, int] = {}
    for word in (written or "").split(","):
        name, _, number = (each.strip() for each in word.partition("="))
        if not name and not number:
            continue
        if (
            name not in CLASSES
            or not (number.isascii() and number.isdecimal())
            or len(number) > 9
            or name in found
        ):
            raise FerruleError(
                f"{word.strip()!r} is no number of defects of a class",
                "write it as critical=0,major=1,minor=3",
            )
        found[name] = int(number)
    return found


def precedence(quality: Quality, folder: Path, made: dt.date) -> Precedence:
    """Return whether a quality plan stood before a lot; ``folder`` is the product's on the disk."""
    name = quality.file or ""
    inside = bool(name) and not posixpath.isabs(name) and ".." not in name.split("/")
    path = folder / name
    found = committed(path) if inside and path.is_file() else None
    return Precedence(
        made=made,
        signed=quality.signed,
        commit=found.commit if found is not None else "",
        committed=found.day if found is not None else None,
        file=name,
    )


def write_sheet(path: Path, tables: Iterable[tuple[Sequence[str], Mapping[str, object]]]) -> None:
    """Write a lot sheet; raises FerruleError, also where it would be read as a file of the product."""
    if path.suffix == ".toml" and _in_product(path.parent):
        raise FerruleError(f"{path} would be read as a file of the product", f"name it {path.stem}.lot")
    head = "# Inspection sheet of one lot, written by `ferrule sample`.\n"
    write_file(path, "\n".join([head, *(block_text(name, fields) for name, fields in tables)]).encode())


def _in_product(folder: Path) -> bool:
    """Return whether a folder lies in a product."""
    here = folder.resolve()
    return any((each / "product.toml").is_file() for each in (here, *here.parents))
