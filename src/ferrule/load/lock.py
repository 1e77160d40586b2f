"""A lock file read back, of any format that was ever written."""

from __future__ import annotations

import msgspec

from ferrule.compute.lock_form import FORMAT, Lock
from ferrule.errors import FerruleError
from ferrule.load.toml import read_document
from ferrule.model.text import quoted

__all__ = ["FORMATS", "read_lock"]

#: Format → the records it is read into. A format that was written once stays here for ever.
FORMATS: dict[int, type[Lock]] = {1: Lock}


def read_lock(file: str, data: bytes) -> Lock:
    """Return the frozen build a lock holds; raises FerruleError with the place and what to do.

    Line ends of a checkout are no difference. What the text's own hash says is not judged here.
    """
    hint = "take it from its tag again: git checkout TAG -- FILE"
    document, findings = read_document(file, data.replace(b"\r\n", b"\n"))
    if document is None:
        place = findings[-1].place
        raise FerruleError(f"{file}:{place.line}:{place.column}: {findings[-1].message}", hint)
    number = document.tree.get("format")
    if not isinstance(number, int) or isinstance(number, bool):
        raise FerruleError(f"{file} states no format, so it is not a frozen build", hint)
    if number not in FORMATS:
        if number > FORMAT:
            raise FerruleError(
                f"{file} has format {number}; this Ferrule knows up to {FORMAT}", "use a newer Ferrule"
            )
        raise FerruleError(f"{file} has format {quoted(number)}, which never was one", hint)
    try:
        return msgspec.convert(document.tree, FORMATS[number])
    except msgspec.ValidationError as error:
        raise FerruleError(f"{file} is no frozen build: {error}", hint) from None
