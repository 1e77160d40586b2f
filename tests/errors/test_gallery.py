"""Every message about bad input, with the smallest product that brings it about and its exact words.

``pytest tests/errors --update`` writes the expected texts and GALLERY.md; read the page afterwards.
"""

from __future__ import annotations

import os
import shlex
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from gallery_situations import SITUATIONS, environment

import ferrule
from ferrule.diagnostics.registry import all_rules

HERE = Path(__file__).parent
GALLERY = HERE / "gallery"
PAGE = HERE / "GALLERY.md"
CASES = sorted(path.name for path in GALLERY.iterdir())
DEFAULT = "check --today 2026-11-25"
OWN = {"command.txt", "expected.txt", "bytes.toml"}
#: Cases that root would read in spite of the permissions, unless the kernel's exception for it is dropped.
LOCKED = {"init-no-permission", "unreadable-permission", "unreadable-permission-folder"}

#: Case → what the program still does wrong there. An entry whose fault is gone fails, and is to be removed.
OPEN_FAULTS: dict[str, str] = {}
#: Cases at the edge of Python's stack: which message comes depends on its version, that one comes does not.
WORDS_VARY = {"nested-inline-tables-380", "nested-keys-700"}
#: Cases in which the program answers and only adds a note.
ANSWERED = {"explode-faults-in-files"}


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Path]:
    """Return an empty folder; what a case locked is opened again afterwards."""
    yield tmp_path
    for path in tmp_path.rglob("*"):
        if path.is_dir() and not path.is_symlink():
            path.chmod(0o755)


def command(case: str) -> str:
    stated = GALLERY / case / "command.txt"
    return stated.read_text("utf-8").rstrip("\n") if stated.exists() else DEFAULT


def arguments(case: str) -> list[str]:
    """Return the words of a command; $'...' words hold escapes, as in a shell."""
    words = shlex.split(command(case).replace("$'", "'\0"))
    return [word[1:].encode().decode("unicode_escape") if word[:1] == "\0" else word for word in words]


def inputs(case: str) -> dict[str, bytes]:
    """Return the input files of a case by path, those of bytes.toml among them."""
    folder = GALLERY / case
    files = {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.relative_to(folder).as_posix() not in OWN
    }
    if (folder / "bytes.toml").exists():
        stored = tomllib.loads((folder / "bytes.toml").read_text("utf-8"))
        for name, pieces in stored.items():
            files[name] = b"".join(bytes.fromhex(piece["hex"]) * piece.get("times", 1) for piece in pieces)
    return files


def unprivileged(case: str) -> list[str]:
    """Return the words before a command that make root subject to permissions like anybody else."""
    if case not in LOCKED or os.geteuid() != 0:
        return []
    words = ["setpriv", "--bounding-set=-dac_override,-dac_read_search"]
    if shutil.which(words[0]) is None or subprocess.run([*words, "true"], check=False).returncode:
        pytest.skip("root cannot be bound by permissions here")
    return words


def run(case: str, room: Path) -> str:
    """Return what the program prints for a case and its exit code, the folder's name shown as a point."""
    folder = room / "copy"
    folder.mkdir()
    for path, data in inputs(case).items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(data)
    here = (SITUATIONS[case](folder) if case in SITUATIONS else None) or folder
    source = str(Path(ferrule.__file__).parents[1])
    line = [*unprivileged(case), sys.executable, "-m", "ferrule", *arguments(case)]
    env = environment(room) | {"PYTHONPATH": source}
    done = subprocess.run(
        line, env=env, cwd=here, stdin=subprocess.DEVNULL, capture_output=True, check=False, timeout=120
    )
    parts = [f"exit code {done.returncode}\n"]
    for name, data in (("standard output", done.stdout), ("standard error", done.stderr)):
        if data:
            text = data.decode("utf-8")
            for place in (here, folder, room):
                text = text.replace(str(place), ".")
            parts.append(f"--- {name}\n{text}")
    return "".join(parts)


