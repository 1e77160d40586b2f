"""Nothing heavy is imported by a check that finds the product in order: the hook has to be quick."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
HEAVY = {"jsonschema", "referencing", "git", "rich", "deepdiff", "tomlkit", "numpy"}
PROGRAM = """
import sys
from ferrule.cli.main import cli
code = cli.main({arguments!r}, standalone_mode=False)
print(code, *sorted(name for name in sys.modules if name in {heavy!r}), file=sys.stderr)
"""


@pytest.mark.parametrize(
    "arguments",
    [
        ["check", "--product", "example-product", "--today", "2026-11-25", "--color", "never"],
        ["explode", "W20-SINGLE", "--product", "example-product", "--today", "2026-11-25"],
    ],
    ids=["check", "explode"],
)
def test_clean_run_imports_nothing_heavy(arguments: list[str]) -> None:
    program = PROGRAM.format(arguments=arguments, heavy=HEAVY)
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stderr.split() in (["0"], ["None"])


def test_help_imports_no_command() -> None:
    program = "import sys\nfrom ferrule.cli.main import cli\nimport click\nclick.Context(cli).get_help()\n"
    program += "print(*[name for name in sys.modules if name.startswith('ferrule.') and '.cli.' not in name])"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert set(done.stdout.split()) <= {"ferrule.errors", "ferrule.cli"}
