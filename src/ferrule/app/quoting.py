"""`quote pack`: the slice of a product that one recipient may see, as a sheet to fill, with a record of it.

Nothing is written without a folder. The statement of what the pack reveals, and the record that leads from its line
ids back to our parts, stay in the product; they are never in the pack.
"""

from __future__ import annotations

import datetime as dt
import secrets
from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from ferrule.app.buying import refuse_rings
from ferrule.app.holidays import holidays_of
from ferrule.app.loading import Places, load_snapshot
from ferrule.app.quoting_files import Made, make_pack
from ferrule.compute.buy import Ask, buy
from ferrule.compute.disclosed_fields import LEVELS, Piece
from ferrule.compute.disclosure import (
    SecretPlace,
    Slice,
    default_parts,
    refusal,
    secret_places,
    slice_of,
)
from ferrule.compute.inference import Inferred, Revealed, inferred, revealed
from ferrule.compute.runs import runs_of
from ferrule.compute.structure import Context, structure_of
from ferrule.errors import FerruleError
from ferrule.model.bad_value import BadValue
from ferrule.model.exact import as_decimal
from ferrule.model.incoterms import Incoterm, parse_incoterm
from ferrule.model.product import Product
from ferrule.model.records.firms import Firm
from ferrule.model.text import nearest
from ferrule.source.snapshot import Snapshot
from ferrule.source.writing import write_file, write_new

__all__ = ["Packed", "Wish", "known_firm", "pack", "write_pack"]

#: Asked when nothing is said: sizes that give away nothing of a plan.
USUAL = (100, 1000)


class Wish(Struct, frozen=True, kw_only=True):
    """What is to be asked of whom: an assembly, or some parts, or what the firm is to us."""

    recipient: str
    today: dt.date
    assembly: str | None = None
    parts: tuple[str, ...] = ()
    quantities: tuple[int, ...] = ()
    term: str | None = None
    sheets: tuple[str, ...] = ("csv", "xlsx")


class Packed(Struct, frozen=True, kw_only=True):
    """A request as it would be sent; with secret words in it there are no files, and nothing can be sent."""

    product: Product
    wish: Wish
    found: Slice
    made: Made | None
    secrets: tuple[SecretPlace, ...]
    reveals: tuple[Revealed, ...]
    infers: tuple[Inferred, ...]
    agreement: str
    label: str
    faults: int
    where: Places
    written: str = ""


def pack(snapshot: Snapshot, wish: Wish) -> Packed:
    """Return the request for one recipient; raises FerruleError where it may see nothing, or nothing is asked."""
    loaded = load_snapshot(snapshot)
    product = loaded.product
    refuse_rings(product)
    firm = known_firm(product, wish.recipient)
    refused = refusal(wish.recipient, firm, wish.today)
    if refused is not None:
        raise FerruleError(refused.message, refused.hint)
    wish = _completed(product, firm, wish)
    key = next((sent.key for sent in product.disclosures.values()), "") or secrets.token_hex(16)
    found = _slice(product, firm, wish, key)
    if not any(not line.opaque for line in found.lines):
        raise FerruleError(f"there is nothing to ask of {wish.recipient}", "name parts with --parts")
    made = make_pack(product, firm, found, day=wish.today, key=key, term=_term(wish.term), sheets=wish.sheets)
    bad = secret_places(product, wish.recipient, found, _further(made))
    return Packed(
        product=product,
        wish=wish,
        found=found,
        made=None if bad else made,
        secrets=bad,
        reveals=revealed(found),
        infers=inferred(product, found),
        agreement=made.agreement,
        label=snapshot.label,
        faults=len(loaded.findings) + len(snapshot.problems),
        where=Places(loaded, snapshot),
    )


def write_pack(packed: Packed, to: Path, folder: Path) -> Packed:
    """Write the pack into ``to``, and its record and statement into the product's folder; raises FerruleError.

    Nothing of the pack may stand there already; the record is written first, so that nothing is sent unrecorded.
    """
    made = packed.made
    if made is None:
        raise FerruleError("a secret word stands in it", "nothing was written")
    inside = (folder / "disclosures").resolve()
    if to.resolve() == folder.resolve() or to.resolve() == inside or inside in to.resolve().parents:
        raise FerruleError(
            f"{to} holds records that must not be sent", "write the pack into a folder of its own"
        )
    for name in made.files:
        if (to / name).exists():
            raise FerruleError(f"{to / name} exists already", "choose another folder; nothing was written")
    for path, text in made.ours(packed.reveals, packed.infers).items():
        write_file(folder / path, text.encode())
    write_new(to, made.files)
    return replace(packed, written=str(to))


