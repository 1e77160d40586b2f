"""All reading from git, by the git program: bytes, NUL-separated, revisions resolved to hashes first.

For the repository being committed the environment stays as the hook got it (``GIT_INDEX_FILE`` names the
index of ``git commit FILE``); for any other repository git's own variables are dropped.
"""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterable
from pathlib import Path

from msgspec import Struct

from ferrule.errors import FerruleError

__all__ = ["Entry", "Git", "find_git"]

_SYMLINK, _SUBMODULE = "120000", "160000"


class Entry(Struct, frozen=True):
    """One path of a tree or of the index."""

    path: str
    blob: str
    mode: str

    @property
    def is_symlink(self) -> bool:
        """Return whether it is a symbolic link."""
        return self.mode == _SYMLINK

    @property
    def is_submodule(self) -> bool:
        """Return whether it is another repository."""
        return self.mode == _SUBMODULE


class Git:
    """One repository, read through the git program. ``folder`` is any folder in it."""

    def __init__(self, folder: Path) -> None:
        self.folder = os.fspath(folder)
        self.env = {**os.environ, "LC_ALL": "C", "GIT_TERMINAL_PROMPT": "0", "GIT_OPTIONAL_LOCKS": "0"}
        if "GIT_DIR" in self.env or "GIT_INDEX_FILE" in self.env:
            self._keep_only_own()

    def _keep_only_own(self) -> None:
        """Drop git's variables where they speak of another repository than the folder's."""
        inherited = dict(self.env)
        for name in self.run("rev-parse", "--local-env-vars", fine=(0, 128)).decode().split():
            self.env.pop(name, None)
        out = self.run("rev-parse", "--absolute-git-dir", fine=(0, 128)).rstrip(b"\n")
        own = Path(os.fsdecode(out)) if out else None
        theirs = [Path(inherited[name]) for name in ("GIT_DIR", "GIT_INDEX_FILE") if name in inherited]
        if own is not None and all(
            own == path or own in path.parents for path in map(self._absolute, theirs)
        ):
            self.env = inherited

    def _absolute(self, path: Path) -> Path:
        """Return a path of git's variables, which are relative to the folder a hook runs in."""
        return (Path.cwd() / path).resolve()

    def run(self, *arguments: str, given: bytes | None = None, fine: tuple[int, ...] = (0,)) -> bytes:
        """Return what git prints; raises FerruleError with git's own words."""
        try:
            done = subprocess.run(
                ["git", "-C", self.folder, *arguments],
                input=given,
                capture_output=True,
                env=self.env,
                check=False,
            )
        except FileNotFoundError:
            raise FerruleError("git was not found", "install git, or leave out --at and --index") from None
        if done.returncode not in fine:
            raise _told(arguments[0], done.stderr.decode("utf-8", "replace").strip())
        return done.stdout

    def top(self) -> Path | None:
        """Return the top folder of the work tree, or None in a bare repository."""
        if self.run("rev-parse", "--is-bare-repository").strip() == b"true":
            return None
        out = self.run("rev-parse", "--show-toplevel", fine=(0, 128)).rstrip(b"\n")
        return Path(os.fsdecode(out)) if out else None

    def commit(self, revision: str) -> str:
        """Return the hash of the commit a revision names; raises FerruleError."""
        if not revision or revision.startswith("-") or any(c in revision for c in "\0\n\r"):
            raise FerruleError(f"{revision!a} is not a revision", "name a commit, a tag or a branch")
        out = self.run(
            "rev-parse", "--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}", fine=(0, 1, 128)
        ).strip()
        if out:
            return out.decode()
        if self.run("rev-parse", "--is-shallow-repository").strip() == b"true":
            hint = "fetch the history: git fetch --unshallow (in a CI checkout: fetch-depth: 0)"
            raise FerruleError(f"this shallow clone does not hold the revision {revision}", hint)
        hint = (
            "there is no commit yet"
            if revision == "HEAD"
            else "`git log --oneline` and `git tag` list what there is"
        )
        raise FerruleError(f"no commit has the name {revision}", hint)

    def has_commit(self) -> bool:
        """Return whether HEAD names a commit (a new repository has none)."""
        return bool(self.run("rev-parse", "--verify", "--quiet", "HEAD^{commit}", fine=(0, 1, 128)).strip())

    def short(self, commit: str) -> str:
        """Return the short form of a hash."""
        return self.run("rev-parse", "--short", commit).decode().strip()

    def tree(self, commit: str) -> list[Entry]:
        """Return every path of a commit, sorted as git sorts."""
        out = self.run("ls-tree", "-r", "-z", "--full-tree", commit)
        entries = []
        for row in filter(None, out.split(b"\0")):
            facts, path = row.split(b"\t", 1)
            mode, _, blob = facts.decode().split()
            entries.append(Entry(os.fsdecode(path), blob, mode))
        return entries

    def index(self) -> tuple[list[Entry], list[str]]:
        """Return what is staged, and the paths of an unfinished merge. Paths start at the top."""
        out = self.run("ls-files", "-s", "-z", "--full-name", ":/")
        entries: list[Entry] = []
        unmerged: set[str] = set()
        for row in filter(None, out.split(b"\0")):
            facts, path = row.split(b"\t", 1)
            mode, blob, stage = facts.decode().split()
            if stage == "0":
                entries.append(Entry(os.fsdecode(path), blob, mode))
            else:
                unmerged.add(os.fsdecode(path))
        return entries, sorted(unmerged)

    def sizes(self, blobs: Iterable[str]) -> dict[str, int]:
        """Return the size of each blob in bytes."""
        wanted = sorted(set(blobs))
        out = self.run("cat-file", "--batch-check", given="".join(f"{blob}\n" for blob in wanted).encode())
        rows = (row.split() for row in out.decode().splitlines())
        return {row[0]: int(row[2]) for row in rows if row[1] == "blob"}

    def blobs(self, blobs: Iterable[str]) -> dict[str, bytes]:
        """Return the bytes of each blob, read by one process."""
        wanted = sorted(set(blobs))
        out = self.run("cat-file", "--batch", given="".join(f"{blob}\n" for blob in wanted).encode())
        found: dict[str, bytes] = {}
        at = 0
        for blob in wanted:
            end = out.index(b"\n", at)
            head = out[at:end].split()
            if head[1] == b"missing":
                raise FerruleError(f"the object {blob} is missing from the repository", "run `git fsck`")
            size = int(head[2])
            found[blob] = out[end + 1 : end + 1 + size]
            at = end + size + 2
        return found


def _told(command: str, words: str) -> FerruleError:
    if "dubious ownership" in words:
        remedy = next((row.strip() for row in words.splitlines() if "safe.directory" in row), "")
        return FerruleError("git does not trust this folder: it belongs to someone else", remedy)
    if "not a git repository" in words:
        return FerruleError("this is not a git repository", "leave out --at and --index, or run `git init`")
    return FerruleError(f"git {command} failed: {words.splitlines()[-1] if words else 'no reason given'}")


def find_git(folder: Path) -> Git | None:
    """Return the repository around a folder, or None where there is none or no git.

    An ownership git does not trust is an error, not an absence.
    """
    git = Git(folder)
    try:
        git.run("rev-parse", "--git-dir")
    except FerruleError as error:
        if "not a git repository" in error.message or "git was not found" in error.message:
            return None
        raise
    return git
