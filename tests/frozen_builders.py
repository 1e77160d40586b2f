"""A product small enough to be frozen often, whole enough to pass the check at stage evt."""

from __future__ import annotations

import subprocess
from pathlib import Path

from git_builders import HEAD, PART, TOP, Repository, ferrule

TODAY = "2026-11-25"
DRAWING = "bolt, M3, drawn\n"

WAIVER = """\
[[waiver]]
rule = "sole-source"
subject = "part/BOLT"
reason = "one maker for the first build"
risk = "a standard bolt, found in a week"
risk_owner = "R. Alder"
accepted_by = "M. Tarn"
accepted = 2026-11-01
until = 2027-04-30
serials = "1-60"
corrective_action = "a second maker by spring"
"""
PRODUCT: dict[str, str] = {
    "product.toml": HEAD,
    "parts/bolts.toml": PART.replace(
        'class = "mechanical"\n',
        'class = "mechanical"\ndocument = [{ kind = "drawing", file = "docs/bolt.txt", rev = "A" }]\n',
    ),
    "firms/firms.toml": '[firm.boltrow]\nname = "Boltrow"\n\n[firm.norholt]\nname = "Norholt"\n\n'
    '[firm.harbour]\nname = "Harbour"\n',
    "assemblies/top.toml": TOP,
    "docs/bolt.txt": DRAWING,
}


def frozen_repository(
    path: Path, *, folder: str = "", name: str = "first", more: dict[str, str] | None = None
) -> Repository:
    """Return a repository with the product committed and, if a name is given, frozen under it."""
    repository = Repository(path)
    prefix = f"{folder}/" if folder else ""
    repository.commit({prefix + file: text for file, text in (PRODUCT | (more or {})).items()})
    if name:
        done = freeze(repository, name, cwd=path / folder)
        assert (done.returncode, done.stderr) == (0, "")
    return repository


def freeze(
    repository: Repository, name: str, *options: str, cwd: Path | None = None, **environment: str
) -> subprocess.CompletedProcess[str]:
    """Run the real command."""
    return ferrule("freeze", name, "--today", TODAY, *options, cwd=cwd or repository.path, **environment)
