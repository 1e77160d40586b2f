"""Nothing outside the disclosed slice is anywhere in a pack: searched byte by byte, workbooks unzipped."""

from __future__ import annotations

import json
import re
import zipfile
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl  # type: ignore[import-untyped]
import pytest
import tomli

from answers import EXAMPLE
from ferrule.compute.disclosed_fields import FIELDS
from ferrule.errors import FerruleError
from ferrule.exchange.quote_columns import FILLED
from quote_builders import copied, pack_bytes, packed, sent, sheet_rows, written

HARBOUR = "firms/factory.toml"
SELLERS = "firms/sellers.toml"
PAPERS = {
    "drawing",
    "board",
    "panel",
    "stencil",
    "artwork",
    "model",
    "specification",
    "instruction",
    "quality plan",
}


def strings(node: Any) -> Iterator[str]:
    """Yield every key and value of a file as it may be written."""
    if isinstance(node, dict):
        yield from node
        for value in node.values():
            yield from strings(value)
    elif isinstance(node, list):
        for value in node:
            yield from strings(value)
    elif not isinstance(node, bool):
        yield format(node, "f") if isinstance(node, Decimal) else str(node)


def everything(folder: Path) -> set[str]:
    """Return every text of a product's files, of four characters or more: shorter ones stand in any text."""
    found: set[str] = set()
    for path in folder.rglob("*.toml"):
        if not path.relative_to(folder).parts[0].startswith("."):
            found |= set(strings(tomli.loads(path.read_text("utf-8"), parse_float=Decimal)))
    return {text for text in found if len(text) >= 4}


