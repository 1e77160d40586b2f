"""All reading from git, by the git program: bytes, NUL-separated, revisions resolved to hashes first.

For the repository being committed git's variables are kept (``GIT_INDEX_FILE`` names the index of
``git commit FILE``); for any other repository they are dropped.
"""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path
from typing import IO

from msgspec import Struct

from ferrule.errors import FerruleError

__all__ = ["Commit", "Entry", "Git", "find_git"]

_SYMLINK, _SUBMODULE = "120000", "160000"
_HASH = re.compile(rb"[0-9a-f]{40}(?:[0-9a-f]{24})?")
_PIECE = 1 << 20

#: What git hashes nothing to, by object format; git knows these objects without storing them.
_EMPTY_TREE = {
    "sha1": "4b825dc642cb6eb9a060e54bf8d69288fbee4904",
    "sha256": "6ef19b41225c5369f1c104d45d8d85efa9b057b53b14b4b9b939dd74decc5321",
}
_EMPTY_BLOB = {
    "e69de29bb2d1d6434b8b29ae775ad8c2e48c5391": "sha1",
    "473a0f4c3be8a93681a267e3b1e9a7dcda1185436fe141f7749120a303721813": "sha256",
}

#: Variables by which git tells a hook which repository it runs for.
_SPEAKING = ("GIT_DIR", "GIT_INDEX_FILE", "GIT_WORK_TREE", "GIT_OBJECT_DIRECTORY", "GIT_COMMON_DIR")
#: Those of them that are paths from the folder a hook starts in. Git itself reads a relative GIT_INDEX_FILE
#: from the top of the work tree, where we run it too.
_FROM_HERE = ("GIT_DIR", "GIT_WORK_TREE", "GIT_OBJECT_DIRECTORY", "GIT_COMMON_DIR")
#: They change what our own path arguments mean; `git --literal-pathspecs commit` hands one to its hooks.
_PATHSPECS = (
    "GIT_LITERAL_PATHSPECS",
    "GIT_GLOB_PATHSPECS",
    "GIT_NOGLOB_PATHSPECS",
    "GIT_ICASE_PATHSPECS",
)


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


class Commit(Struct, frozen=True):
    """One commit: its hash, the day it was made (ISO 8601), and the first line of its message."""

    id: str
    day: str
    subject: str


