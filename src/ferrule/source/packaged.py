"""What ships with Ferrule: the schemas and the example product."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

__all__ = ["example_files", "example_revisions", "schema_files"]

_REVISIONS = ".revisions"


def _shipped(name: str) -> Path:
    """Return a shipped folder: inside the package when installed, beside ``src`` in a checkout."""
    package = Path(__file__).resolve().parents[1]
    inside = package / "data" / name
    return inside if inside.is_dir() else package.parents[1] / name


def _files(root: Path) -> Iterator[tuple[str, bytes]]:
    for path in sorted(root.rglob("*")):
        if path.is_file():
            yield path.relative_to(root).as_posix(), path.read_bytes()


def schema_files() -> dict[str, bytes]:
    """Return the JSON Schemas of the file kinds by file name."""
    return {path.name: path.read_bytes() for path in sorted(_shipped("schema").glob("*.schema.json"))}


def example_files() -> dict[str, bytes]:
    """Return the files of the example product, newest revision, with the schemas its editors use."""
    skipped = (f"{_REVISIONS}/", ".ferrule/")
    files = {path: data for path, data in _files(_shipped("example-product")) if not path.startswith(skipped)}
    return files | {f".ferrule/schema/{name}": data for name, data in schema_files().items()}


def example_revisions() -> list[tuple[str, str, dict[str, bytes], list[str]]]:
    """Return the earlier revisions of the example, oldest first: name, message, files that differ, files not there yet."""
    root = _shipped("example-product") / _REVISIONS
    found = []
    for folder in sorted(path for path in root.iterdir() if path.is_dir()):
        files = dict(_files(folder))
        message = files.pop("MESSAGE").decode()
        absent = files.pop("ABSENT", b"").decode().split()
        found.append((folder.name, message, files, absent))
    return found
