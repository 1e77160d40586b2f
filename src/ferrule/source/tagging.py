"""The tags of frozen builds, and what a freeze is made of: blob, tree, commit, tag, each an object before it is a name.

The tag of a frozen build is its lock's path without the ending: ``frozen/NAME``, below the product's folder.
A freeze becomes visible in one step, when its tag appears; until then it is loose objects that git sweeps up.
The git program does it all: a tag must be signed, looked at and only then named, which a library that runs
``git tag`` cannot do, and a failed SSH signature leaves an unsigned tag with exit code 0.
"""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
import tempfile
from collections.abc import Iterable, Sequence

from msgspec import Struct

from ferrule.errors import FerruleError
from ferrule.model import ids
from ferrule.source.git import Git

__all__ = [
    "Tagged",
    "commit_with",
    "create_tag",
    "frozen_revision",
    "lock_path",
    "move_head",
    "refuse_name",
    "signature_faults",
    "stage_file",
    "tag_name",
    "tag_object",
    "tagged_builds",
]

_FOLDER = "frozen"
_NAME = re.compile(ids.PATTERN)
_SIGNATURES = {"-----BEGIN SSH SIGNATURE-----": "ssh", "-----BEGIN PGP SIGNATURE-----": "openpgp"}
_SIGNATURES["-----BEGIN SIGNED MESSAGE-----"] = "x509"
_HASH = re.compile(r"[0-9a-f]{40}(?:[0-9a-f]{24})?")
_TRAILER = re.compile(r"^Lock-Sha256: ([0-9a-f]{64})$", re.MULTILINE)
_SIGNED = re.compile(r"^Signed: yes$", re.MULTILINE)


class Tagged(Struct, frozen=True, kw_only=True):
    """A frozen build as its tag holds it."""

    name: str
    tag: str
    #: False for a tag without an object of its own: no author, no message, no signature.
    annotated: bool
    commit: str
    tagger: str = ""
    message: str = ""
    #: Kind of its signature, empty for none.
    signature: str = ""
    #: Hash of the tag object.
    object: str = ""
    #: The lock in the tagged commit.
    lock: bytes | None = None

    @property
    def stated_sha256(self) -> str:
        """Return the hash of the lock that the tag's message states, empty where it states none."""
        found = _TRAILER.search(self.message)
        return found[1] if found else ""

    @property
    def fault(self) -> str:
        """Return what is wrong with the tag by itself, in words; empty for nothing."""
        if not self.annotated:
            return f"the tag {self.tag} is not an annotated one"
        if self.lock is None:
            return f"the tag {self.tag} points at a commit without the lock"
        if self.stated_sha256 != hashlib.sha256(self.lock).hexdigest():
            return f"the lock at the tag {self.tag} is not the one its message states"
        if _SIGNED.search(self.message) and not self.signature:
            return f"the tag {self.tag} says it is signed, and has no signature"
        return ""


def lock_path(folder: str, name: str) -> str:
    """Return the path of a lock from the repository's top."""
    return f"{tag_name(folder, name)}.lock"


def tag_name(folder: str, name: str) -> str:
    """Return the tag of a frozen build of the product in ``folder``."""
    return f"{folder}/{_FOLDER}/{name}" if folder else f"{_FOLDER}/{name}"


def tagged_builds(git: Git, folder: str) -> tuple[Tagged, ...]:
    """Return the frozen builds of the product in ``folder`` by their tags, sorted by name."""
    prefix = f"refs/tags/{tag_name(folder, '')}"
    form = "%(refname)%00%(objecttype)%00%(objectname)%00%(*objectname)"
    rows = [
        row.split("\0")
        for row in os.fsdecode(git.run("for-each-ref", f"--format={form}", prefix)).splitlines()
    ]
    rows = [row for row in rows if _NAME.fullmatch(row[0].removeprefix(prefix))]
    if not rows:
        return ()
    commits = [row[3] or row[2] for row in rows]
    names = [row[0].removeprefix(prefix) for row in rows]
    wanted = [f"{commit}:{lock_path(folder, name)}" for commit, name in zip(commits, names, strict=True)]
    found = git.contents([*wanted, *(row[2] for row in rows)])
    return tuple(
        _tagged(name, row, commit, lock, found[len(rows) + i])
        for i, (name, row, commit, lock) in enumerate(zip(names, rows, commits, found, strict=False))
    )


