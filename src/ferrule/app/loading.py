"""From an opened product to the loaded one, the same way from work tree, index or any revision."""

from __future__ import annotations

from collections.abc import Iterable

import msgspec

from ferrule.diagnostics.finding import Finding, Located, Place, Related, Severity, Spot
from ferrule.diagnostics.rule import place_of
from ferrule.load.build import Loaded, load_product
from ferrule.load.identity import fingerprints, subject_of
from ferrule.load.locate import Positions, spot_of
from ferrule.load.toml import decode
from ferrule.source.snapshot import Problem, Snapshot

__all__ = ["Places", "load_snapshot", "located", "original", "problem_findings", "reading_order"]


def load_snapshot(snapshot: Snapshot) -> Loaded:
    """Return the product of a snapshot, the digests of the documents it names included."""
    unread = [problem.path for problem in snapshot.problems]
    loaded = load_product(((file.path, file.data) for file in snapshot.files), snapshot.folder, unread)
    named = sorted(loaded.product.named_files())
    product = msgspec.structs.replace(loaded.product, digests=snapshot.digests(named))
    return msgspec.structs.replace(loaded, product=product)


def problem_findings(problems: Iterable[Problem]) -> list[Finding]:
    """Return what is wrong with files that could not be read at all."""
    return [
        Finding(
            rule="unreadable-file",
            severity=Severity.ERROR,
            message=problem.message,
            hint=problem.hint,
            place=Place(file=problem.path, line=1, column=1),
            facts=(problem.kind,),
        )
        for problem in problems
    ]


def located(loaded: Loaded, snapshot: Snapshot, findings: Iterable[Finding]) -> list[Located]:
    """Return the findings with their lines, subjects and fingerprints, sorted as they are shown."""
    found = list(findings)
    spots = _spots(loaded, snapshot, found)
    subjects = [_subject(loaded, finding) for finding in found]
    marks = fingerprints(zip(found, subjects, strict=True))
    rows = [
        Located(
            finding=finding,
            spot=spots[finding.place, ""],
            subject=subject,
            fingerprint=mark,
            related=tuple(spots[related.place, related.note] for related in finding.related),
        )
        for finding, subject, mark in zip(found, subjects, marks, strict=True)
    ]
    return sorted(rows, key=reading_order)


class Places:
    """Leads from a record and a path inside it to its file and line, in the text of a snapshot."""

    def __init__(self, loaded: Loaded, snapshot: Snapshot) -> None:
        self.loaded = loaded
        self.data = {file.path: file.data for file in snapshot.files}
        self.read: dict[str, tuple[str, Positions | None]] = {}

    def __call__(self, kind: str, number: str | int, *path: str | int) -> str:
        """Return ``file:line`` of what the path leads to, or of what stands nearest above it."""
        if (kind, number) not in self.loaded.product.homes:
            return ""
        place = self.loaded.original(place_of(self.loaded.product, kind, number, *path))
        if place.file not in self.read:
            text = decode(self.data.get(place.file, b""))
            self.read[place.file] = (text, _positions(self.loaded, place.file, text))
        return f"{place.file}:{spot_of(place, *self.read[place.file]).line}"


def _spots(loaded: Loaded, snapshot: Snapshot, findings: Iterable[Finding]) -> dict[tuple[Place, str], Spot]:
    """Return every place and note of the findings found in its text; one file's positions at a time."""
    wanted: dict[str, dict[tuple[Place, str], None]] = {}
    for finding in findings:
        wanted.setdefault(finding.place.file, {})[finding.place, ""] = None
        for related in finding.related:
            wanted.setdefault(related.place.file, {})[related.place, related.note] = None
    data = {file.path: file.data for file in snapshot.files}
    spots: dict[tuple[Place, str], Spot] = {}
    for file, places in wanted.items():
        text = decode(data.get(file, b""))
        unknown = any(not place.line for place, _ in places)
        positions = _positions(loaded, file, text) if unknown else None
        for place, note in places:
            spots[place, note] = spot_of(place, text, positions, note)
    return spots


def _positions(loaded: Loaded, file: str, text: str) -> Positions | None:
    if file not in loaded.documents:
        return None
    try:
        return Positions(text)
    except RecursionError:  # nested to the last level the parser takes: the finding then points at the file
        return None


def reading_order(found: Located) -> tuple[str, int, int, str, str]:
    """Return the key by which findings are shown: file, line, column, rule."""
    spot = found.spot
    return spot.file, spot.line, spot.column, found.finding.rule, found.finding.message


def original(loaded: Loaded, finding: Finding) -> Finding:
    """Return a rule's finding with its places led back into files that were read only in part."""
    related = tuple(Related(place=loaded.original(r.place), note=r.note) for r in finding.related)
    return msgspec.structs.replace(finding, place=loaded.original(finding.place), related=related)


def _subject(loaded: Loaded, finding: Finding) -> str:
    document = loaded.documents.get(finding.place.file)
    if document is None or finding.place.line:
        return ""
    return subject_of(document.tree, finding.place.path)
