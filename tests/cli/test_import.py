"""`ferrule import` as its users run it: the six real sheets become products, and a newer sheet keeps later edits."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
import tomli

from ferrule.load.build import load_product
from ferrule.model.product import Product
from git_builders import ferrule

SHEETS = Path(__file__).parents[1] / "exchange" / "data"

BOARD = """\
Parts list of the test board;;;;;;;
Ref;Qty;Value;Maker;Maker number;Seller;Unit price;Lead time (weeks)
R1, R2, R3;3;10k;Ashfield;AR0603-10K;Norholt;0,004 €;6
C1;1;100n;Ashfield;AC0603-104;Norholt;0,012 €;
J1;1;header;~;n/a;;;
Total;5;;;;;0,024 €;
"""


def product_of(folder: Path) -> Product:
    files = [path for path in folder.rglob("*.toml") if ".ferrule" not in path.parts]
    loaded = load_product((path.relative_to(folder).as_posix(), path.read_bytes()) for path in files)
    assert loaded.findings == ()
    return loaded.product


@pytest.fixture
def board(tmp_path: Path) -> Path:
    (tmp_path / "board.csv").write_text(BOARD, encoding="utf-8")
    done = ferrule("import", "board.csv", "--to", "product", "--as", "TB-1", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    return tmp_path


@pytest.mark.parametrize(
    ("sheet", "lines", "assemblies"),
    [
        ("01-circular-knitic.csv", 29, 1),
        ("02-dela-eprommer.csv", 25, 1),
        ("04-breeze-shield.csv", 31, 1),
        ("20-respiraworks.csv", 114, 1),
        ("30-mlogger.xlsx", 52, 3),
        ("43-ventilator-fi5.xlsx", 159, 23),
    ],
)
def test_every_counted_line_of_a_real_sheet_is_a_line_of_the_product(
    sheet: str, lines: int, assemblies: int, tmp_path: Path
) -> None:
    done = ferrule(
        "import", str(SHEETS / sheet), "--to", "p", "--currency", "EUR", "--format", "json", cwd=tmp_path
    )
    assert (done.returncode, done.stderr) == (0, "")
    said = {row["what"]: row["count"] for row in json.loads(done.stdout)["reconcile"]}
    product = product_of(tmp_path / "p")
    assert (said["part lines"], len(product.assemblies)) == (lines, assemblies)
    assert sum(len(each) for each in product.lines.values()) == lines


def test_what_the_sheet_says_is_written_and_nothing_else(board: Path) -> None:
    parts = tomli.loads((board / "product/parts/tb-1.toml").read_text())["part"]
    assert parts == {
        "AR0603-10K": {
            "name": "10k",
            "class": "electrical",
            "value": "10k",
            "source": [
                {
                    "maker": "ashfield",
                    "maker_part": "AR0603-10K",
                    "seller": "norholt",
                    "currency": "EUR",
                    "price": [{"from": 1, "each": 0.004}],
                    "lead_time": "6 weeks",
                }
            ],
        },
        "AC0603-104": {
            "name": "100n",
            "class": "electrical",
            "value": "100n",
            "source": [
                {
                    "maker": "ashfield",
                    "maker_part": "AC0603-104",
                    "seller": "norholt",
                    "currency": "EUR",
                    "price": [{"from": 1, "each": 0.012}],
                }
            ],
        },
        "J-header": {"name": "header", "class": "electrical", "value": "header"},
    }
    lines = tomli.loads((board / "product/assemblies/tb-1.toml").read_text())["line"]
    assert lines == [
        {"item": 10, "part": "AR0603-10K", "qty": 3, "designators": "R1-R3"},
        {"item": 20, "part": "AC0603-104", "qty": 1, "designators": "C1"},
        {"item": 30, "part": "J-header", "qty": 1, "designators": "J1"},
    ]
    firms = tomli.loads((board / "product/firms/tb-1.toml").read_text())["firm"]
    assert firms == {
        "ashfield": {"name": "Ashfield", "roles": ["maker"]},
        "norholt": {"name": "Norholt", "roles": ["seller"]},
    }
    assert "# board.csv: row 3\n[part.AR0603-10K]" in (board / "product/parts/tb-1.toml").read_text()


def test_the_report_says_what_was_read_doubted_set_aside_and_missing(board: Path) -> None:
    text = ferrule("import", "board.csv", cwd=board, COLUMNS="120").stdout
    assert "board.csv: 3 lines, 1 table" in text
    assert "Nothing was written." in text
    answer = json.loads(ferrule("import", "board.csv", "--format", "json", cwd=board).stdout)
    assert {row["heading"]: row["means"] for row in answer["columns"]} == {
        "Ref": "designators",
        "Qty": "quantity",
        "Value": "value",
        "Maker": "maker",
        "Maker number": "maker_part",
        "Seller": "seller",
        "Unit price": "price",
        "Lead time (weeks)": "lead_time",
    }
    assert [(row["of"], row["stated"], row["computed"], row["verdict"]) for row in answer["stated"]] == [
        ("quantity", "5", "5", "agrees"),
        ("cost", "0.024", "0.024", "agrees"),
    ]
    assert {row["what"]: row["lines"] for row in answer["missing"]}["lead time"] == 2
    assert [row["row"] for row in answer["lines"]] == [f"board.csv: row {row}" for row in (3, 4, 5)]


def test_a_newer_sheet_changes_what_it_changed_and_keeps_later_edits_and_comments(board: Path) -> None:
    parts, assembly = board / "product/parts/tb-1.toml", board / "product/assemblies/tb-1.toml"
    text = parts.read_text().replace(
        'lead_time = "6 weeks"', 'lead_time = "6 weeks"  # by phone\nstatus = "approved"\nmoq = 5000'
    )
    parts.write_text(text.replace("each = 0.012", "each = 0.011"))
    assembly.write_text(
        assembly.read_text().replace("# board.csv: row 5\n", "# fitted by hand, see drawing\n")
    )
    newer = (
        BOARD.replace("R1, R2, R3;3", "R1, R2, R4, R5;4").replace(";6\n", ";8\n").replace("0,012", "0,013")
    )
    newer = newer.replace("J1;1;header", "C2, C3;2;1u;Ashfield;AC0603-105;Norholt;0,02 €;\nJ1;1;header")
    (board / "board.csv").write_text(newer, encoding="utf-8")

    done = ferrule("import", "board.csv", "--to", "product", "--as", "TB-1", "--format", "json", cwd=board)
    assert (done.returncode, done.stderr) == (1, "")
    changes = [(row["verdict"], row["subject"], row["field"]) for row in json.loads(done.stdout)["changes"]]
    assert changes == [
        ("kept ours", "part AC0603-104, source ashfield AC0603-104 norholt", "price"),
        ("taken", "part AR0603-10K, source ashfield AR0603-10K norholt", "lead_time"),
        ("taken", "part AC0603-105", ""),
        ("taken", "TB-1, item 10", "qty"),
        ("taken", "TB-1, item 10", "designators"),
        ("taken", "TB-1, item 40", ""),
    ]
    assert 'lead_time = "8 weeks"  # by phone\nstatus = "approved"\nmoq = 5000' in parts.read_text()
    assert "each = 0.011" in parts.read_text()
    lines = tomli.loads(assembly.read_text())["line"]
    assert [(line["item"], line["part"], line["qty"]) for line in lines] == [
        (10, "AR0603-10K", 4),
        (20, "AC0603-104", 1),
        (30, "J-header", 1),
        (40, "AC0603-105", 2),
    ]
    assert "# fitted by hand, see drawing\n[[line]]\nitem = 30" in assembly.read_text()


def test_the_same_sheet_again_changes_no_file(board: Path) -> None:
    before = {path: path.read_bytes() for path in (board / "product").rglob("*") if path.is_file()}
    done = ferrule("import", "board.csv", "--to", "product", "--as", "TB-1", "--format", "json", cwd=board)
    assert (done.returncode, "changes" in json.loads(done.stdout)) == (0, False)
    assert {path: path.read_bytes() for path in (board / "product").rglob("*") if path.is_file()} == before


def test_parts_and_firms_of_the_product_are_used_as_they_are(board: Path) -> None:
    (board / "second.csv").write_text(
        BOARD.replace("J1;1;header;~;n/a", "J1;1;plug;Korvel;KV-9"), encoding="utf-8"
    )
    done = ferrule("import", "second.csv", "--to", "product", "--as", "TB-2", cwd=board)
    assert (done.returncode, done.stderr) == (0, "")
    assert "2 parts of the product used as they are: AR0603-10K, AC0603-104." in done.stdout
    product = product_of(board / "product")
    assert sorted(product.parts) == ["AC0603-104", "AR0603-10K", "J-header", "KV-9"]
    assert sorted(product.firms) == ["ashfield", "korvel", "norholt"]
    assert sorted(product.assemblies) == ["TB-1", "TB-2"]


def test_a_saved_mapping_is_edited_and_wins(board: Path) -> None:
    done = ferrule("import", "board.csv", "--save-mapping", "columns.toml", cwd=board)
    assert done.returncode == 0
    text = (board / "columns.toml").read_text()
    edited = text.replace('heading = "Value"\nmeans = "value"', 'heading = "Value"\nmeans = "name"')
    assert edited != text
    (board / "columns.toml").write_text(edited)
    answer = ferrule("import", "board.csv", "--mapping", "columns.toml", "--format", "json", cwd=board)
    assert [(row["name"], row["value"]) for row in json.loads(answer.stdout)["lines"]] == [
        ("10k", ""),
        ("100n", ""),
        ("header", ""),
    ]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["missing.csv"], "missing.csv cannot be read: No such file or directory"),
        (["board.csv", "--dry-run"], "--dry-run, --name and --currency go with --to"),
        (["board.csv", "--mapping", "board.csv"], "board.csv is no TOML"),
        (["board.csv", "--encoding", "klingon"], "klingon"),
        (
            ["empty.csv", "--to", "other", "--currency", "EUR"],
            "holds no list of parts that could be recognised",
        ),
        (["plain.csv", "--to", "other"], "nothing says which currency the new product counts in"),
        (["plain.csv", "--to", "other", "--currency", "EURO"], "EURO is no currency of ISO 4217"),
        (["board.csv", "--to", "product", "--as", "AR0603-10K"], "AR0603-10K stands in the product already"),
    ],
)
def test_what_cannot_be_done_is_said_and_nothing_is_written(
    arguments: list[str], message: str, board: Path
) -> None:
    (board / "empty.csv").write_text("a note\n")
    (board / "plain.csv").write_text("Part;Name;Qty\nA-1;nut;3\nA-2;bolt;4\n")
    done = ferrule("import", *arguments, cwd=board)
    assert done.returncode == 2
    assert message in done.stderr
    assert "Traceback" not in done.stderr
    assert not (board / "other").exists()


def test_a_dry_run_names_the_files_and_writes_none(board: Path) -> None:
    done = ferrule("import", "board.csv", "--to", "again", "--as", "TB-1", "--dry-run", cwd=board)
    assert done.returncode == 0
    assert "parts/tb-1.toml" in done.stdout
    assert not (board / "again").exists()


def test_text_that_would_act_is_text(tmp_path: Path) -> None:
    rows = [
        ["Part", "Name", "Qty"],
        ["../../etc/x", '=HYPERLINK("http://e.example")', "1"],
        ['a"]\n[part.evil', "\x1b[31mred\u202e", "2"],
        ["CON", "'; drop", "3"],
    ]
    text = io.StringIO()
    csv.writer(text).writerows(rows)
    (tmp_path / "s.csv").write_text(text.getvalue(), encoding="utf-8")
    done = ferrule("import", "s.csv", "--to", "p", "--currency", "EUR", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert "\x1b" not in done.stdout
    assert "\u202e" not in done.stdout
    product = product_of(tmp_path / "p")
    assert sorted(product.parts) == ["CON", "a-part.evil", "etc-x"]
    assert sorted(path.name for path in (tmp_path / "p" / "assemblies").iterdir()) == ["s.toml"]


def test_two_ways_of_writing_one_value_are_one_part(tmp_path: Path) -> None:
    rows = "Ref;Qty;Value;Footprint\nR1;1;4k7;0603\nR2;1;4.7 kohm;0603\nX1;1;4k7;0603\n"
    (tmp_path / "s.csv").write_text(rows, encoding="utf-8")
    done = ferrule("import", "s.csv", "--to", "p", "--currency", "EUR", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    lines = tomli.loads((tmp_path / "p/assemblies/s.toml").read_text())["line"]
    assert [line["part"] for line in lines] == ["R-4k7-0603", "R-4k7-0603", "X-4k7-0603"]
