"""`verify`: a frozen build computed again from its tag and compared, byte by byte and field by field."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import msgspec
from msgspec import Struct

from ferrule.app.locking import Attested, locked
from ferrule.compute.lock_diff import Difference, lock_differences
from ferrule.compute.lock_form import Lock
from ferrule.compute.lock_text import lock_text, own_hash, stated_hash
from ferrule.diagnostics.registry import rule_set
from ferrule.errors import FerruleError
from ferrule.load.lock import read_lock
from ferrule.source.frozen import disk_blob, frozen_on_disk, sha256_of
from ferrule.source.git import Git, find_git
from ferrule.source.products import Opened
from ferrule.source.tagging import Tagged, lock_path, signature_faults, tagged_builds

__all__ = ["Verified", "holds", "open_git", "tagged_build", "verified", "verify"]


class Verified(Struct, frozen=True, kw_only=True):
    """What verifying a frozen build gave. No differences: it is what was frozen.

    ``moved_on`` are documents of the build that have another content on the disk today: no fault, for work
    goes on. ``parent`` is the commit that was frozen.
    """

    name: str
    tag: str
    commit: str
    tagger: str
    lock: Lock | None
    parent: str = ""
    differences: tuple[Difference, ...] = ()
    moved_on: tuple[Difference, ...] = ()
    #: Kind of signature, and why git does not vouch for it here.
    signature: str = ""
    unproven: str = ""
    #: The rule set is not today's.
    other_rules: bool = False
    superseded_by: tuple[str, ...] = ()
    #: The lock is not in the work tree: another branch, or a freeze that was interrupted.
    not_here: bool = False


def verify(opened: Opened, name: str | None) -> tuple[Verified, ...]:
    """Return the result for one frozen build, or for all of them; raises FerruleError where there is none."""
    git = open_git(opened)
    if name is not None:
        return (verified(git, opened, tagged_build(git, opened, name)),)
    found = tagged_builds(git, opened.folder)
    if not found:
        raise FerruleError("nothing is frozen yet", "`ferrule freeze NAME` freezes the last commit")
    return tuple(verified(git, opened, each) for each in found)


def open_git(opened: Opened) -> Git:
    """Return the repository of a product; raises FerruleError where it lies in none, or in a bare one."""
    if opened.top is None or find_git(opened.top) is None:
        raise FerruleError("frozen builds live in a git repository", "run this inside its work tree")
    return Git(opened.top)


def tagged_build(git: Git, opened: Opened, name: str) -> Tagged:
    """Return the frozen build of this name; raises FerruleError with the names there are."""
    tags = {each.name: each for each in tagged_builds(git, opened.folder)}
    if name in tags:
        return tags[name]
    if git.contents([f"HEAD:{lock_path(opened.folder, name)}"])[0] is not None:
        raise FerruleError(f"the tag of {name} is not here", "fetch the tags: git fetch --tags")
    known = ", ".join(tags) or "none yet"
    raise FerruleError(f"there is no frozen build {name}", f"frozen builds: {known}")


def verified(git: Git, opened: Opened, tagged: Tagged) -> Verified:
    """Return what a frozen build is worth: computed again from the commit it froze, and looked up on the disk."""
    lock, told = _read(tagged)
    if lock is not None:
        _refuse_shallow(git, lock.commit)
    differences = [*told, *_of_tag(git, opened, tagged, lock)]
    parent = lock.commit if lock is not None else ""
    if lock is not None:
        differences += _recomputed(opened, tagged, lock)
        differences += _chain(git, opened, lock)
    differences += _in_work_tree(git, opened, tagged)
    unproven = signature_faults(git, tagged.object) if tagged.signature else ""
    if tagged.signature and _is_bad(unproven):
        differences.append(Difference("signature", "fits the tag", unproven))
    return Verified(
        name=tagged.name,
        tag=tagged.tag,
        commit=git.short(tagged.commit),
        tagger=tagged.tagger,
        lock=lock,
        parent=parent,
        differences=tuple(differences),
        moved_on=tuple(_on_disk(git, opened, lock, tagged)) if lock is not None else (),
        signature=tagged.signature,
        unproven=unproven,
        other_rules=lock is not None and lock.rules != rule_set(),
        not_here=frozen_on_disk(opened.top, lock_path(opened.folder, tagged.name)) is None,
        superseded_by=tuple(_successors(git, opened, tagged.name)),
    )


def _refuse_shallow(git: Git, commit: str) -> None:
    """Raise FerruleError where a clone without its history cannot show what was frozen: that is no alteration."""
    if git.is_shallow() and git.contents([commit]) == [None]:
        hint = "fetch the history: git fetch --unshallow (in a CI checkout: fetch-depth: 0)"
        raise FerruleError(f"this shallow clone does not hold the frozen commit {commit[:12]}", hint)


def holds(git: Git, revision: str, commit: str) -> bool:
    """Return whether a commit lies in the history of a revision."""
    return git.run("merge-base", revision, commit, fine=(0, 1)).decode().strip() == commit


def _is_bad(words: str) -> bool:
    """Return whether git says the signature does not fit, rather than that it cannot judge it."""
    low = words.casefold()
    return "bad signature" in low or "incorrect signature" in low or "could not verify signature" in low


def _read(tagged: Tagged) -> tuple[Lock | None, list[Difference]]:
    """Return the lock at the tag, and what is wrong with its text."""
    if tagged.lock is None:
        return None, []
    text = tagged.lock.decode("utf-8", "replace")
    told = []
    if stated_hash(text) != own_hash(text):
        told.append(Difference("hashes/text", stated_hash(text) or None, own_hash(text)))
    try:
        return read_lock(f"{tagged.tag}.lock", tagged.lock), told
    except FerruleError as error:
        return None, [*told, Difference("lock", "readable", error.message)]


def _of_tag(git: Git, opened: Opened, tagged: Tagged, lock: Lock | None) -> Iterator[Difference]:
    """Yield what is wrong with the tag and the commit it points at."""
    if tagged.fault:
        yield Difference("tag", "annotated, with the hash of the lock", tagged.fault)
    parents = git.run("rev-list", "--parents", "--max-count=1", tagged.commit).decode().split()[1:]
    if lock is None:
        return
    if lock.name != tagged.name:
        yield Difference("name", lock.name, tagged.name)
    if parents != [lock.commit]:
        yield Difference("commit", lock.commit, " ".join(parents) or "no parent")
        return
    changed = git.run("diff-tree", "-r", "-z", "--no-commit-id", "--name-only", lock.commit, tagged.commit)
    path = lock_path(opened.folder, tagged.name)
    for name in filter(None, changed.decode("utf-8", "replace").split("\0")):
        if name != path:
            yield Difference(f"commit of the tag, {name}", "unchanged", "changed beside the lock")


def _recomputed(opened: Opened, tagged: Tagged, lock: Lock) -> list[Difference]:
    """Return in what the lock differs from the one its commit gives today."""
    try:
        snapshot = opened.read_at(lock.commit)
    except FerruleError as error:
        return [Difference("commit", lock.commit, error.message)]
    if snapshot is None:
        return [Difference("product", lock.product, "not in the frozen commit")]
    attested = Attested(
        name=lock.name,
        day=lock.day,
        commit=lock.commit,
        ferrule=lock.ferrule,
        rules=lock.rules,
        supersedes=lock.supersedes,
        supersedes_sha256=lock.supersedes_sha256,
    )
    try:
        again = locked(snapshot, attested)
    except FerruleError as error:
        return [Difference("assembly", "frozen", error.message)]
    if lock_text(again).encode() == tagged.lock:
        return []
    return list(lock_differences(lock, again)) or [
        Difference("text", "as Ferrule writes it", "written otherwise")
    ]


def _chain(git: Git, opened: Opened, lock: Lock) -> Iterator[Difference]:
    """Yield a break in the chain: the build it supersedes is gone or another one by now."""
    if lock.supersedes:
        before = {each.name: each for each in tagged_builds(git, opened.folder)}.get(lock.supersedes)
        now = sha256_of(before.lock) if before is not None and before.lock is not None else None
        if now != lock.supersedes_sha256:
            yield Difference(f"supersedes {lock.supersedes}", lock.supersedes_sha256, now)


def _in_work_tree(git: Git, opened: Opened, tagged: Tagged) -> Iterator[Difference]:
    """Yield how the lock on the disk differs from the tag's; one that a commit took away differs too."""
    path = lock_path(opened.folder, tagged.name)
    data = frozen_on_disk(opened.top, path)
    if data is None:
        if holds(git, "HEAD", tagged.commit) and git.contents([f"HEAD:{path}"])[0] is None:
            yield Difference(path, "in the last commit", None)
    elif data != tagged.lock:
        yield from _edited(path, data, tagged)