def _tagged(name: str, row: Sequence[str], commit: str, lock: bytes | None, data: bytes | None) -> Tagged:
    tag = row[0].removeprefix("refs/tags/")
    if row[1] != "tag":
        return Tagged(name=name, tag=tag, annotated=False, commit=commit, lock=lock)
    head, _, text = (data or b"").decode("utf-8", "replace").partition("\n\n")
    tagger = next(
        (line.removeprefix("tagger ") for line in head.splitlines() if line.startswith("tagger ")), ""
    )
    starts = [(text.find(mark), kind) for mark, kind in _SIGNATURES.items() if mark in text]
    end, kind = min(starts, default=(len(text), ""))
    return Tagged(
        name=name,
        tag=tag,
        annotated=True,
        commit=commit,
        tagger=tagger.rpartition(" ")[0].rpartition(" ")[0],
        message=text[:end],
        signature=kind,
        object=row[2],
        lock=lock,
    )


def frozen_revision(git: Git, revision: str, near: str) -> str | None:
    """Return the full name of the tag when ``revision`` names a frozen build, else None.

    Where several products of the repository have one of that name, the product at or around the folder
    ``near`` is meant. Raises FerruleError where the name stays ambiguous, also with another revision.
    """
    if revision == "HEAD" or not _NAME.fullmatch(revision) or _HASH.fullmatch(revision):
        return None
    patterns = (f"refs/tags/{_FOLDER}/{revision}", f"refs/tags/**/{_FOLDER}/{revision}")
    tags = os.fsdecode(git.run("for-each-ref", "--format=%(refname)", *patterns)).splitlines()
    if not tags:
        return None
    by_folder = {
        tag.removeprefix("refs/tags/")[: -len(f"{_FOLDER}/{revision}")].rstrip("/"): tag for tag in tags
    }
    around = [folder for folder in by_folder if not folder or f"{near}/".startswith(f"{folder}/")]
    below = [folder for folder in by_folder if not near or folder.startswith(f"{near}/")]
    if around:
        chosen = by_folder[max(around, key=len)]
    elif len(below or by_folder) == 1:
        chosen = by_folder[next(iter(below or by_folder))]
    else:
        names = ", ".join(sorted(tag.removeprefix("refs/tags/") for tag in tags))
        raise FerruleError(
            f"several products have a frozen build {revision}: {names}", "name one of these tags"
        )
    _refuse_two_meanings(git, revision, chosen)
    return chosen


def _refuse_two_meanings(git: Git, revision: str, tag: str) -> None:
    other = git.run(
        "rev-parse", "--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}", fine=(0, 1, 128)
    )
    own = git.run("rev-parse", "--verify", "--quiet", f"{tag}^{{commit}}", fine=(0, 1, 128))
    if other and other != own:
        short = tag.removeprefix("refs/tags/")
        hint = f"write {short} for the frozen build, or heads/{revision} or tags/{revision} for the other"
        raise FerruleError(f"{revision} is a frozen build, and a branch or tag has that name too", hint)


# --- making a freeze ----------------------------------------------------------------------------------


def commit_with(git: Git, parent: str, path: str, data: bytes, message: str) -> tuple[str, str]:
    """Return a new commit and blob: the tree of ``parent`` with one file put in. No branch, index or file changes.

    Raises FerruleError where the path leads through something that is no folder.
    """
    blob = git.run("hash-object", "-w", "--stdin", given=data).decode().strip()
    tree = _tree_with(git, f"{parent}^{{tree}}", path.split("/"), blob)
    made = git.run("commit-tree", tree, "-p", parent, "-F", "-", given=message.encode()).decode().strip()
    return made, blob


