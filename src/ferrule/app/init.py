"""`init`: the smallest product that is in order, for its owner to fill."""

from __future__ import annotations

from pathlib import Path

from ferrule.errors import FerruleError
from ferrule.model.bad_value import BadValue
from ferrule.model.currencies import MINOR_UNITS
from ferrule.source.packaged import schema_files
from ferrule.source.writing import write_new

__all__ = ["init", "skeleton"]

_PRODUCT = """\
#:schema .ferrule/schema/product.schema.json

[product]
id = {id}
name = {name}
currency = {currency}        # home currency; everything is added up in it
stage = "prototype"     # prototype, evt, dvt, pvt, production, service: decides which findings block
markets = []            # where it will be sold, such as ["EU", "GB"]
"""

_PARTS = """\
#:schema ../.ferrule/schema/parts.schema.json

# A part is anything with a part number. Unknown facts are left out, never guessed: an absent price is
# unknown, a price of 0 is free.

[part.SCREW-M3X8]
name = "Screw M3 x 8, pan head, stainless"
class = "mechanical"

# [[part.SCREW-M3X8.source]]
# maker = "a-maker"               # short names of firms, defined in firms/*.toml
# seller = "a-seller"
# status = "approved"
# currency = {currency}
# price = [{{ from = 100, each = 0.034 }}, {{ from = 1000, each = 0.021 }}]
# moq = 100
# lead_time = "2 weeks"
# quoted = 2026-10-01
"""

_ASSEMBLY = """\
#:schema ../.ferrule/schema/assembly.schema.json

[assembly]
id = {top}
name = {name}

[[line]]
item = 10               # unique in this assembly, never reused
part = "SCREW-M3X8"
qty = 4
"""

_HOOK = """\
repos:
  - repo: ADDRESS-OF-THE-FERRULE-REPOSITORY
    rev: v0.1.0
    hooks:
      - id: ferrule-check
"""


def skeleton(name: str, number: str, currency: str) -> dict[str, bytes]:
    """Return the files of a new product by path; raises FerruleError for words that cannot stand in them."""
    from ferrule.load.schema import toml_value

    if currency not in MINOR_UNITS:
        raise FerruleError(f"{currency} is no currency of ISO 4217", "write it as EUR, USD, JPY ...")
    if not name.strip() or any(ord(char) < 32 for char in name):
        raise FerruleError("a product needs a name on one line", 'pass --name "Name of the product"')
    try:
        from ferrule.model.ids import parse_id

        parse_id(number)
    except BadValue as error:
        raise FerruleError(
            f"{error.message}, and the product needs one", "pass --id with letters and digits"
        ) from None
    words = {
        "id": toml_value(number),
        "name": toml_value(name),
        "currency": toml_value(currency),
        "top": toml_value(f"{number}-100"),
    }
    texts = {
        "product.toml": _PRODUCT,
        "parts/parts.toml": _PARTS,
        "assemblies/top.toml": _ASSEMBLY,
    }
    files = {path: text.format_map(words).encode() for path, text in texts.items()}
    files[".pre-commit-config.example.yaml"] = _HOOK.encode()
    return files | {f".ferrule/schema/{file}": data for file, data in schema_files().items()}


def init(folder: Path, name: str, number: str, currency: str) -> list[str]:
    """Write a new product; return the paths written. Refuses a folder that already holds one of them."""
    files = skeleton(name, number, currency)
    write_new(folder, files)
    return sorted(files)