def trees(folder: Path) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return parts and assemblies (with their lines) as their files hold them."""
    parts: dict[str, Any] = {}
    assemblies: dict[str, Any] = {}
    for path in sorted([*folder.glob("parts/*.toml"), *folder.glob("assemblies/*.toml")]):
        tree = tomli.loads(path.read_text("utf-8"), parse_float=Decimal)
        parts |= tree.get("part", {})
        if "assembly" in tree:
            assemblies[tree["assembly"]["id"]] = tree["assembly"] | {"line": tree.get("line", [])}
    return parts, assemblies


def firms_of(folder: Path) -> dict[str, Any]:
    """Return the firms as their files hold them."""
    files = [tomli.loads(path.read_text("utf-8")) for path in folder.glob("firms/*.toml")]
    return {key: firm for file in files for key, firm in file.get("firm", {}).items()}


#: What every pack says: headings, hints, and the words that stand for a thing.
ALWAYS = [
    *(f"{field.heading} {field.about}" for field in FIELDS),
    *(f"{each.heading} {each.about}" for each in FILLED),
    "units sha256 request price of one at quantity for line id sheet 2000 10000 each USD EUR JPY Confidential",
    "assembly: price of the work on one, without parts; assembly, bought whole; supplied by us; Wrenfield Instruments",
    "moisture class out of the bag protect from static safety-critical: no change without our word by a day not fixed",
]


def may_know(folder: Path, level: str, recipient: str, asked: set[str], ours: set[str]) -> str:
    """Return all texts that a recipient may read, worked out from the files and apart from the code under test."""
    parts, assemblies = trees(folder)
    firms = firms_of(folder)
    firm = firms[recipient]
    paper = firm.get("disclosure", {}).get("agreement", {})
    may = [*ALWAYS, firm["name"], firm.get("contact", ""), paper.get("title", "")]
    if level != "outline":
        may += [(parts.get(number) or assemblies[number]).get("package", "") for number in asked & ours]
    for number in asked - ours:
        item = parts.get(number) or assemblies[number]
        may += [item.get("name", ""), item.get("class", ""), *own_words(item, recipient, firms)]
        may += [number, *of_build(item, firms)] if level != "outline" else []
        may += of_all(item) if level == "all" else []
        if level != "outline":
            may += [f"{line.get('note', '')} item {line['item']}" for line in item.get("line", [])]
    return "\n".join(may)


def own_words(item: dict[str, Any], recipient: str, firms: dict[str, Any]) -> Iterator[str]:
    for source in item.get("source", []):
        if recipient in {source.get("seller"), source.get("maker")}:
            yield firms.get(source.get("maker"), {}).get("name", "") + " " + source.get("maker_part", "")
            yield source.get("seller_part", "") if source.get("seller") == recipient else ""


def of_build(item: dict[str, Any], firms: dict[str, Any]) -> Iterator[str]:
    for key in ("rev", "value", "package", "rating", "material", "finish", "mass"):
        yield str(item.get(key, ""))
    yield from item.get("size", [])
    yield item.get("moisture", {}).get("floor_life", "")
    for source in item.get("source", []):
        yield firms.get(source.get("maker"), {}).get("name", "") + " " + source.get("maker_part", "")
    for paper in item.get("document", []):
        if paper["kind"] in PAPERS:
            yield f"{paper['kind']} {Path(paper['file']).name} {paper.get('rev', '')} {paper.get('sha256', '')}"
    for one in item.get("characteristic", []):
        yield " ".join(str(one.get(key, "")) for key in ("name", "nominal", "low", "high", "method"))


def of_all(item: dict[str, Any]) -> Iterator[str]:
    yield item.get("lifecycle", {}).get("status", "")
    for one in item.get("substances", []):
        yield f"{one['rule']} {one.get('date', '')} {one.get('exemption', '')}"
    for source in item.get("source", []):
        yield source.get("origin", "")


Case = tuple[str, str, dict[str, Any], set[str], set[str]]
CASES: list[Case] = [
    (
        "norholt",
        "outline",
        {"parts": ("C-100N-0603", "U-MCU", "CELL-18650")},
        {"C-100N-0603", "U-MCU", "CELL-18650"},
        set(),
    ),
    *(
        (
            "harbour",
            level,
            {"assembly": "W20-220"},
            {
                "W20-220",
                "W20-221",
                "MIC-MEMS",
                "C-100N-0603",
                "C-1U-0603",
                "FB-600R-0603",
                "R-22R-0603",
                "J-MIC",
                "PASTE-SAC",
            },
            {"MIC-MEMS"},
        )
        for level in ("outline", "build", "price", "all")
    ),
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case[0]}-{case[1]}")
def test_nothing_else_of_the_product_is_in_a_pack(tmp_path: Path, case: Case) -> None:
    recipient, level, wish, asked, ours = case
    edits = {HARBOUR: ('level = "build"', f'level = "{level}"')} if recipient == "harbour" else {}
    product = copied(tmp_path / "p", edits)
    before = everything(product)
    folder = sent(product, recipient, tmp_path / "pack", quantities=(2000, 10000), **wish)
    assert {line["line id"] for line in sheet_rows(folder)} == {
        row.id for row in packed(product, recipient, quantities=(2000, 10000), **wish).found.lines
    }
    assert len(sheet_rows(folder)) == len(asked)
    found = pack_bytes(folder).decode("utf-8", "replace").casefold()
    may = may_know(product, level, recipient, asked, ours).casefold()
    # planned amounts and their days belong to level price on; they are worked out and stand in no file
    may += "\n".join(re.findall(r"[0-9.]+ by 20[0-9-]{8}", found)) if level in {"price", "all"} else ""
    leaked = {text for text in before if stands_in(text.casefold(), found) and text.casefold() not in may}
    # words of the workbook's own markup, and of the cover, that are also keys of our files
    own = (
        pack_bytes(sent(written(tmp_path / "q", EMPTY), "nobody", tmp_path / "empty"))
        .decode("utf-8", "replace")
        .casefold()
    )
    assert {text for text in leaked if text.casefold() not in own} == set()
    assert len(before) > 2000


def stands_in(text: str, pack: str) -> bool:
    """Whether a text stands in a pack; figures as a word, since line ids and hashes hold any few figures by chance."""
    if text not in pack:
        return False
    return not text.isdigit() or re.search(rf"(?<![0-9a-z]){text}(?![0-9a-z])", pack) is not None


#: A product of one part without anything in it, whose pack shows what every pack holds.
EMPTY = {
    "product.toml": '[product]\nid = "E"\nname = "E"\ncurrency = "USD"\nstage = "dvt"\n',
    "firms/f.toml": '[firm.nobody]\nname = "N"\ndisclosure = { level = "all", agreement = { title = "x", signed = 2026-01-01 } }\n',
    "parts/p.toml": '[part.P]\n[[part.P.source]]\nseller = "nobody"\n',
}


def test_the_search_finds_what_should_not_be_there(tmp_path: Path) -> None:
    product = copied(tmp_path / "p")
    folder = sent(product, "harbour", tmp_path / "pack", assembly="W20-220")
    book = next(folder.glob("*.xlsx"))
    with zipfile.ZipFile(book, "a") as archive:
        archive.writestr("docProps/custom.xml", "<x>Norholt Components</x>")
    assert b"Norholt Components" in pack_bytes(folder)
    assert "Norholt Components" in everything(product)


def test_no_line_id_is_in_two_packs_and_each_is_the_same_again(tmp_path: Path) -> None:
    product = copied(tmp_path / "p", {SELLERS: ('level = "outline"', 'level = "outline"')})
    first = sheet_rows(sent(product, "norholt", tmp_path / "a", parts=("C-100N-0603", "X-32K")))
    again = sheet_rows(sent(product, "norholt", tmp_path / "b", parts=("X-32K", "C-100N-0603", "U-RTC")))
    other = sheet_rows(sent(product, "mirefen", tmp_path / "c", parts=("C-100N-0603", "X-32K")))
    ids = [{row["line id"] for row in rows} for rows in (first, again, other)]
    assert ids[0] < ids[1]
    assert not ids[1] & ids[2]
    keys = {
        sent["key"]
        for path in (product / "disclosures").glob("*.toml")
        for sent in tomli.loads(path.read_text())["disclosure"].values()
    }
    assert len(keys) == 1
    assert not any(key.encode() in pack_bytes(tmp_path / name) for key in keys for name in "abc")


def test_the_record_and_the_statement_stay_ours(tmp_path: Path) -> None:
    product = copied(tmp_path / "p")
    done = packed(product, "harbour", assembly="W20-220")
    assert done.made is not None
    folder = sent(product, "harbour", tmp_path / "pack", assembly="W20-220")
    assert sorted(path.suffix for path in folder.iterdir()) == [".csv", ".txt", ".xlsx"]
    kept = {path.suffix: path.read_text("utf-8") for path in (product / "disclosures").iterdir()}
    assert "What a reader could infer" in kept[".txt"]
    assert b"could infer" not in pack_bytes(folder)
    record = next(iter(tomli.loads(kept[".toml"])["disclosure"].values()))
    assert (record["recipient"], record["level"], record["agreement"]) == (
        "harbour",
        "build",
        "Confidentiality agreement",
    )
    assert {line["part"] for line in record["line"] if line.get("supplied_by_us")} == {"MIC-MEMS"}


def test_hashes_on_record_are_those_of_the_files(tmp_path: Path) -> None:
    import hashlib

    product = copied(tmp_path / "p")
    folder = sent(product, "norholt", tmp_path / "pack", parts=("X-32K",))
    record = next(
        iter(tomli.loads(next((product / "disclosures").glob("*.toml")).read_text())["disclosure"].values())
    )
    assert record["files"] == {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.iterdir()
        if path.suffix != ".txt"
    }
    cover = next(folder.glob("cover-*")).read_text("utf-8")
    assert all(digest in cover for digest in record["files"].values())


def test_a_pack_is_not_written_over_another_nor_among_the_records(tmp_path: Path) -> None:
    product = copied(tmp_path / "p")
    sent(product, "norholt", tmp_path / "pack", parts=("X-32K",))
    before = pack_bytes(tmp_path / "pack")
    for to in (tmp_path / "pack", product / "disclosures", product / "disclosures/x", product):
        with pytest.raises(FerruleError):
            sent(product, "norholt", to, parts=("X-32K",))
    assert pack_bytes(tmp_path / "pack") == before


HOSTILE = {
    "product.toml": '[product]\nid = "H"\nname = "H"\ncurrency = "USD"\nstage = "dvt"\ncompany = "=2+3"\n',
    "firms/f.toml": '[firm.s]\nname = "@SUM(A1)"\ncurrency = "USD"\ndisclosure = { level = "build", agreement = { title = "+x", signed = 2026-01-01 } }\n',
    "parts/p.toml": (
        '[part.P]\nname = "=cmd|\' /C calc\'!A0"\nvalue = "-1+1"\nmaterial = "line\\nbreak,\\"quoted\\";\\t"\npackage = "00123"\n'
        'rating = "1E5"\n[[part.P.source]]\nseller = "s"\nmaker_part = "@A-1"\nseller_part = "007"\n'
    ),
}


def test_hostile_texts_are_no_formulas_and_come_back_as_they_were(tmp_path: Path) -> None:
    folder = sent(written(tmp_path / "p", HOSTILE), "s", tmp_path / "pack")
    sheet = openpyxl.load_workbook(next(folder.glob("*.xlsx"))).active
    heads = [cell.value for cell in sheet[1]]
    cells = dict(zip(heads, sheet[2], strict=True))
    assert cells["name"].value == "=cmd|' /C calc'!A0"
    assert {cell.data_type for row in sheet.iter_rows() for cell in row} <= {"s", "n"}
    assert (cells["your number"].value, cells["package"].value) == ("007", "00123")
    row = sheet_rows(folder)[0]
    assert row["name"] == "'=cmd|' /C calc'!A0"
    assert not any(text.startswith(("=", "+", "-", "@")) for text in row.values())


def test_a_workbook_names_nobody(tmp_path: Path) -> None:
    folder = sent(copied(tmp_path / "p"), "harbour", tmp_path / "pack", assembly="W20-220")
    book = openpyxl.load_workbook(next(folder.glob("*.xlsx")))
    properties = book.properties
    assert [properties.creator, properties.lastModifiedBy, properties.title, properties.keywords] == [
        None
    ] * 4
    assert book.properties.created.year == 2000
    assert book.sheetnames == ["request"]


def test_secret_words_refuse_the_pack_and_name_every_place(tmp_path: Path) -> None:
    from git_builders import ferrule

    product = copied(
        tmp_path / "p", {"product.toml": ('"nightjar key"', '"ENIG", "w20-221.txt", "microphone board"')}
    )
    done = ferrule(
        "quote", "pack", "W20-220", "--for", "harbour", "--to", str(tmp_path / "pack"), "--format", "json",
        "--today", "2026-11-25", cwd=product,
    )  # fmt: skip
    assert done.returncode == 1
    found = json.loads(done.stdout)["secret_words"]
    assert sorted((row["word"], row["field"], row["place"].partition(":")[0]) for row in found) == [
        ("ENIG", "finish", "parts/boards.toml"),
        ("microphone board", "name", "assemblies/microphone-board.toml"),
        ("w20-221.txt", "document.0.file", "parts/boards.toml"),
    ]
    assert not (tmp_path / "pack").exists()
    assert not (product / "disclosures").exists()


def test_the_same_slice_on_the_same_day_is_the_same_bytes() -> None:
    one, two = (packed(EXAMPLE, "norholt", parts=("X-32K",)).made for _ in range(2))
    assert one is not None
    assert one == two
