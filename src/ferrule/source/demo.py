"""The example product as a git repository with its revisions. Here GitPython is the right tool: commits, authors, tags."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from ferrule.errors import FerruleError

if TYPE_CHECKING:
    from git import Actor, Repo

__all__ = ["Revision", "write_repository"]


class Revision(Struct, frozen=True, kw_only=True):
    """One commit to make: its tag, message, day (ISO 8601 with time) and every file it holds."""

    tag: str
    message: str
    when: str
    files: dict[str, bytes]


def write_repository(folder: Path, revisions: Sequence[Revision], author: tuple[str, str]) -> None:
    """Make a repository in a new or empty folder with one commit and one annotated tag a revision.

    Same input, same hashes. Raises FerruleError where the folder is not empty or git is missing.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise FerruleError(f"{folder} exists and is not empty", "name a folder that does not exist yet")
    try:
        import git  # noqa: PLC0415  heavy, and wants the git program at import
    except ImportError:
        raise FerruleError("git was not found", "install git; the demo is a git repository") from None
    for name in [name for name in os.environ if name.startswith("GIT_")]:
        del os.environ[name]  # a repository of its own, even when run inside a hook
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FerruleError(
            f"{folder} cannot be made: {error.strerror or error}", "name another folder"
        ) from None
    with git.Repo.init(folder, initial_branch="main", expand_vars=False) as repository:
        actor = git.Actor(*author)
        for revision in revisions:
            _commit(repository, folder, revision, actor)


def _commit(repo: Repo, folder: Path, revision: Revision, who: Actor) -> None:
    tracked = {str(path) for path, _ in repo.index.entries}
    gone = sorted(tracked - set(revision.files))
    if gone:
        repo.index.remove(gone, working_tree=True)
    for path, data in revision.files.items():
        target = folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
    repo.index.add(sorted(revision.files))
    commit = repo.index.commit(
        revision.message,
        author=who,
        committer=who,
        author_date=revision.when,
        commit_date=revision.when,
        skip_hooks=True,
    )
    dates = {
        "GIT_COMMITTER_DATE": revision.when,
        "GIT_COMMITTER_NAME": str(who.name),
        "GIT_COMMITTER_EMAIL": str(who.email),
    }
    with repo.git.custom_environment(**dates):
        repo.git.tag(
            "-a", "--no-sign", "-m", revision.message.split("\n", 1)[0], "--", revision.tag, commit.hexsha
        )