def expected(case: str) -> str:
    return (GALLERY / case / "expected.txt").read_bytes().decode("utf-8")


def complain(case: str, text: str) -> list[str]:
    """Return what is wrong with any message like this."""
    faults = [words for words in ("Traceback", "bug in ferrule") if words in text]
    faults += [f"{c!a} unescaped" for c in text if not c.isprintable() and c != "\n"]
    fine = ("exit code 0\n",) if case in ANSWERED else ("exit code 1\n", "exit code 2\n")
    if not text.startswith(fine):
        faults.append("the exit code does not tell")
    return faults


@pytest.mark.parametrize("case", CASES)
def test_message(case: str, room: Path, request: pytest.FixtureRequest, *, update: bool) -> None:
    if case in OPEN_FAULTS:
        request.applymarker(pytest.mark.xfail(reason=OPEN_FAULTS[case], strict=True))
    got = run(case, room)
    assert complain(case, got) == []
    if case in OPEN_FAULTS or case in WORDS_VARY:
        return
    if update:
        (GALLERY / case / "expected.txt").write_bytes(got.encode())
    assert got == expected(case)


@pytest.mark.parametrize("case", sorted(set(CASES) - set(OPEN_FAULTS) - WORDS_VARY))
def test_expected_text_does_no_harm(case: str) -> None:
    assert complain(case, expected(case)) == []


def test_every_situation_is_a_case() -> None:
    assert set(SITUATIONS) <= set(CASES)
    assert set(OPEN_FAULTS) <= set(CASES)
    assert set(CASES) >= LOCKED | WORDS_VARY | ANSWERED


def test_every_fault_of_form_is_shown() -> None:
    shown = "".join(expected(case) for case in set(CASES) - set(OPEN_FAULTS) - WORDS_VARY)
    form = [name for name, entry in all_rules().items() if entry.rule.check is None]
    assert len(form) > 10
    assert [name for name in form if f"error[{name}]" not in shown] == []


# --- the page -----------------------------------------------------------------------------------------

HEAD = """\
# Every message about bad input

Made from `gallery/` by `pytest tests/errors --update`; not to be edited. Each heading is a folder there:
the files it holds, what was done to them, the command, and what the program says.

"""


def fence(text: str, language: str = "") -> str:
    marks = "`" * max(3, *(len(run) + 1 for run in text.split() if set(run) == {"`"}), 3)
    end = "" if text.endswith("\n") else "\n"
    return f"{marks}{language}\n{text}{end}{marks}\n"


def shown_input(path: str, data: bytes) -> str:
    """Return a file as the page shows it: bytes that are no plain text escaped, long ones cut."""
    if len(data) > 1500:
        return f"`{path}` ({len(data):,} bytes) starts with\n\n" + fence(data[:60].decode("utf-8", "replace"))
    text = data.decode("utf-8", "backslashreplace")
    clean = "".join(c if c.isprintable() or c == "\n" else c.encode("unicode_escape").decode() for c in text)
    note = "" if clean == text and data == text.encode() else " (bytes that are no text are spelled out)"
    return f"`{path}`{note}\n\n" + fence(clean, "toml") if data else f"`{path}` is empty\n"


def section(case: str) -> str:
    parts = [f"## {case}\n"]
    parts += [shown_input(path, data) for path, data in inputs(case).items()]
    if case in SITUATIONS:
        parts.append(f"Prepared: {(SITUATIONS[case].__doc__ or '').strip()}.\n")
    if case in OPEN_FAULTS:
        parts.append(f"Open fault: {OPEN_FAULTS[case]}.\n")
    elif case in WORDS_VARY:
        parts.append("One of two messages, by the version of Python; never an exception.\n")
    else:
        parts.append(fence(f"$ ferrule {command(case)}\n{expected(case)}"))
    return "\n".join(parts)


def test_page(*, update: bool) -> None:
    page = HEAD + "\n".join(section(case) for case in CASES)
    if update:
        PAGE.write_text(page, "utf-8")
    assert PAGE.read_text("utf-8") == page
