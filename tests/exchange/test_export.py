"""What `export` writes, judged from outside: a Table Schema validator, two workbook readers, DuckDB, CycloneDX's schemas."""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
from decimal import Decimal
from pathlib import Path
from typing import Any

import duckdb
import openpyxl  # type: ignore[import-untyped]
import pytest
import python_calamine

from answers import EXAMPLE, TODAY
from ferrule.exchange.table_out import OutColumn, OutTable, csv_bytes, parquet_bytes, schema_bytes, xlsx_bytes
from git_builders import ferrule

HOSTILE = '=HYPERLINK("http://e.example")'
TABLE = OutTable(
    name="t",
    about="a test",
    columns=(
        OutColumn("part", "part", "string"),
        OutColumn("qty", "quantity", "number"),
        OutColumn("n", "count", "integer"),
    ),
    rows=((HOSTILE, Decimal("0.0062"), 5), ("-1", None, None), ("00123", Decimal("12345678901234567.5"), 7)),
)


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("exported")
    for arguments in (
        ("list", "W20-500", "--to", "list.csv"),
        ("list", "W20-500", "--to", "list.xlsx"),
        ("list", "W20-500", "--to", "list.parquet"),
        ("list", "W20-SINGLE", "--to", "list.cdx.json"),
        ("list", "W20-SINGLE", "--to", "list7.cdx.json", "--version", "1.7"),
        ("sources", "--to", "sources.csv"),
        ("purchase", "first-season", "--to", "purchase.csv"),
        ("purchase", "first-season", "--to", "purchase.parquet"),
    ):
        done = ferrule("export", *arguments, "--product", str(EXAMPLE), *TODAY, cwd=folder)
        assert (done.returncode, done.stdout) == (0, ""), done.stderr
    return folder


def rows(data: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"))))


def asked(query: str, file: Path) -> list[tuple[Any, ...]]:
    """Return what DuckDB answers; its file is the query's only parameter."""
    return duckdb.connect().execute(query, [str(file)]).fetchall()


def test_csv_is_exact_and_only_guarded_when_asked() -> None:
    assert csv_bytes(TABLE).decode().splitlines()[1:] == [
        '"=HYPERLINK(""http://e.example"")",0.0062,5',
        "-1,,",
        "00123,12345678901234567.5,7",
    ]
    guarded = csv_bytes(TABLE, guarded=True)
    assert guarded.startswith(b"\xef\xbb\xbf")
    assert [row["part"] for row in rows(guarded)] == [f"'{HOSTILE}", "'-1", "00123"]


def test_a_workbook_holds_texts_as_texts_and_numbers_as_numbers() -> None:
    data = xlsx_bytes([TABLE])
    assert data == xlsx_bytes([TABLE])
    sheet = openpyxl.load_workbook(io.BytesIO(data)).active
    assert [[cell.value for cell in row] for row in sheet.iter_rows(min_row=2)] == [
        [HOSTILE, 0.0062, 5],
        ["-1", None, None],
        ["00123", "12345678901234567.5", 7],
    ]
    assert sheet["A2"].data_type == "s"
    read = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(data)).get_sheet_by_name("t")
    assert read.to_python()[1] == [HOSTILE, 0.0062, 5.0]


def test_parquet_keeps_decimals_and_refuses_to_round(tmp_path: Path) -> None:
    (tmp_path / "t.parquet").write_bytes(parquet_bytes(TABLE))
    assert asked("select part, qty from read_parquet(?) where n = 5", tmp_path / "t.parquet") == [
        (HOSTILE, Decimal("0.006200000000"))
    ]
    odd = OutTable(name="t", about="", columns=TABLE.columns, rows=(("a", Decimal("1E-13"), None),))
    with pytest.raises(Exception, match="does not fit a column of Parquet"):
        parquet_bytes(odd)


@pytest.mark.tools
@pytest.mark.parametrize("name", ["list", "sources", "purchase"])
def test_csv_fits_its_table_schema_and_a_planted_fault_does_not(
    name: str, exported: Path, tmp_path: Path
) -> None:
    frictionless = pytest.importorskip("frictionless")

    def valid(data: bytes) -> bool:
        (tmp_path / "x.csv").write_bytes(data)
        (tmp_path / "x.schema.json").write_bytes((exported / f"{name}.schema.json").read_bytes())
        command = [sys.executable, "-m", "frictionless", "validate", "x.csv", "--schema", "x.schema.json"]
        return subprocess.run(command, cwd=tmp_path, capture_output=True, check=False).returncode == 0

    assert frictionless
    good = (exported / f"{name}.csv").read_bytes()
    assert valid(good)
    if name == "sources":
        wrong = b"not a number," * good.split(b"\n", 1)[0].count(b",")
        assert not valid(good + wrong + b"x\n")


