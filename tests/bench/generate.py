"""Products of any size, the same for the same arguments, with files as a team would keep them.

One SKU on top, five layers of assemblies below it, parts at the bottom: a part lies six levels down. Nothing
here is random but by the seed. Firms, parts and prices are invented.
"""

from __future__ import annotations

import argparse
import dataclasses
import itertools
import os
import random
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

__all__ = ["TODAY", "TOP", "Made", "commit", "make", "stage_change"]

TOP = "A-00000"
#: The day the facts of every generated product are good for.
TODAY = "2026-11-25"

_LAYERS = 5
_PARTS_A_FILE = 50
_MAKERS, _SELLERS = 40, 12
_TWICE = 0.25  # share of assemblies that a second parent uses as well
_SINGLE = 0.05  # share of parts with one source only
_UNPRICED = 100  # of each hundred parts the first has no price yet from its first source
_STATEMENT = "docs/statements/all-makers.txt"


@dataclasses.dataclass(frozen=True)
class _Kind:
    prefix: str
    word: str
    part_class: str
    designator: str = ""
    unit: str = "each"
    weight: int = 1


_KINDS = (
    _Kind("R", "Resistor", "electrical", "R", weight=28),
    _Kind("C", "Capacitor", "electrical", "C", weight=28),
    _Kind("L", "Inductor", "electrical", "L", weight=5),
    _Kind("D", "Diode", "electrical", "D", weight=6),
    _Kind("Q", "Transistor", "electrical", "Q", weight=5),
    _Kind("U", "Integrated circuit", "electrical", "U", weight=8),
    _Kind("J", "Connector", "electrical", "J", weight=5),
    _Kind("SCR", "Screw", "mechanical", weight=10),
    _Kind("WIRE", "Wire", "cable", unit="m", weight=3),
    _Kind("LBL", "Label", "label", weight=2),
)

_MOIST = ("D", "Q", "U")  # whose class of moisture sensitivity is printed on the bag


@dataclasses.dataclass(frozen=True)
class _Part:
    number: str
    kind: _Kind


@dataclasses.dataclass(frozen=True)
class Made:
    """What was made: the SKU on top, a part of common use, a file to change, how many files and bytes of TOML."""

    folder: Path
    top: str
    part: str
    changed: Path
    files: int
    size: int