def _edited(path: str, data: bytes, tagged: Tagged) -> Iterator[Difference]:
    try:
        ours, theirs = read_lock(path, tagged.lock or b""), read_lock(path, data)
    except FerruleError as error:
        yield Difference(path, "as at the tag", error.message)
        return
    found = lock_differences(ours, theirs)
    for each in found:
        yield msgspec.structs.replace(each, where=f"{path}: {each.where}")
    if not found:
        yield Difference(path, "as at the tag", "written otherwise")


def _on_disk(git: Git, opened: Opened, lock: Lock, tagged: Tagged) -> Iterator[Difference]:
    """Yield the documents whose content on the disk is another today; line ends of a checkout are no difference."""
    prefix = f"{opened.folder}/" if opened.folder else ""
    blobs = _blobs(git, tagged.commit)
    for name in lock.document:
        then, now = blobs.get(prefix + name, ""), disk_blob(git, prefix + name)
        if then and then != now:
            yield Difference(name, "as frozen", "changed since" if now else None)


def _blobs(git: Git, commit: str) -> Mapping[str, str]:
    return {entry.path: entry.blob for entry in git.tree(commit) if not entry.is_symlink}


def _successors(git: Git, opened: Opened, name: str) -> Iterator[str]:
    for each in tagged_builds(git, opened.folder):
        try:
            lock = read_lock(each.tag, each.lock) if each.lock is not None else None
        except FerruleError:
            continue
        if lock is not None and lock.supersedes == name:
            yield each.name
