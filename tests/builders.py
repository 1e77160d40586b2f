"""Small products for tests: everything but the fact under test has a default."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal

from ferrule.compute.structure import Context
from ferrule.load.build import Loaded, load_product
from ferrule.model.product import Product

TODAY = dt.date(2026, 11, 25)
CONTEXT = Context(day=TODAY)

HEAD = """\
[product]
id = "T"
name = "Test"
currency = "EUR"
stage = "dvt"
markets = ["EU"]
"""


def load(files: Mapping[str, str | bytes]) -> Loaded:
    """Return what the reader makes of some files; product.toml has a default."""
    texts = {"product.toml": HEAD} | dict(files)
    return load_product(
        (path, text.encode() if isinstance(text, str) else text) for path, text in texts.items()
    )


def product(files: Mapping[str, str | bytes]) -> Product:
    """Return the product of files that must be in order."""
    loaded = load(files)
    assert loaded.findings == ()
    return loaded.product


def structure_files(bom: Mapping[str, Mapping[str, int | Decimal]]) -> dict[str, str]:
    """Return the files of assemblies with these children and quantities; names without children are parts."""
    files = {}
    leaves = sorted({child for children in bom.values() for child in children} - set(bom))
    if leaves:
        files["parts/all.toml"] = "".join(f"[part.{leaf}]\n" for leaf in leaves)
    for parent, children in bom.items():
        lines = [f'[assembly]\nid = "{parent}"\n']
        for number, (child, qty) in enumerate(children.items(), 1):
            lines.append(f'[[line]]\nitem = {number}\npart = "{child}"\nqty = {qty}\n')
        files[f"assemblies/{parent}.toml"] = "".join(lines)
    return files