class Git:
    """One repository, read through the git program. ``folder`` is any folder in it."""

    def __init__(self, folder: Path) -> None:
        self.folder = os.fspath(folder)
        self.env = {**os.environ, "LC_ALL": "C", "GIT_TERMINAL_PROMPT": "0", "GIT_OPTIONAL_LOCKS": "0"}
        for name in _PATHSPECS:
            self.env.pop(name, None)
        if any(name in self.env for name in _SPEAKING):
            self._keep_only_own()

    def _keep_only_own(self) -> None:
        """Drop git's variables where they speak of another repository than the folder's."""
        inherited = dict(self.env)
        for name in _local_variables():
            self.env.pop(name, None)
        own = self._git_dir(self.folder)
        if own is None:
            if _in_work_tree(inherited, self.folder):
                self.env = _absolute(inherited)
        elif self._speak_of(inherited, own):
            self.env = _absolute(inherited)
            if "GIT_WORK_TREE" not in self.env:
                self.env.pop(
                    "GIT_DIR", None
                )  # with it git would take any folder for the top of the work tree

    def _speak_of(self, inherited: dict[str, str], own: Path) -> bool:
        """Return whether inherited variables are about the repository ``own``; self.env has none of them."""
        if "GIT_DIR" in inherited:
            return Path(inherited["GIT_DIR"]).resolve() == own
        if "GIT_INDEX_FILE" in inherited and Path(inherited["GIT_INDEX_FILE"]).resolve().parent == own:
            return True
        return self._git_dir(os.curdir) == own  # an index anywhere, as in `GIT_INDEX_FILE=/tmp/x git commit`

    def _git_dir(self, folder: str) -> Path | None:
        out = self.run("-C", folder, "rev-parse", "--absolute-git-dir", fine=(0, 128), here=True)
        return Path(os.fsdecode(out.removesuffix(b"\n"))).resolve() if out else None

    def run(
        self, *arguments: str, given: bytes | None = None, fine: tuple[int, ...] = (0,), here: bool = False
    ) -> bytes:
        """Return what git prints, run in the folder (``here``: where we are); raises FerruleError with git's words."""
        command = ["git", *arguments] if here else ["git", "-C", self.folder, *arguments]
        try:
            done = subprocess.run(command, input=given, capture_output=True, env=self.env, check=False)
        except OSError as error:
            raise _not_started(error) from None
        if done.returncode not in fine:
            raise _told(arguments[0], done.stderr.decode("utf-8", "replace").strip())
        return done.stdout

    def top(self) -> Path | None:
        """Return the top folder of the work tree, or None in a bare repository."""
        out = self.run("rev-parse", "--is-bare-repository", "--show-toplevel", fine=(0, 128))
        if not out:
            self.run("rev-parse", "--git-dir")  # says why
        _, _, top = out.removesuffix(b"\n").partition(b"\n")
        return Path(os.fsdecode(top)) if top else None

    def commit(self, revision: str) -> str:
        """Return the hash of the commit a revision names; raises FerruleError."""
        if not revision or revision.startswith("-") or any(c in revision for c in "\0\n\r"):
            raise FerruleError(f"{revision!a} is not a revision", "name a commit, a tag or a branch")
        out = self.run(
            "rev-parse", "--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}", fine=(0, 1, 128)
        ).strip()
        if _HASH.fullmatch(out):  # `^HEAD` gives a hash too, marked as excluded
            return out.decode()
        if self.is_shallow():
            hint = "fetch the history: git fetch --unshallow (in a CI checkout: fetch-depth: 0)"
            raise FerruleError(f"this shallow clone does not hold the revision {revision}", hint)
        hint = (
            "there is no commit yet"
            if revision == "HEAD"
            else "`git log --oneline` and `git tag` list what there is"
        )
        raise FerruleError(f"no commit has the name {revision}", hint)

    def is_shallow(self) -> bool:
        """Return whether the repository was cloned without its whole history."""
        return self.run("rev-parse", "--is-shallow-repository").strip() == b"true"

    def history(self, newest: str, paths: Iterable[str], *, after: str | None = None) -> list[Commit]:
        """Return the commits that touch some paths, the oldest first, each merge as its first parent saw it.

        ``newest`` and ``after`` are hashes; what ``after`` holds already is left out.
        """
        out = self.run(
            "log", "-z", "--first-parent", "--topo-order", "--reverse", "--format=%H%n%cs%n%s", newest,
            *([f"^{after}"] if after is not None else []), "--", *(f":(top,glob){path}" for path in paths),
        )  # fmt: skip
        rows = (row.decode("utf-8", "replace").split("\n", 2) for row in out.split(b"\0") if row)
        return [Commit(*row) for row in rows]

    def on_day(self, newest: str, day: str) -> str | None:
        """Return the last commit made up to the end of a day (ISO 8601, UTC), by the first parents of ``newest``."""
        out = self.run("rev-list", "-1", "--first-parent", f"--before={day}T23:59:59Z", newest)
        return out.strip().decode() or None

    def tree_id(self, commit: str, folder: str) -> str:
        """Return the hash of everything in a folder at a commit; empty where there is no such folder."""
        name = f"{commit}:{folder}" if folder else f"{commit}^{{tree}}"
        return (
            self.run("rev-parse", "--verify", "--quiet", "--end-of-options", name, fine=(0, 1, 128))
            .strip()
            .decode()
        )

    def common_dir(self) -> Path:
        """Return the folder in which the repository and all its work trees keep what is git's."""
        out = self.run("rev-parse", "--git-common-dir").removesuffix(b"\n")
        return Path(self.folder) / os.fsdecode(out)

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
        """Return what a commit would hold, and the paths of an unfinished merge. Paths start at the top.

        A file only announced by `git add --intent-to-add` is not in it, as in git's own commit.
        """
        out = self.run("ls-files", "-s", "-z", "--full-name", ":/")
        if not out and self.top() is None:
            raise FerruleError("a bare repository has no index", "pass --at with a commit, tag or branch")
        entries: list[Entry] = []
        unmerged: set[str] = set()
        for row in filter(None, out.split(b"\0")):
            facts, path = row.split(b"\t", 1)
            mode, blob, stage = facts.decode().split()
            if stage == "0":
                entries.append(Entry(os.fsdecode(path), blob, mode))
            else:
                unmerged.add(os.fsdecode(path))
        return self._without_announced(entries), sorted(unmerged)

    def _without_announced(self, entries: list[Entry]) -> list[Entry]:
        """Leave out the entries that `git add --intent-to-add` made: they look like empty files."""
        formats = {_EMPTY_BLOB[entry.blob] for entry in entries if entry.blob in _EMPTY_BLOB}
        if not formats:
            return entries
        base = _EMPTY_TREE[formats.pop()]
        out = self.run("diff-index", "--cached", "--ita-invisible-in-index", "--name-only", "-z", base)
        staged = {os.fsdecode(path) for path in out.split(b"\0")}
        return [entry for entry in entries if entry.blob not in _EMPTY_BLOB or entry.path in staged]

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
            size = _size(blob, out[at:end])
            found[blob] = out[end + 1 : end + 1 + size]
            at = end + size + 2
        return found

    def contents(self, names: Sequence[str]) -> list[bytes | None]:
        """Return the bytes of each object by any name (``COMMIT:PATH``), None where there is none; no name has a line end."""
        out = self.run("cat-file", "--batch", given="".join(f"{name}\n" for name in names).encode())
        found: list[bytes | None] = []
        at = 0
        for _ in names:
            end = out.index(b"\n", at)
            facts = out[at:end].rsplit(b" ", 2)
            at = end + 1
            if len(facts) == 3 and facts[2].isdigit():
                found.append(out[at : at + int(facts[2])])
                at += int(facts[2]) + 1
            else:
                found.append(None)
        return found

    def digests(self, blobs: Iterable[str]) -> dict[str, str]:
        """Return the SHA-256 (hexadecimal) of the bytes of each blob; drawings may be large, so none is held whole."""
        found: dict[str, str] = {}
        command = ["git", "-C", self.folder, "cat-file", "--batch"]
        try:
            process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=self.env)
        except OSError as error:
            raise _not_started(error) from None
        with process:
            assert process.stdin is not None  # noqa: S101  both are pipes
            assert process.stdout is not None  # noqa: S101
            for blob in sorted(set(blobs)):
                process.stdin.write(f"{blob}\n".encode())
                process.stdin.flush()
                size = _size(blob, process.stdout.readline())
                found[blob] = _digest(process.stdout, size)
        return found