def known_firm(product: Product, name: str) -> Firm:
    """Return a firm's record; raises FerruleError for an unknown one."""
    if name not in product.firms:
        best = nearest(name, product.firms)
        hint = f"did you mean {best}?" if best else f"firms: {', '.join(product.firms) or 'none'}"
        raise FerruleError(f"no firm is called {name}", hint)
    return product.firms[name]


# --- what is asked ---------------------------------------------------------------------------------------


def _completed(product: Product, firm: Firm, wish: Wish) -> Wish:
    """Return the wish with what it leaves open: the only SKU for a factory, its own parts for a seller."""
    for number in wish.parts:
        if product.item(number) is None:
            best = nearest(number, {**product.parts, **product.assemblies})
            raise FerruleError(
                f"there is no part {number}",
                f"did you mean {best}?" if best else "`ferrule explode` lists them",
            )
    if wish.assembly is not None and wish.assembly not in product.assemblies:
        best = nearest(wish.assembly, product.assemblies)
        raise FerruleError(
            f"no assembly has the number {wish.assembly}",
            f"did you mean {best}?" if best else "name parts with --parts",
        )
    wish = replace(wish, quantities=tuple(sorted(set(wish.quantities))) or USUAL)
    if wish.assembly is not None or wish.parts:
        return wish
    if "factory" in firm.roles or firm.factory is not None:
        skus = product.skus()
        if len(skus) != 1:
            raise FerruleError(
                "nothing says which assembly is meant", f"name one: {', '.join(skus) or 'there is no SKU'}"
            )
        return replace(wish, assembly=skus[0])
    parts = default_parts(product, wish.recipient)
    if not parts:
        raise FerruleError(
            f"{wish.recipient} is no factory of ours and sells us nothing",
            "name an assembly, or parts with --parts",
        )
    return replace(wish, parts=parts)


def _slice(product: Product, firm: Firm, wish: Wish, key: str) -> Slice:
    level = firm.disclosure.level if firm.disclosure is not None else "nothing"
    return slice_of(
        product,
        structure_of(product, Context(day=wish.today)),
        wish.recipient,
        level=level,
        key=key,
        root=wish.assembly,
        parts=wish.parts or None,
        quantities=wish.quantities,
        planned=_planned(product, wish.today) if LEVELS.index(level) >= LEVELS.index("price") else None,
    )


def _planned(product: Product, today: dt.date) -> Mapping[str, tuple[tuple[Decimal, dt.date | None], ...]]:
    """Return how much of each part the plans need, losses counted, and the days they need it."""
    found: dict[str, list[tuple[Decimal, dt.date | None]]] = {}
    public = holidays_of(product).days
    for _, plan in sorted(product.plans.items()):
        for row in buy(product, runs_of(product, plan, (), public), Ask(today=today), netted=False).rows:
            for _, wanted in row.wanted:
                if wanted.gross > 0:
                    found.setdefault(row.part, []).append((_number(wanted.gross), wanted.day))
    return {part: tuple(needs) for part, needs in found.items()}


def _number(much: Fraction) -> Decimal:
    ended = as_decimal(much)
    return ended if ended is not None else Decimal(-(-much.numerator // much.denominator))


def _term(written: str | None) -> Incoterm | None:
    if written is None:
        return None
    try:
        return parse_incoterm(written)
    except BadValue as error:
        raise FerruleError(error.message, f'write it as "{error.forms[0]}"' if error.forms else "") from None


def _further(made: Made) -> Sequence[Piece]:
    """Return the further texts of a pack in which no secret word may stand: its names and its cover."""
    firm, product = made.recipient, made.product
    texts = [Piece(made.cover, "firm", firm), *(Piece(name, "firm", firm) for name in made.files)]
    return [*texts, *(Piece(heading, "product", product) for heading in made.headings)]