def make(  # noqa: PLR0913  three sizes, a seed and a switch
    folder: Path, *, parts: int, assemblies: int, lines: int, seed: int = 1, repository: bool = False
) -> Made:
    """Return what was written below ``folder``: a product with exactly so many parts, assemblies and lines.

    With ``repository`` it is a git repository with one commit. Raises ValueError for sizes that do not fit
    together: at least 6 assemblies, a line for each part, and lines enough to join the assemblies.
    """
    rng = random.Random(seed)  # noqa: S311  the same product for the same seed, nothing secret
    layers = _layers(assemblies)
    below = _links(layers, rng)
    known = _parts(parts, rng)
    used = _uses(lines - sum(map(len, below)), assemblies, known, rng)
    files = [
        *_frame(),
        *_parts_files(known, rng),
        *(
            (f"assemblies/{_group(layers, number)}/{_assembly_id(number)}.toml", text)
            for number, text in _assemblies(layers, below, used, rng)
        ),
    ]
    for name, text in files:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")
    if repository:
        commit(folder)
    written = [text for name, text in files if name.endswith(".toml")]
    middle = assemblies // 2
    return Made(
        folder=folder,
        top=TOP,
        part=known[parts // 2].number,
        changed=folder / f"assemblies/{_group(layers, middle)}/{_assembly_id(middle)}.toml",
        files=len(written),
        size=sum(map(len, written)),
    )


# --- the shape -----------------------------------------------------------------------------------------


def _layers(assemblies: int) -> list[range]:
    """Return the numbers of the assemblies of each layer: one on top, then each about twice the one above."""
    if assemblies <= _LAYERS:
        raise ValueError(f"{assemblies} assemblies do not make {_LAYERS + 1} layers")
    shares = [2**layer for layer in range(_LAYERS)]
    spare = assemblies - 1 - _LAYERS
    sizes = [1 + spare * share // sum(shares) for share in shares]
    sizes[-1] += assemblies - 1 - sum(sizes)
    found, start = [range(1)], 1
    for size in sizes:
        found.append(range(start, start + size))
        start += size
    return found


def _links(layers: list[range], rng: random.Random) -> list[list[int]]:
    """Return the assemblies directly inside each assembly."""
    below: list[list[int]] = [[] for layer in layers for _ in layer]
    for above, layer in itertools.pairwise(layers):
        for number in layer:
            first = rng.choice(above)
            below[first].append(number)
            if rng.random() < _TWICE and (second := rng.choice(above)) != first:
                below[second].append(number)
    return below


def _parts(count: int, rng: random.Random) -> list[_Part]:
    kinds = sorted(
        rng.choices(_KINDS, [kind.weight for kind in _KINDS], k=count), key=lambda kind: kind.prefix
    )
    return [_Part(f"{kind.prefix}-{number:06d}", kind) for number, kind in enumerate(kinds)]


def _uses(lines: int, assemblies: int, known: list[_Part], rng: random.Random) -> list[list[_Part]]:
    """Return the parts directly inside each assembly: every part somewhere, some far more often than others."""
    if lines < max(assemblies, len(known)):
        raise ValueError(
            "too few lines: each part and each assembly needs one beside those that join assemblies"
        )
    used: list[list[_Part]] = [[] for _ in range(assemblies)]
    shuffled = rng.sample(known, len(known))
    for slot in range(lines):
        part = shuffled[slot] if slot < len(known) else shuffled[int(len(known) * rng.random() ** 2)]
        used[slot if slot < assemblies else rng.randrange(assemblies)].append(part)
    return used


def _assembly_id(number: int) -> str:
    return f"A-{number:05d}"


def _group(layers: list[range], number: int) -> str:
    """Return the folder of an assembly: its layer, a thousand to a folder."""
    layer = next(index for index, members in enumerate(layers) if number in members)
    return f"layer-{layer}/{number // 1000:02d}"


# --- the files -----------------------------------------------------------------------------------------


def _frame() -> Iterator[tuple[str, str]]:
    yield (
        "product.toml",
        """\
[product]
id = "BENCH"
name = "A product of measured size"
company = "Nowhere Instruments"
owner = "N. Body"
currency = "EUR"
stage = "dvt"
markets = ["EU"]
""",
    )
    makers = "\n".join(
        f'[firm.maker-{n:02d}]\nname = "Maker {n}"\nroles = ["maker"]\ncountry = "{("JP", "TW", "DE", "CZ")[n % 4]}"\n'
        for n in range(_MAKERS)
    )
    sellers = "\n".join(
        f'[firm.seller-{n:02d}]\nname = "Seller {n}"\nroles = ["seller"]\ncountry = "NL"\ncurrency = "EUR"\n'
        'payment = [{ share = "100 %", due = "invoice + 30 days" }]\n'
        for n in range(_SELLERS)
    )
    yield "firms/makers.toml", makers
    yield "firms/sellers.toml", sellers
    yield (
        "firms/works.toml",
        """\
[firm.works]
name = "The works"
roles = ["factory"]
country = "VN"
currency = "EUR"
payment = [{ share = "100 %", due = "shipment" }]

[channel.web]
name = "Web shop"
kind = "direct"
currency = "EUR"
country = "EU"
tax_included = true
tax = "21 %"
""",
    )
    yield _STATEMENT, "Every part conforms. An invented statement.\n"


def _parts_files(known: list[_Part], rng: random.Random) -> Iterator[tuple[str, str]]:
    for start in range(0, len(known), _PARTS_A_FILE):
        some = known[start : start + _PARTS_A_FILE]
        first, last = some[0].number.lower(), some[-1].number.lower()
        texts = ["#:schema ../.ferrule/schema/parts.schema.json", *(_part(part, rng) for part in some)]
        yield f"parts/{first}-to-{last}.toml", "\n\n".join(texts)


def _part(part: _Part, rng: random.Random) -> str:
    kind = part.kind
    machine = bool(kind.designator)
    sources = 1 if rng.random() < _SINGLE else 2
    maker = rng.randrange(_MAKERS)
    seller = rng.randrange(_SELLERS)
    rows = [
        f"[part.{part.number}]",
        f'name = "{kind.word} {rng.randrange(1, 10000)}"',
        f'class = "{kind.part_class}"',
        *([f'unit = "{kind.unit}"'] if kind.unit != "each" else []),
        *([f'package = "{rng.choice(("0402", "0603", "0805", "1206"))}"'] if machine else []),
        *(['moisture = { level = "1" }'] if kind.designator in _MOIST else []),
        f'lifecycle = {{ status = "active", checked = 2026-10-02, evidence = "maker {maker} list, October 2026" }}',
        'attrition = "1.5 %"',
        f"setup_loss = {40 if machine else 0}",
        f'placement = "{"machine" if machine else "hand"}"',
        f'substances = [{{ rule = "2011/65/EU with 2015/863", markets = ["EU"], statement = "{_STATEMENT}", date = 2026-05-04 }}]',
    ]
    for rank in range(sources):
        rows += ["", *_source(part, rank, (maker + 7 * rank) % _MAKERS, (seller + rank) % _SELLERS, rng)]
        if rank == 0 and int(part.number[-6:]) % _UNPRICED == 0:
            rows = [row for row in rows if not row.startswith("price")]
    return "\n".join(rows) + "\n"


def _source(part: _Part, rank: int, maker: int, seller: int, rng: random.Random) -> list[str]:
    pack = rng.choice((500, 1000, 4000, 5000))
    cents = rng.randrange(20, 40000)
    breaks = ", ".join(
        f"{{ from = {pack * step}, each = {cents * factor // 100 / 10000:.4f} }}"
        for step, factor in ((1, 100), (5, 90), (20, 80))[: rng.randrange(1, 4)]
    )
    return [
        f"[[part.{part.number}.source]]",
        f'maker = "maker-{maker:02d}"',
        f'maker_part = "M{maker:02d}-{part.number}-{rank}"',
        f'plant = "Works of maker {maker}"',
        f'seller = "seller-{seller:02d}"',
        'status = "approved"',
        f"rank = {rank + 1}",
        'currency = "EUR"',
        f"price = [{breaks}]",
        f'incoterm = "DAP works, seller {seller}"',
        f"moq = {pack}",
        f"multiple = {pack}",
        f'pack = [{{ form = "{"reel" if part.kind.designator else "bag"}", size = {pack} }}]',
        f'lead_time = "{rng.randrange(2, 27)} weeks"',
        "lead_stated = 2026-10-01",
        f'quote = "Q-26-{rng.randrange(1, 10000):04d}"',
        "quoted = 2026-10-01",
        "valid_until = 2027-12-31",
        'evidence = "price list, October 2026"',
        f'origin = "{("JP", "TW", "DE", "CZ")[maker % 4]}"',
        'origin_evidence = "maker\'s declaration 2026"',
    ]


def _assemblies(
    layers: list[range], below: list[list[int]], used: list[list[_Part]], rng: random.Random
) -> Iterator[tuple[int, str]]:
    for layer, members in enumerate(layers):
        for number in members:
            rows = [*_head(number, layer, rng), *_lines(below[number], used[number], rng)]
            yield number, "\n".join(rows)


def _head(number: int, layer: int, rng: random.Random) -> list[str]:
    cost = f"{rng.randrange(20, 500) / 100:.2f}"
    good = 'yield = "99 %", yield_seen = "98 %", yield_evidence = "evt build, 60 units"'
    rows = [
        "#:schema ../../../.ferrule/schema/assembly.schema.json",
        "",
        "[assembly]",
        f'id = "{_assembly_id(number)}"',
        f'name = "Assembly {number} of layer {layer}"',
        'rev = "B"',
        'factory = "works"',
        'currency = "EUR"',
        'supply = "turnkey"',
        f'steps = [{{ name = "assemble", cost = {cost}, time = "1 working day", {good} }}]',
        "",
    ]
    if layer:
        return rows
    rows[-1:] = ['barcode = "2012345678903"', "bulk = true", ""]
    return [*rows, "[assembly.sale.web]", 'list_price = "18900 EUR"', "weeks = 16", ""]


def _lines(below: list[int], used: list[_Part], rng: random.Random) -> Iterator[str]:
    item = 0
    for child in below:
        item += 10
        yield f'[[line]]\nitem = {item}\npart = "{_assembly_id(child)}"\nqty = {rng.choice((1, 1, 1, 2, 4))}\n'
    placed = dict.fromkeys((kind.designator for kind in _KINDS), 0)
    for part in used:
        item += 10
        yield f'[[line]]\nitem = {item}\npart = "{part.number}"\n{_amount(part.kind, placed, rng)}\n'


def _amount(kind: _Kind, placed: dict[str, int], rng: random.Random) -> str:
    if kind.unit == "m":
        return f'qty = "0.{rng.randrange(1, 99):02d} m"'
    count = rng.choice((1, 1, 1, 2, 3, 4, 8))
    if not kind.designator:
        return f"qty = {count}"
    first = placed[kind.designator] + 1
    placed[kind.designator] += count
    last = f"-{kind.designator}{first + count - 1}" if count > 1 else ""
    return f'qty = {count}\ndesignators = "{kind.designator}{first}{last}"'


# --- git -----------------------------------------------------------------------------------------------


def commit(folder: Path) -> None:
    """Make ``folder`` a git repository with everything in it as one commit, the same for the same files."""
    _git(folder, "init", "--quiet", "--initial-branch=main")
    _git(folder, "add", "--all")
    _git(folder, "commit", "--quiet", "--message=A product of measured size")


def stage_change(made: Made) -> None:
    """Change the file that ``made`` names and stage it, as before a commit."""
    text = made.changed.read_text(encoding="utf-8")
    made.changed.write_text(text.replace('rev = "B"', 'rev = "C"'), encoding="utf-8", newline="\n")
    _git(made.folder, "add", "--", str(made.changed))


def _git(folder: Path, *arguments: str) -> None:
    own = {name: value for name, value in os.environ.items() if not name.startswith("GIT_")}
    who = {"NAME": "N. Body", "EMAIL": "n.body@nowhere.example", "DATE": f"{TODAY}T12:00:00+00:00"}
    for role in ("AUTHOR", "COMMITTER"):
        own |= {f"GIT_{role}_{name}": value for name, value in who.items()}
    own |= {"GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1"}
    subprocess.run(["git", "-C", str(folder), "-c", "gc.auto=0", *arguments], env=own, check=True)


def main() -> None:
    """Write one product as the command line says."""
    parser = argparse.ArgumentParser(description="Write a product of a given size.")
    parser.add_argument("folder", type=Path, help="an empty or new folder")
    parser.add_argument("--parts", type=int, default=10_000)
    parser.add_argument("--assemblies", type=int, default=1_000)
    parser.add_argument("--lines", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--git", action="store_true", help="make it a git repository with one commit")
    asked = parser.parse_args()
    if asked.folder.exists() and any(asked.folder.iterdir()):
        parser.error(f"{asked.folder} is not empty")
    try:
        made = make(
            asked.folder,
            parts=asked.parts,
            assemblies=asked.assemblies,
            lines=asked.lines,
            seed=asked.seed,
            repository=asked.git,
        )
    except ValueError as error:
        parser.error(str(error))
    sys.stdout.write(f"{made.files} files, {made.size / 2**20:.1f} MiB; top {made.top}, part {made.part}\n")


if __name__ == "__main__":
    main()
