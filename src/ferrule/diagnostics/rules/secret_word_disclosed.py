"""A request for a quote would show a secret word to a firm that is not cleared for it.

## What it finds

Names, notes, values, file names and other texts with a word of `secret_words` in [policy], which a firm would see
in what it is asked for by default: a factory for every SKU, a seller for what it sells. Only what the firm's level
of disclosure shows counts, and words it is cleared for do not.

## Why it matters

A code name or a customer's name in a part's name travels with the first sheet that is sent, and cannot be called
back. `ferrule quote pack` refuses such a sheet; this finding says so before a quote is urgent.

## Example

Bad:

```toml
[policy]
secret_words = ["Fieldfare"]

[part.LBL-1]
name = "Label Fieldfare, front"
```

Good:

```toml
[part.LBL-1]
name = "Label, front"
```

## How to fix

Word it otherwise, or clear the firm with `cleared_words` in its disclosure if it has to know.

## Who may accept it

Whoever answers for what is disclosed, when the word is no longer secret to that firm. Usual exception: an agreement
is on file that covers it; then clear the firm instead.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.compute.disclosure import default_parts, secret_places, slice_of
from ferrule.compute.structure import Context, Structure, structure_of
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._wording import listed
from ferrule.model.product import Product
from ferrule.model.records.firms import Firm

__all__ = ["RULE"]

_Place = tuple[str, str, tuple[str | int, ...]]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield one fault for each text with a secret word and word, with the firms that would see it."""
    if not product.policy.secret_words:
        return
    structure = structure_of(product, Context(day=setting.today))
    if structure.order is None:
        return  # assembly-ring speaks
    seen: dict[tuple[_Place, str], list[str]] = {}
    for name, firm in sorted(product.firms.items()):
        for place, word in _shown(product, structure, name, firm):
            firms = seen.setdefault((place, word), [])
            if name not in firms:
                firms.append(name)
    for ((kind, number, path), word), firms in sorted(seen.items(), key=lambda row: (str(row[0]), row[1])):
        if (kind, number) in product.homes:
            yield Fault(
                message=f'the secret word "{word}" would be shown to {listed(firms)}',
                place=place_of(product, kind, number, *path),
                hint="word it otherwise, or add it to cleared_words of who must know",
                facts=(word, *firms),
            )


def _shown(product: Product, structure: Structure, name: str, firm: Firm) -> Iterator[tuple[_Place, str]]:
    """Yield the places of secret words in what a firm would be asked for by default."""
    if firm.disclosure is None or firm.disclosure.level == "nothing":
        return
    level = firm.disclosure.level
    makes = "factory" in firm.roles or firm.factory is not None
    roots: list[str | None] = [*product.skus()] if makes else [None]
    for root in roots:
        parts = None if root is not None else default_parts(product, name)
        found = slice_of(product, structure, name, level=level, key="", root=root, parts=parts)
        for each in secret_places(product, name, found):
            yield (each.piece.kind, each.piece.number, each.piece.path), each.word


RULE = Rule(check=check, blocks_from="evt", warns_from="evt")
