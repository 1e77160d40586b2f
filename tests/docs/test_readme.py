"""The README's screens are real: its commands are run on the demo and the output compared."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
README = ROOT / "README.md"
BLOCK = re.compile(r"(<!-- run -->\n```console\n)(.*?)(```)", re.DOTALL)
MARK = "@@ferrule@@"


def commands(block: str) -> list[str]:
    return [line[2:] for line in block.splitlines() if line.startswith("$ ")]


def run_all(blocks: list[list[str]], folder: Path) -> list[list[str]]:
    """Run every command in one shell, one after another; return what each printed."""
    script = [f"{command}\necho; echo {MARK}" for block in blocks for command in block]
    environment = {
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
        "HOME": str(folder),
        "LC_ALL": "C.UTF-8",
        "GIT_CONFIG_NOSYSTEM": "1",
    }
    if "PYTHONPATH" in os.environ:  # another checkout than the installed one
        environment["PYTHONPATH"] = os.environ["PYTHONPATH"]
    done = subprocess.run(
        ["bash"], input="\n".join(script), cwd=folder, env=environment, capture_output=False,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False,
    )  # fmt: skip
    printed = [part.strip("\n") for part in done.stdout.split(MARK)]
    outputs = iter(printed)
    return [[next(outputs) for _ in block] for block in blocks]


def test_screens(tmp_path: Path, *, update: bool) -> None:
    text = README.read_text()
    blocks = [commands(found[2]) for found in BLOCK.finditer(text)]
    assert len(blocks) >= 7
    results = iter(run_all(blocks, tmp_path))

    def filled(found: re.Match[str]) -> str:
        lines = []
        for command, output in zip(commands(found[2]), next(results), strict=True):
            lines.append(f"$ {command}")
            lines += [line.rstrip() for line in output.splitlines()]
        return found[1] + "\n".join(lines) + "\n" + found[3]

    made = BLOCK.sub(filled, text)
    assert "Traceback" not in made
    if update:
        README.write_text(made)
    assert made == README.read_text()


def test_ci_runs_exactly_the_test_command() -> None:
    """``.ci/run`` takes the command out of the README; there is one, and it runs the whole suite."""
    command = re.search(r"<!-- test command -->\n```sh\n(.*?)\n```", README.read_text(), re.DOTALL)
    assert command is not None
    assert command[1].count("\n") == 0
    assert command[1].endswith("-m pytest -q -n 2")
    assert "<!-- test command -->" in (ROOT / ".ci/run").read_text()


def test_the_job_comes_first() -> None:
    first = README.read_text().split("\n\n")[1]
    assert "parts list" in first
    assert len(first.split()) > 60
