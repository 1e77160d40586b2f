"""A frozen build as text: the same bytes whatever the order, read back, and guarded by its own hash."""

from __future__ import annotations

import datetime as dt
import hashlib
import itertools
from decimal import Decimal
from pathlib import Path

import msgspec
import pytest
import tomli
from hypothesis import given
from hypothesis import strategies as st

from builders import HEAD, TODAY, load, product
from ferrule.compute.lock import Stamp, lock_of
from ferrule.compute.lock_diff import lock_differences
from ferrule.compute.lock_form import Hashes, Lock, LockedFile, LockedPart, LockedTool
from ferrule.compute.lock_text import lock_text, own_hash, stated_hash
from ferrule.errors import FerruleError
from ferrule.load.build import load_product
from ferrule.load.lock import FORMATS, read_lock
from ferrule.model.product import Product

KEPT = Path(__file__).parent / "frozen"

FILES = {
    "parts/a.toml": (
        '[part.CAP]\nname = "Capacitor \\"100 n\\""\nclass = "electrical"\nsafety_critical = true\n'
        'approval = [{ role = "safety", by = "M. Tarn", date = 2026-09-30 }]\n'
        '[[part.CAP.source]]\nmaker = "ashfield"\nseller = "norholt"\nstatus = "approved"\nrank = 2\ncurrency = "USD"\n'
        "price = [{ from = 5000, each = 0.00620 }, { from = 50000, each = 0.0051 }]\nmoq = 5000.0\n"
        'quoted = 2026-10-01\nvalid_until = 2027-01-31\nlead_time = "12 weeks"\n'
        '[[part.CAP.source]]\nmaker = "belmoor"\nseller = "norholt"\nstatus = "approved"\nrank = 1\ncurrency = "USD"\n'
        "price = [{ from = 1, pack = 38.00 }]\n"
        'pack = [{ form = "reel", size = 5000 }]\n'
    ),
    "parts/b.toml": '[part.BOX]\nclass = "packaging"\n[part.GLUE]\nunit = "ml"\nclass = "as-required"\n[part.LOOSE]\n',
    "assemblies/board.toml": (
        '[assembly]\nid = "BOARD"\nrev = "C"\n'
        'steps = [{ name = "solder", yield = "98.5 %", program = { kind = "test program", file = "docs/t.bin", rev = "2" } }]\n'
        '[[line]]\nitem = 20\npart = "GLUE"\nrate = "0.35 ml"\n'
        '[[line]]\nitem = 10\npart = "CAP"\nqty = 14\ndesignators = "C1-C14"\nnote = "torque 0.35 Nm"\n'
        '[[line]]\nitem = 30\npart = "LOOSE"\nqty = 1\nfitted = false\n'
    ),
    "assemblies/unit.toml": (
        '[assembly]\nid = "UNIT"\n[assembly.sale.web]\nlist_price = "5 EUR"\n'
        '[assembly.quality]\nfile = "docs/q.txt"\nmajor = "1.0"\nsigned = 2026-10-30\n'
        '[[line]]\nitem = 10\npart = "BOARD"\nqty = 2\n[[line]]\nitem = 20\npart = "BOX"\nqty = 1\nper = 24\n'
    ),
    "tools/t.toml": '[tool.T-1]\nname = "Jig"\nkind = "fixture"\nlife = 300000\nused = 1200.50\ncustodian = "norholt"\n',
    "firms/f.toml": (
        '[firm.norholt]\nname = "Norholt"\npayment = [{ share = "30 %", due = "order" }, { share = "rest", due = "shipment" }]\n'
    ),
    "plans/p.toml": (
        '[plan]\nid = "p"\nstart = 2026-11-30\nend = "week 9"\n'
        '[[build]]\nname = "b"\nsku = "UNIT"\nqty = 3\nserials = "7, 1-3, 4"\n'
    ),
    "waivers/w.toml": (
        '[[waiver]]\nrule = "sole-source"\nsubject = "part/CAP"\nreason = "x"\nuntil = 2027-01-01\nquantity = 50\n'
    ),
}


