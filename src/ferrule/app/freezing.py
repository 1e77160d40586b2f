"""`freeze`: a lock written, committed and tagged, so that it is there whole or not at all.

The commit and the tag are made as objects that nothing points at. The freeze is there from the moment its
tag is named, and verifiable from then on. Moving the branch, the index and the file follow; whoever is
interrupted there runs the same command again, which then only finishes.
"""

from __future__ import annotations

import datetime as dt
import os
from importlib.metadata import version
from typing import Literal

import msgspec
from msgspec import Struct

from ferrule.app.check import Request as CheckRequest
from ferrule.app.check import check
from ferrule.app.locking import Attested, locked
from ferrule.app.verifying import holds, open_git, verified
from ferrule.compute.lock_form import Lock
from ferrule.compute.lock_text import lock_text
from ferrule.diagnostics.finding import CheckResult, Located
from ferrule.diagnostics.registry import rule_set
from ferrule.errors import FerruleError
from ferrule.source.frozen import sha256_of
from ferrule.source.git import Git, find_git
from ferrule.source.products import Opened
from ferrule.source.tagging import (
    Tagged,
    commit_with,
    create_tag,
    lock_path,
    move_head,
    refuse_name,
    signature_faults,
    stage_file,
    tag_name,
    tag_object,
    tagged_builds,
)
from ferrule.source.writing import write_file

__all__ = ["Freeze", "Request", "freeze"]


class Request(Struct, frozen=True, kw_only=True):
    """What to freeze and how: the name, the day, whether to sign, or only to show; which build it replaces."""

    name: str
    today: dt.date
    sign: bool = False
    dry_run: bool = False
    supersedes: str = ""
    #: From which severity on a finding stands in the way.
    fail_on: Literal["error", "warning"] = "error"


class Freeze(Struct, frozen=True, kw_only=True):
    """What came of it. ``check`` holds the findings that stand in the way; then nothing was written."""

    name: str
    tag: str
    file: str
    stage: str
    done: Literal["frozen", "finished", "could be frozen", "refused"]
    lock: Lock | None = None
    check: CheckResult | None = None
    #: Findings that do not stand in the way, and findings that waivers cover.
    warnings: int = 0
    waived: int = 0
    commit: str = ""
    lock_sha256: str = ""
    signature: str = ""
    #: Why git does not vouch for the signature here, in its words.
    unproven: str = ""
    #: What is left to do by hand.
    next_step: str = ""


def freeze(opened: Opened, request: Request) -> Freeze:
    """Return what was frozen, or what stands in the way; raises FerruleError where it cannot be tried at all."""
    git = _repository(opened)
    tags = {each.name: each for each in tagged_builds(git, opened.folder)}
    if request.name in tags:
        return _finish(git, opened, tags[request.name], request)
    refuse_name(git, opened.folder, request.name, tags)
    path = lock_path(opened.folder, request.name)
    _refuse_dirty(git, opened.folder)
    parent = git.commit("HEAD")
    snapshot = opened.read_at(parent)
    if snapshot is None:
        raise FerruleError("the last commit does not hold this product", "commit it first")
    found = check(snapshot, CheckRequest(today=request.today))
    blocking = tuple(each for each in found.findings if _blocks(each, request))
    made = Freeze(
        name=request.name,
        tag=tag_name(opened.folder, request.name),
        file=path,
        stage=found.stage,
        done="refused",
        check=msgspec.structs.replace(found, findings=blocking),
        warnings=len(found.findings) - len(blocking),
        waived=found.waived,
    )
    if blocking:
        return made
    lock = locked(snapshot, _attested(request, parent, _superseded(tags, request.supersedes)))
    if request.dry_run:
        return msgspec.structs.replace(made, lock=lock, done="could be frozen")
    return _write(git, opened, request, msgspec.structs.replace(made, lock=lock))


# --- before -------------------------------------------------------------------------------------------


def _repository(opened: Opened) -> Git:
    if opened.top is not None and find_git(opened.top) is None:
        raise FerruleError("a build is frozen in a git repository", "run `git init` and commit the product")
    return open_git(opened)


def _refuse_dirty(git: Git, folder: str) -> None:
    """Raise FerruleError where the work tree is not what the last commit holds."""
    rows = os.fsdecode(
        git.run("status", "--porcelain=v1", "-z", "--untracked-files=all", "--no-renames")
    ).split("\0")
    prefix = f"{folder}/" if folder else ""
    changed = [row[3:] for row in rows if row and (row[:2] != "??" or row[3:].startswith(prefix))]
    if changed:
        more = f" and {len(changed) - 3} more" if len(changed) > 3 else ""
        names = ", ".join(sorted(changed)[:3])
        raise FerruleError(
            f"the work tree differs from the last commit: {names}{more}",
            "commit or stash it first; what is frozen is a commit",
        )


def _blocks(found: Located, request: Request) -> bool:
    severity = found.finding.severity.value
    return severity == "error" or (request.fail_on == "warning" and severity == "warning")


