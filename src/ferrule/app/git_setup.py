"""`git-setup`: git shows our files as facts and merges them record by record, in this clone."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct

from ferrule.errors import FerruleError
from ferrule.load.flat import flat_text
from ferrule.load.merging import Merged, merge_texts, merge_trees, read_tree, says_same
from ferrule.source.git import Git, find_git
from ferrule.source.git_setup import merge_as_text, remove_setup, set_up
from ferrule.source.products import open_products
from ferrule.source.writing import write_file

__all__ = ["MergeDone", "merge_files", "shown_as_text", "switch_off", "switch_on"]


class MergeDone(Struct, frozen=True, kw_only=True):
    """What became of a merge: whether it is clean, and what a person has to decide, in words."""

    clean: bool
    words: tuple[str, ...] = ()


def _repository(start: Path) -> Git:
    git = find_git(start)
    if git is None:
        raise FerruleError(
            "this is not a git repository", "git-setup is for a clone; run `git init` to start one"
        )
    return git


def switch_on(start: Path) -> tuple[list[str], bool]:
    """Set the clone up for its products; return their folders and whether anything changed. Raises FerruleError."""
    git = _repository(start)
    folders = sorted({opened.folder for opened in open_products(git.top() or start)})
    return folders, set_up(git, folders)


def switch_off(start: Path) -> bool:
    """Take the settings out; return whether there were any. Raises FerruleError."""
    return remove_setup(_repository(start))


def shown_as_text(path: Path) -> str:
    """Return a file's facts one a row; its text where it cannot be read as TOML."""
    return flat_text(_text(path))


def _text(path: Path) -> str:
    try:
        return path.read_bytes().decode("utf-8", "surrogateescape")
    except OSError as error:
        raise FerruleError(f"{path} cannot be read: {error.strerror or error}") from None


def merge_files(files: tuple[Path, Path, Path], size: str, name: str) -> MergeDone:
    """Merge (base, ours, theirs) into ours, as git asks a driver to; raises FerruleError.

    What git makes row by row is taken where it is clean and says what the records say; else the records are
    joined. A true conflict is left in git's own marks, and told in words.
    """
    rows, clean = merge_as_text(files, size)
    base, ours, theirs = map(_text, files)
    try:
        merged = merge_texts(base, ours, theirs)
    except (ValueError, RecursionError):
        write_file(files[1], rows)
        words = () if clean else (f"{name}: one side is no TOML, so it was merged row by row",)
        return MergeDone(clean=clean, words=words)
    if not merged.clashes and clean and _says(rows, (base, ours, theirs)):
        write_file(files[1], rows)
        return MergeDone(clean=True)
    if merged.text is not None:
        write_file(files[1], merged.text.encode("utf-8", "surrogateescape"))
        return MergeDone(clean=True)
    write_file(files[1], _marked(rows, size, merged) if clean else rows)
    return MergeDone(clean=False, words=tuple(f"{name}: {words}" for words in _reasons(merged)))


def _reasons(merged: Merged) -> list[str]:
    return [clash.words for clash in merged.clashes] or [
        "the records could be joined but not written; see the marks"
    ]


def _says(rows: bytes, texts: tuple[str, str, str]) -> bool:
    """Return whether merged rows say what the merged records say: two clean halves can make a wrong whole."""
    base, ours, theirs = map(read_tree, texts)
    try:
        return says_same(
            read_tree(rows.decode("utf-8", "surrogateescape")), merge_trees(base, ours, theirs)[0]
        )
    except ValueError:
        return False


def _marked(rows: bytes, size: str, merged: Merged) -> bytes:
    """Return rows that merged too easily, with a mark that stops git and says what is wrong."""
    many = int(size)
    said = "".join(f"# {words}\n" for words in _reasons(merged))
    mark = f"{'<' * many} ours\n{said}{'=' * many}\n{'>' * many} theirs\n"
    return rows.rstrip(b"\n") + b"\n" + mark.encode("utf-8", "surrogateescape")