def test_a_list_read_back_and_written_again_is_the_same_list(exported: Path, tmp_path: Path) -> None:
    """W20-500 and all below it: every line, level, quantity, designator, class, maker and seller."""
    for name in ("list.csv", "list.xlsx"):
        folder = tmp_path / name
        done = ferrule(
            "import",
            str(exported / name),
            "--to",
            str(folder),
            "--as",
            "W20-500",
            "--currency",
            "EUR",
            cwd=tmp_path,
        )
        assert (done.returncode, done.stderr) == (0, "")
        done = ferrule("export", "list", "W20-500", "--to", str(tmp_path / "again.csv"), cwd=folder)
        assert done.returncode == 0
        before, again = (
            rows((exported / "list.csv").read_bytes()),
            rows((tmp_path / "again.csv").read_bytes()),
        )
        for one, other in zip(before, again, strict=True):
            kept = {key: value for key, value in one.items() if key != "category" or value != "assembly"}
            assert kept.items() <= other.items()


def test_a_question_across_products_is_one_query(exported: Path) -> None:
    """What is spent with whom, with an engine that reads Parquet."""
    query = "select seller, sum(spend) from read_parquet(?) where spend is not null group by seller"
    found = dict(asked(query, exported / "purchase.parquet"))
    table = rows((exported / "purchase.csv").read_bytes())
    for seller in {row["seller"] for row in table if row["spend"]}:
        spent = sum(Decimal(row["spend"]) for row in table if row["seller"] == seller and row["spend"])
        assert found[seller] == spent


@pytest.mark.parametrize(("name", "version"), [("list.cdx.json", "V1_6"), ("list7.cdx.json", "V1_7")])
def test_cyclonedx_by_the_strict_validator(name: str, version: str, exported: Path) -> None:
    schema = pytest.importorskip("cyclonedx.schema")
    validation = pytest.importorskip("cyclonedx.validation.json")
    judge = validation.JsonStrictValidator(getattr(schema.SchemaVersion, version))
    text = (exported / name).read_text()
    assert judge.validate_str(text) is None
    document = json.loads(text)
    document["components"][0]["colour"] = "green"
    assert judge.validate_str(json.dumps(document)) is not None


def test_cyclonedx_has_every_part_with_its_total_and_no_loose_end(exported: Path) -> None:
    document: dict[str, Any] = json.loads((exported / "list.cdx.json").read_text())
    done = ferrule("explode", "W20-SINGLE", "--format", "json", *TODAY, cwd=EXAMPLE)
    totals = {row["part"]: row["quantity"] for row in json.loads(done.stdout)["parts"]}
    quantities = {
        component["name"]: {each["name"]: each["value"] for each in component["properties"]}[
            "cdx:device:quantity"
        ]
        for component in document["components"]
    }
    assert {part: quantities[part] for part in totals} == totals
    references = [component["bom-ref"] for component in document["components"]]
    references.append(document["metadata"]["component"]["bom-ref"])
    assert len(set(references)) == len(references)
    assert {each["ref"] for each in document["dependencies"]} == set(references)
    assert {ref for each in document["dependencies"] for ref in each.get("dependsOn", ())} <= set(references)
    assert document["specVersion"] == "1.6"
    assert document["compositions"][0]["aggregate"] == "complete"


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("list", "--to", "x.pdf"), "the name x.pdf does not say which form is meant"),
        (("list", "--to", "x.csv"), "nothing says which assembly is meant"),
        (("list", "W20-SINGEL", "--to", "x.csv"), "did you mean W20-SINGLE?"),
        (("list", "ANT-24G", "--to", "x.csv"), "ANT-24G is a part, not an assembly"),
        (("purchase", "--to", "x.csv"), "first-season"),
        (("sources", "--to", "x.cdx.json"), "CycloneDX holds a list of parts, not sources"),
        (("sources", "--to", "x.xlsx", "--for-spreadsheet"), "--for-spreadsheet is for .csv"),
    ],
)
def test_what_cannot_be_written_is_said(arguments: tuple[str, ...], message: str, tmp_path: Path) -> None:
    done = ferrule("export", *arguments, "--product", str(EXAMPLE), *TODAY, cwd=tmp_path)
    assert done.returncode == 2
    assert message in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_schema_names_every_column_once() -> None:
    fields = json.loads(schema_bytes(TABLE))["fields"]
    assert [(field["name"], field["type"]) for field in fields] == [
        ("part", "string"),
        ("quantity", "number"),
        ("count", "integer"),
    ]