def stamp(found: Product, day: dt.date = TODAY) -> Stamp:
    files = {path: LockedFile(blob=f"{n:040x}", sha256=f"{n:064x}") for n, path in enumerate(sorted(FILES))}
    return Stamp(
        name="first", day=day, stage="dvt", commit="c" * 40, ferrule="0.1.0", rules="92 rules 00", files=files,
        waivers=found.waivers,
    )  # fmt: skip


def small() -> Lock:
    found = msgspec.structs.replace(product(FILES), digests={"docs/t.bin": "d" * 64})
    return lock_of(found, stamp(found))


def test_quantities_by_hand() -> None:
    """UNIT holds two boards and a box for every 24: 28 capacitors, 0.7 ml, 1/24 box, and nothing that is not fitted."""
    lock = small()
    each = {
        number: [(row.sku, row.qty, row.at_least) for row in part.each] for number, part in lock.part.items()
    }
    assert each == {
        "BOX": [("UNIT", "1/24", False)],
        "CAP": [("UNIT", "28", False)],
        "GLUE": [("UNIT", "0.7", False)],
    }
    lines = "UNIT BOARD 2 each\nUNIT BOX 1/24 each\nUNIT CAP 28 each\nUNIT GLUE 0.7 ml\n"
    assert lock.hashes.list_ == hashlib.sha256(lines.encode()).hexdigest()


def test_an_unknown_quantity_is_a_lower_bound() -> None:
    found = product(
        FILES | {"assemblies/board.toml": FILES["assemblies/board.toml"].replace("qty = 14\n", "")}
    )
    lock = lock_of(found, stamp(found))
    assert [(row.qty, row.at_least) for row in lock.part["CAP"].each] == [("0", True)]


def test_where_nothing_is_sold_the_topmost_assemblies_are_frozen() -> None:
    text = FILES["assemblies/unit.toml"].replace('[assembly.sale.web]\nlist_price = "5 EUR"\n', "")
    found = product(FILES | {"assemblies/unit.toml": text})
    assert {row.sku for part in lock_of(found, stamp(found)).part.values() for row in part.each} == {"UNIT"}


def test_the_chosen_source_goes_by_rank_and_all_are_kept() -> None:
    sources = small().part["CAP"].source
    assert [(source.maker, source.chosen) for source in sources] == [("ashfield", False), ("belmoor", True)]
    assert sources[1].pack_size == "5000"
    assert sources[1].price[0].pack == "38.00 USD"


def test_the_text() -> None:
    text = lock_text(small())
    assert text.startswith("# A frozen build, written by `ferrule freeze`.")
    assert "\r" not in text
    assert text.endswith("\n")
    tree = tomli.loads(text)
    assert next(iter(tree)) == "format"
    assert 'name = "Capacitor \\"100 n\\""\n' in text
    assert "used = 1200.5\n" in text
    assert "life = 300000\n" in text
    assert "moq = 5000\n" in text
    assert '  { from = 5000, each = "0.00620 USD" },\n' in text
    assert '"p/b" = { sku = "UNIT", qty = 3, serials = "1-4, 7" }\n' in text
    assert '"docs/q.txt" = ""\n' in text
    assert f'"docs/t.bin" = "{"d" * 64}"\n' in text
    assert '  { item = 30, part = "LOOSE", qty = "1", counts = "not fitted" },\n' in text
    assert list(tree["part"]) == sorted(tree["part"])
    assert [line["item"] for line in tree["assembly"]["BOARD"]["line"]] == [10, 20, 30]


@given(st.permutations(sorted({"product.toml": HEAD, **FILES}.items())))
def test_the_order_of_files_does_not_matter(files: list[tuple[str, str]]) -> None:
    rows = [(path, text.encode()) for path, text in files]
    found = msgspec.structs.replace(load_product(rows).product, digests={"docs/t.bin": "d" * 64})
    assert lock_text(lock_of(found, stamp(found))) == lock_text(small())


def test_the_order_of_records_within_a_file_does_not_matter() -> None:
    parts = FILES["parts/b.toml"].split("[part.")[1:]
    texts = set()
    for turned in itertools.permutations(parts):
        found = product(FILES | {"parts/b.toml": "".join(f"[part.{part}" for part in turned)})
        texts.add(lock_text(lock_of(found, stamp(found))))
    assert len(texts) == 1


