"""Real repositories for tests."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

HEAD = '[product]\nid = "T"\nname = "Test"\ncurrency = "EUR"\nstage = "evt"\n'
PART = """\
[part.BOLT]
name = "Bolt"
class = "mechanical"

[[part.BOLT.source]]
maker = "boltrow"
seller = "norholt"
status = "approved"
currency = "EUR"
price = [{ from = 100, each = 0.03 }]
quoted = 2026-10-01
valid_until = 2027-01-31
lead_time = "6 weeks"
"""
FIRMS = '[firm.boltrow]\nname = "Boltrow"\n\n[firm.norholt]\nname = "Norholt"\n'
TOP = '[assembly]\nid = "TOP"\nname = "Top"\n\n[[line]]\nitem = 10\npart = "BOLT"\nqty = 4\n'
PRODUCT: dict[str, str] = {
    "product.toml": HEAD,
    "parts/bolts.toml": PART,
    "firms/firms.toml": FIRMS,
    "assemblies/top.toml": TOP,
}


class Repository:
    """A folder with a git repository and short ways to use both."""

    def __init__(self, path: Path, *options: str) -> None:
        self.path = path
        path.mkdir(parents=True, exist_ok=True)
        self.git("init", "-q", "-b", "main", *options)

    def git(self, *arguments: str, fine: tuple[int, ...] = (0,), cwd: Path | None = None) -> str:
        done = subprocess.run(
            ["git", *arguments], cwd=cwd or self.path, capture_output=True, text=True, check=False
        )
        assert done.returncode in fine, done.stderr
        return done.stdout

    def write(self, files: Mapping[str, str | bytes]) -> None:
        for name, text in files.items():
            path = self.path / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(text.encode() if isinstance(text, str) else text)

    def commit(self, files: Mapping[str, str | bytes], message: str = "change") -> str:
        self.write(files)
        self.git("add", "-A")
        self.git("commit", "-q", "-m", message)
        return self.git("rev-parse", "HEAD").strip()


def ferrule(*arguments: str, cwd: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run the real command; stdout and stderr apart."""
    command = [sys.executable, "-m", "ferrule", *arguments]
    env = os.environ | environment
    return subprocess.run(command, cwd=cwd, capture_output=True, text=True, env=env, check=False)