def _tree_with(git: Git, tree: str, names: list[str], blob: str) -> str:
    """Return a tree with a file put in at the path ``names``; an empty ``tree`` is none."""
    name, below = os.fsencode(names[0]), names[1:]
    rows = dict(_rows(git, tree)) if tree else {}
    mode, kind, old = rows.get(name, ("040000", "tree", "") if below else ("100644", "blob", ""))
    if below and kind != "tree":
        raise FerruleError(
            f"{names[0]} is no folder", f"rename it: frozen builds lie in the folder {_FOLDER}"
        )
    new = _tree_with(git, old, below, blob) if below else blob
    rows[name] = (mode, kind, new) if below else ("100644", "blob", new)
    text = b"".join(
        f"{mode} {kind} {which}\t".encode() + own + b"\0" for own, (mode, kind, which) in sorted(rows.items())
    )
    return git.run("mktree", "-z", given=text).decode().strip()


def _rows(git: Git, tree: str) -> list[tuple[bytes, tuple[str, str, str]]]:
    found = []
    for row in filter(None, git.run("ls-tree", "-z", "--full-tree", tree).split(b"\0")):
        facts, name = row.split(b"\t", 1)
        mode, kind, which = facts.decode().split()
        found.append((name, (mode, kind, which)))
    return found


def tag_object(git: Git, commit: str, tag: str, message: str, *, sign: bool) -> str:
    """Return the hash of a new tag object that no name points at yet; raises FerruleError where it cannot be signed."""
    if sign:
        return _signed_object(git, commit, tag, f"{message}Signed: yes\n")
    tagger = git.run("var", "GIT_COMMITTER_IDENT").decode("utf-8", "replace").strip()
    text = f"object {commit}\ntype commit\ntag {tag}\ntagger {tagger}\n\n{message}"
    return git.run("mktag", given=text.encode()).decode().strip()


def _signed_object(git: Git, commit: str, tag: str, message: str) -> str:
    """Let git sign the tag in a scratch repository that writes into our objects: only a signed one gets a name here."""
    objects = os.fsdecode(git.run("rev-parse", "--path-format=absolute", "--git-path", "objects")).rstrip(
        "\n"
    )
    form = git.run("rev-parse", "--show-object-format").decode().strip()
    with tempfile.TemporaryDirectory(prefix="ferrule-") as folder:
        env = _scratch_environment(git, folder, objects)
        for command, given in (
            (["init", "-q", "--bare", f"--object-format={form}", folder], b""),
            (["tag", "-a", "-s", "--cleanup=verbatim", "-F", "-", "--", tag, commit], message.encode()),
        ):
            done = subprocess.run(
                ["git", *command], cwd=git.folder, env=env, input=given, capture_output=True, check=False
            )
            if done.returncode:
                raise _not_signed(done.stderr)
        shown = ["git", "rev-parse", "--verify", f"refs/tags/{tag}"]
        made = subprocess.run(shown, cwd=git.folder, env=env, capture_output=True, check=True)
    found = made.stdout.decode().strip()
    if not any(mark.encode() in git.run("cat-file", "tag", found) for mark in _SIGNATURES):
        raise _not_signed(done.stderr)
    return found