def _digest(stream: IO[bytes], size: int) -> str:
    """Return the SHA-256 of the next ``size`` bytes; the line end after them is read too."""
    digest = hashlib.sha256()
    while size:
        piece = stream.read(min(size, _PIECE))
        if not piece:
            raise FerruleError("git cat-file stopped in the middle of a file", "run `git fsck`")
        digest.update(piece)
        size -= len(piece)
    stream.read(1)
    return digest.hexdigest()


def _size(blob: str, head: bytes) -> int:
    facts = head.split()
    if len(facts) != 3:
        raise FerruleError(f"the object {blob} is missing from the repository", "run `git fsck`")
    return int(facts[2])


@cache
def _local_variables() -> tuple[str, ...]:
    """Return the names of the variables that speak of one repository, by git's own list."""
    command = ["git", "rev-parse", "--local-env-vars"]
    try:
        return tuple(subprocess.run(command, capture_output=True, check=True).stdout.decode().split())
    except OSError as error:
        raise _not_started(error) from None


def _absolute(inherited: dict[str, str]) -> dict[str, str]:
    """Return git's variables so that they mean the same in any folder."""
    return inherited | {name: os.path.abspath(inherited[name]) for name in _FROM_HERE if name in inherited}  # noqa: PTH100


def _in_work_tree(inherited: dict[str, str], folder: str) -> bool:
    """Return whether the variables name a repository kept elsewhere whose work tree holds the folder."""
    if "GIT_DIR" not in inherited or "GIT_WORK_TREE" not in inherited:
        return False
    return Path(folder).resolve().is_relative_to(Path(inherited["GIT_WORK_TREE"]).resolve())


def _not_started(error: OSError) -> FerruleError:
    if isinstance(error, FileNotFoundError):
        return FerruleError("git was not found", "install git, or leave out --at and --index")
    reason = error.strerror or str(error)
    return FerruleError(f"git could not be started: {reason}", "look at what `git --version` says")


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