def test_read_back_and_written_again() -> None:
    text = lock_text(small())
    again = read_lock("first.lock", text.encode())
    assert lock_text(again) == text
    assert stated_hash(text) == own_hash(text) == again.hashes.text
    assert lock_text(read_lock("first.lock", text.replace("\n", "\r\n").encode())) == text


WORDS = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)


@given(WORDS, WORDS, st.decimals(min_value=0, max_value=10**12, places=6))
def test_any_text_and_number_survives(name: str, path: str, life: Decimal) -> None:
    lock = Lock(
        format=1, name=name, product="T", product_name=name, files_format=1, stage="dvt", day=TODAY, commit="c",
        ferrule="0", rules="r", hashes=Hashes(sources="1" * 64, documents="2" * 64, list_="3" * 64),
        file={path: LockedFile(blob="b", sha256="s")}, document={path: name, "text": "4" * 64},
        part={"P": LockedPart(name=path, unit="each", each=(), material=name)},
        tool={"T": LockedTool(name=name, kind="fixture", life=life)},
    )  # fmt: skip
    text = lock_text(lock)
    back = read_lock("x", text.encode())
    assert msgspec.structs.replace(back, hashes=lock.hashes) == lock
    assert own_hash(text) == stated_hash(text)
    assert not set(text) & {chr(code) for code in (*range(10), *range(11, 32), 127, 0x202E, 0x2066, 0x200B)}


def test_each_changed_field_is_named() -> None:
    lock = small()
    changed = msgspec.structs.replace(lock.part["CAP"], name="Other", source=lock.part["CAP"].source[:1])
    other = msgspec.structs.replace(lock, stage="pvt", part=lock.part | {"CAP": changed})
    found = [(each.where, each.locked, each.now) for each in lock_differences(lock, other)]
    assert found[:2] == [("stage", "dvt", "pvt"), ("part/CAP/name", 'Capacitor "100 n"', "Other")]
    assert ("part/CAP/source/belmoor norholt", "", None) in found
    assert all(where.startswith("part/CAP/source/belmoor") for where, _, _ in found[2:])
    assert lock_differences(lock, lock) == ()


def test_a_changed_text_does_not_fit_its_own_hash() -> None:
    text = lock_text(small())
    rows = text.splitlines(keepends=True)
    for number, row in enumerate(rows):
        if row.startswith("text = ") or row == "\n":
            continue
        edited = "".join([*rows[:number], row.replace("\n", " \n"), *rows[number + 1 :]])
        assert stated_hash(edited) != own_hash(edited)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("format = 2\n", "has format 2; this Ferrule knows up to 1"),
        ("format = 0\n", "has format 0, which never was one"),
        ("name = 1\n", "states no format"),
        ("format = 1\n", "is no frozen build: Object missing required field"),
        ("<<<<<<< ours\nformat = 1\n", "an unresolved merge conflict starts here"),
        ("format = \n", "first.lock:1:"),
    ],
)
def test_what_is_no_lock_is_refused_with_its_reason(text: str, told: str) -> None:
    with pytest.raises(FerruleError) as caught:
        read_lock("first.lock", text.encode())
    assert told in caught.value.message
    assert caught.value.hint


@pytest.mark.parametrize("number", sorted(FORMATS))
def test_every_format_ever_written_is_read_and_computed_again(number: int, *, update: bool) -> None:
    """The kept file of a format is never written again once another format has come."""
    path = KEPT / f"format-{number}.lock"
    if update and number == max(FORMATS):
        path.write_bytes(lock_text(small()).encode())
    kept = path.read_bytes()
    lock = read_lock(path.name, kept)
    assert lock.format == number
    assert own_hash(kept.decode()) == stated_hash(kept.decode())
    assert lock_text(lock).encode() == kept
    assert lock_text(small()).encode() == kept


def test_unequal_days_differ_only_where_the_day_counts() -> None:
    found = load(FILES).product
    later = lock_of(found, stamp(found, dt.date(2027, 6, 1)))
    assert [each.where for each in lock_differences(lock_of(found, stamp(found)), later)] == ["day"]