def _scratch_environment(git: Git, folder: str, objects: str) -> dict[str, str]:
    """Return git's variables for the scratch repository: our objects, and what we say about names and keys."""
    env = {name: value for name, value in git.env.items() if name not in ("GIT_INDEX_FILE", "GIT_WORK_TREE")}
    env = {name: value for name, value in env.items() if not name.startswith("GIT_CONFIG_")}
    env |= {"GIT_DIR": folder, "GIT_OBJECT_DIRECTORY": objects}
    if "GIT_CONFIG_NOSYSTEM" in git.env:
        env["GIT_CONFIG_NOSYSTEM"] = git.env["GIT_CONFIG_NOSYSTEM"]
    kept = []
    for row in os.fsdecode(git.run("config", "--list", "-z")).split("\0"):
        key, _, value = row.partition("\n")
        if key.startswith(("user.", "gpg.", "committer.")):
            kept.append((key, value))
    env["GIT_CONFIG_COUNT"] = str(len(kept))
    for number, (key, value) in enumerate(kept):
        env |= {f"GIT_CONFIG_KEY_{number}": key, f"GIT_CONFIG_VALUE_{number}": value}
    return env


def _not_signed(words: bytes) -> FerruleError:
    rows = [row for row in words.decode("utf-8", "replace").splitlines() if row.strip()]
    reason = rows[-1].strip().removeprefix("error: ").removeprefix("fatal: ") if rows else "no reason given"
    hint = (
        "set user.signingkey (and gpg.format = ssh for an SSH key), or leave out --sign; nothing was written"
    )
    return FerruleError(f"git could not sign the tag: {reason}", hint)


def signature_faults(git: Git, object_: str) -> str:
    """Return why git does not vouch for a signed tag, in its words; empty where it does."""
    command = ["git", "-C", git.folder, "verify-tag", object_]
    done = subprocess.run(command, env=git.env, capture_output=True, check=False)
    if not done.returncode:
        return ""
    rows = [row.strip() for row in done.stderr.decode("utf-8", "replace").splitlines() if row.strip()]
    return rows[-1].removeprefix("error: ") if rows else "the signature does not fit"


def create_tag(git: Git, tag: str, object_: str) -> None:
    """Give a tag object its name; raises FerruleError if the name is taken: a tag is never moved."""
    git.run("update-ref", "--no-deref", f"refs/tags/{tag}", object_, "0" * len(object_))


def move_head(git: Git, commit: str, old: str, reason: str) -> None:
    """Move the current branch from ``old`` to ``commit``; raises FerruleError if it stands elsewhere by now."""
    git.run("update-ref", "-m", reason, "HEAD", commit, old)


def stage_file(git: Git, path: str, blob: str) -> None:
    """Put a file into the index as it is in the new commit."""
    git.run("update-index", "--add", "--cacheinfo", "100644", blob, path)


def refuse_name(git: Git, folder: str, name: str, taken: Iterable[str]) -> None:
    """Raise FerruleError for a name that no new frozen build may have: odd, taken, or already a revision."""
    if not _NAME.fullmatch(name) or name == "HEAD":
        raise FerruleError(
            f"{name!a} is no name for a frozen build", "use letters, digits and . _ + - (at most 64)"
        )
    if not _fits(git, folder, name):
        raise FerruleError(f"git takes no tag called {tag_name(folder, name)}", "choose another name")
    same = [other for other in taken if other.casefold() == name.casefold()]
    if same:
        raise FerruleError(
            f"{same[0]} is frozen already, and some disks do not tell {name} from it", "choose another name"
        )
    if git.run(
        "rev-parse", "--verify", "--quiet", "--end-of-options", f"{name}^{{commit}}", fine=(0, 1, 128)
    ):
        raise FerruleError(
            f"{name} is a branch, tag or commit already", "choose another name: it would have two meanings"
        )
    if git.contents([f"HEAD:{lock_path(folder, name)}"])[0] is not None:
        raise FerruleError(
            f"{lock_path(folder, name)} is committed, and its tag is not here",
            "fetch the tags: git fetch --tags",
        )


def _fits(git: Git, folder: str, name: str) -> bool:
    try:
        git.run("check-ref-format", f"refs/tags/{tag_name(folder, name)}")
    except FerruleError:
        return False
    return True
