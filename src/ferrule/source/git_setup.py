"""The settings of one clone that let git show and merge our files: in its own folder, never in the work tree."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

from ferrule.source.git import Git
from ferrule.source.writing import write_file

__all__ = ["attributes_file", "merge_as_text", "remove_setup", "set_up", "settings"]

_BEGIN = "# ferrule: begin; written by `ferrule git-setup`, taken out by `ferrule git-setup --remove`"
_END = "# ferrule: end"
_SECTIONS = ("diff.ferrule", "merge.ferrule")


def settings() -> dict[str, str]:
    """Return the settings of git by name: how our files are shown and merged."""
    program = f"{shlex.quote(sys.executable)} -m ferrule git-setup"
    return {
        "diff.ferrule.textconv": f"{program} --as-text",
        "merge.ferrule.name": "parts lists, record by record",
        "merge.ferrule.driver": f"{program} --merge %O %A %B %L %P",
    }


def attributes_file(git: Git) -> Path:
    """Return the file in which a clone says which of its files are treated how."""
    out = git.run("rev-parse", "--git-path", "info/attributes").removesuffix(b"\n")
    return Path(git.folder) / os.fsdecode(out)


def set_up(git: Git, folders: Iterable[str]) -> bool:
    """Set a clone up for the products in some folders (empty: the top); return whether anything changed."""
    changed = False
    for name, value in settings().items():
        if git.run("config", "--local", "--get", name, fine=(0, 1)).decode().removesuffix("\n") != value:
            git.run("config", "--local", name, value)
            changed = True
    path = attributes_file(git)
    old = _read(path)
    kept = _without(old)
    rows = [_BEGIN, *(row for folder in sorted(folders) for row in _rows(folder)), _END]
    new = (kept.rstrip("\n") + "\n" if kept.strip() else "") + "\n".join(rows) + "\n"
    if new != old:
        write_file(path, new.encode())
        changed = True
    return changed


def remove_setup(git: Git) -> bool:
    """Take out what `set_up` wrote, and nothing else; return whether there was anything."""
    changed = False
    for section in _SECTIONS:
        if git.run("config", "--local", "--get-regexp", f"^{re.escape(section)}\\.", fine=(0, 1)):
            git.run("config", "--local", "--remove-section", section)
            changed = True
    path = attributes_file(git)
    old = _read(path)
    kept = _without(old)
    if kept != old:
        write_file(path, kept.encode())
        changed = True
    return changed


def _read(path: Path) -> str:
    return path.read_text(encoding="utf-8", errors="surrogateescape") if path.is_file() else ""


def _without(text: str) -> str:
    return re.sub(rf"(?ms)^{re.escape(_BEGIN)}\n.*?^{re.escape(_END)}\n", "", text)


def _rows(folder: str) -> list[str]:
    """Return the rows for one product: its TOML files, but none in hidden folders."""
    prefix = "".join(f"\\{c}" if c in "*?[\\" else c for c in folder)
    start = f"/{prefix}" if prefix else ""
    return [
        _row(f"{start}/**/*.toml", "diff=ferrule merge=ferrule"),
        _row(f"{start}/**/.*/**", "!diff !merge"),
    ]


def _row(pattern: str, said: str) -> str:
    quoted = pattern.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{quoted}" {said}' if re.search(r'[\s"#]', pattern) else f"{pattern} {said}"


def merge_as_text(files: Sequence[Path], size: str) -> tuple[bytes, bool]:
    """Return what git makes of (base, ours, theirs) row by row, and whether it is clean."""
    base, ours, theirs = map(str, files)
    command = [
        "git",
        "merge-file",
        "-p",
        "-L",
        "ours",
        "-L",
        "base",
        "-L",
        "theirs",
        f"--marker-size={int(size)}",
    ]
    done = subprocess.run([*command, ours, base, theirs], capture_output=True, check=False)
    return done.stdout, done.returncode == 0
