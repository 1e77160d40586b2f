"""What editors do with our files: two TOML linters with the schemas, and a strict JSON Schema compiler."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from ferrule.load.kinds import KINDS

ROOT = Path(__file__).parents[2]
BIN = Path(sys.executable).parent
AJV = """
const Ajv2020 = require('ajv/dist/2020').default; const formats = require('ajv-formats').default; const fs = require('fs');
const ajv = new Ajv2020({strict: true, allowUnionTypes: true}); formats(ajv);
for (const file of process.argv.slice(1)) ajv.compile(JSON.parse(fs.readFileSync(file)));
"""


@pytest.fixture(scope="module")
def product(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the example as `demo` writes it, with its own copies of the schemas."""
    folder = tmp_path_factory.mktemp("editors") / "recorder"
    subprocess.run([sys.executable, "-m", "ferrule", "demo", str(folder)], check=True, capture_output=True)
    return folder


def files(product: Path) -> list[str]:
    return sorted(str(path) for path in product.rglob("*.toml"))


def tombi(*paths: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [str(BIN / "tombi"), "lint", "--offline", *paths],
        cwd=cwd,
        capture_output=True,
        text=True,
        check=False,
    )


def taplo(*paths: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [str(BIN / "taplo"), "lint", *paths], cwd=cwd, capture_output=True, text=True, check=False
    )


def test_every_file_names_its_schema(product: Path) -> None:
    for path in map(Path, files(product)):
        first = path.read_text().split("\n", 1)[0]
        assert first.startswith("#:schema "), path
        schema = path.parent / first.removeprefix("#:schema ")
        assert json.loads(schema.read_text())["$id"].endswith(schema.name)


@pytest.mark.parametrize("lint", [tombi, taplo])
def test_example_passes(product: Path, lint: object) -> None:
    done = lint(*files(product), cwd=product)  # type: ignore[operator]
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("lint", [tombi, taplo])
@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('class = "electrical"', 'clas = "electrical"'),
        ('attrition = "1.5 %"', "attrition = 1.5"),
        ('placement = "machine"', 'placement = "robot"'),
    ],
    ids=["key", "type", "choice"],
)
def test_a_slip_is_shown_while_typing(
    product: Path, tmp_path: Path, lint: object, old: str, new: str
) -> None:
    copy = tmp_path / "recorder"
    shutil.copytree(product, copy)
    path = copy / "parts/passives.toml"
    path.write_text(path.read_text().replace(old, new, 1))
    assert lint(str(path), cwd=copy).returncode != 0  # type: ignore[operator]


@pytest.mark.tools
def test_schemas_compile_strictly(tmp_path: Path) -> None:
    """Ajv's strict mode refuses misspelt keywords, which Python's check_schema accepts."""
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("npm is not at hand")
    install = [npm, "install", "--silent", "--no-audit", "--no-fund", "ajv@8", "ajv-formats@3"]
    if subprocess.run(install, cwd=tmp_path, capture_output=True, check=False, timeout=300).returncode:
        pytest.skip("npm reaches no registry")
    schemas = sorted(str(path) for path in (ROOT / "schema").rglob("*.schema.json"))
    assert len(schemas) == len(KINDS) + 1  # and the form of an answer of `check`
    good = subprocess.run(
        ["node", "-e", AJV, *schemas], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert good.returncode == 0, good.stderr
    broken = tmp_path / "broken.schema.json"
    broken.write_text(Path(schemas[0]).read_text().replace('"required"', '"requird"', 1))
    assert subprocess.run(
        ["node", "-e", AJV, str(broken)], cwd=tmp_path, capture_output=True, check=False
    ).returncode