def _superseded(tags: dict[str, Tagged], name: str) -> Tagged | None:
    if not name:
        return None
    if name not in tags:
        known = ", ".join(sorted(tags)) or "none yet"
        raise FerruleError(f"there is no frozen build {name} to supersede", f"frozen builds: {known}")
    return tags[name]


def _attested(request: Request, commit: str, before: Tagged | None) -> Attested:
    return Attested(
        name=request.name,
        day=request.today,
        commit=commit,
        ferrule=version("ferrule"),
        rules=rule_set(),
        supersedes=before.name if before is not None else "",
        supersedes_sha256=sha256_of(before.lock or b"") if before is not None else "",
    )


# --- writing ------------------------------------------------------------------------------------------


def _write(git: Git, opened: Opened, request: Request, made: Freeze) -> Freeze:
    lock = made.lock
    assert lock is not None  # noqa: S101  the caller computed it
    data = lock_text(lock).encode()
    title = f"freeze {opened.folder + ': ' if opened.folder else ''}{request.name}"
    commit, _ = commit_with(git, lock.commit, made.file, data, f"{title}\n\n{_words(lock)}")
    message = f"{lock.product_name}: frozen build {request.name}\n\n{_words(lock)}\nLock-Sha256: {sha256_of(data)}\n"
    tag = tag_object(git, commit, made.tag, message, sign=request.sign)
    unproven = signature_faults(git, tag) if request.sign else ""
    create_tag(git, made.tag, tag)
    tagged = next(each for each in tagged_builds(git, opened.folder) if each.name == request.name)
    next_step = _settle(git, opened, tagged, lock.commit)
    differences = verified(git, opened, tagged).differences
    if differences:
        raise FerruleError(
            f"{made.tag} was made, and does not verify: {differences[0].where}",
            f"`ferrule verify {request.name}` shows what differs",
        )
    return msgspec.structs.replace(
        made,
        done="frozen",
        commit=git.short(commit),
        lock_sha256=sha256_of(data),
        signature=tagged.signature,
        unproven=unproven,
        next_step=next_step,
    )


def _words(lock: Lock) -> str:
    replaced = f"Supersedes {lock.supersedes}.\n" if lock.supersedes else ""
    counted = f"{len(lock.part)} parts, {len(lock.assembly)} assemblies, {len(lock.document)} documents"
    return f"{counted}; checked at stage {lock.stage} for {lock.day}.\n{replaced}"


def _settle(git: Git, opened: Opened, tagged: Tagged, parent: str) -> str:
    """Move the branch, the index and the file after a tag; return what is left to do where they have moved on."""
    head = git.commit("HEAD")
    if head == parent:
        move_head(git, tagged.commit, parent, f"freeze: {tagged.name}")
        head = tagged.commit
    if not holds(git, head, tagged.commit):
        return f"the branch has moved on; bring the lock into it: git merge {tagged.tag}"
    path = lock_path(opened.folder, tagged.name)
    blob = git.run("rev-parse", f"{tagged.commit}:{path}").decode().strip()
    now = git.contents([f"{head}:{path}"])[0]
    if now != tagged.lock:
        return f"a later commit changed {path}: git checkout {tagged.tag} -- {path}"
    assert opened.top is not None  # noqa: S101  a freeze has a work tree
    stage_file(git, path, blob)
    target = opened.top / path
    if not target.is_file() or target.read_bytes().replace(b"\r\n", b"\n") != tagged.lock:
        write_file(target, tagged.lock or b"")
    return ""


def _finish(git: Git, opened: Opened, tagged: Tagged, request: Request) -> Freeze:
    """Finish a freeze that was interrupted after its tag; raises FerruleError where nothing is left to do."""
    result = verified(git, opened, tagged)
    if result.differences:
        raise FerruleError(
            f"{tagged.tag} exists, and does not verify", f"`ferrule verify {request.name}` shows what differs"
        )
    path = lock_path(opened.folder, request.name)
    assert opened.top is not None  # noqa: S101  _repository saw to it
    status = git.run("status", "--porcelain=v1", "-z", "--untracked-files=all", "--", path)
    head = git.commit("HEAD")
    unfinished = head == result.parent or (holds(git, head, tagged.commit) and bool(status))
    if not unfinished or request.dry_run:
        hint = f"choose another name, with --supersedes {request.name} if it replaces that build"
        raise FerruleError(f"{request.name} is frozen already: tag {tagged.tag}", hint)
    next_step = _settle(git, opened, tagged, result.parent)
    return Freeze(
        name=request.name,
        tag=tagged.tag,
        file=path,
        stage=result.lock.stage if result.lock is not None else "",
        done="finished",
        lock=result.lock,
        commit=git.short(tagged.commit),
        lock_sha256=sha256_of(tagged.lock or b""),
        signature=tagged.signature,
        next_step=next_step,
    )
