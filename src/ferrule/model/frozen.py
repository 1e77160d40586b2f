"""A frozen build as a state of the product sees it: its lock, and what its tag says."""

from __future__ import annotations

from msgspec import Struct

__all__ = ["FrozenBuild", "LastChange", "RecordKey"]

#: A record by kind, number and the path inside it.
RecordKey = tuple[str, str, tuple[str | int, ...]]


class LastChange(Struct, frozen=True, kw_only=True):
    """Who last changed a record, by git, and who approved that by a trailer of the commit."""

    name: str
    email: str
    approvers: tuple[str, ...] = ()

    def is_by(self, person: str) -> bool:
        """Return whether a person, by name, e-mail address or both, is the one who changed it."""
        address = person[person.find("<") + 1 :].rstrip(">").strip() if "<" in person else person.strip()
        return address.casefold() == self.email.casefold() or address.casefold() == self.name.casefold()


class FrozenBuild(Struct, frozen=True, kw_only=True):
    """A lock beside its tag. Line ends are LF in both, whatever a checkout made of them."""

    name: str
    #: Path of the lock from the repository's top.
    file: str
    #: The lock in this state; None where it is not there although its tag lies in the history.
    text: str | None
    #: The lock the tag holds; None where there is no tag.
    tagged: str | None = None
    #: What is wrong with the tag itself, in words.
    tag_fault: str = ""
    #: Whether tags could be looked up at all.
    in_git: bool = True
