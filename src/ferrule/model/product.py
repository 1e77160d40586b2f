"""The whole product as it was read, and where each record stands."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from msgspec import Struct, field

from ferrule.model.frozen import FrozenBuild, LastChange, RecordKey
from ferrule.model.records.as_built import AsBuiltFile
from ferrule.model.records.assembly import Assembly, Line
from ferrule.model.records.common import Document
from ferrule.model.records.counts import Made, Movement, OpenOrder, Stock
from ferrule.model.records.disclosures import Sent
from ferrule.model.records.firms import Channel, Duty, Firm, Lane, Rate
from ferrule.model.records.part import Item, Part
from ferrule.model.records.plan import PlanFile
from ferrule.model.records.product import Calendar, Conventions, Head, Policy, Role, Severities
from ferrule.model.records.tool import Tool
from ferrule.model.records.waiver import Waiver

__all__ = ["Home", "Product"]


class Home(Struct, frozen=True):
    """The file of a record and its key path there."""

    file: str
    path: tuple[str | int, ...] = ()


class Product(Struct, frozen=True, kw_only=True):
    """Everything the files of one product state.

    Lists keep the order of files (by path) and of records within a file. ``homes`` maps (kind, id) to the
    record's place; records without an id go by their index in the list of their kind. ``declared`` holds
    the ids of records that exist but could not be read, so that nobody calls them unknown.
    """

    head: Head
    policy: Policy = field(default_factory=Policy)
    conventions: Conventions = field(default_factory=Conventions)
    calendars: Mapping[str, Calendar] = {}
    roles: Mapping[str, Role] = {}
    severities: Mapping[str, Severities] = {}
    parts: Mapping[str, Part] = {}
    assemblies: Mapping[str, Assembly] = {}
    #: Lines by assembly id, in file order.
    lines: Mapping[str, tuple[Line, ...]] = {}
    firms: Mapping[str, Firm] = {}
    channels: Mapping[str, Channel] = {}
    lanes: Mapping[str, Lane] = {}
    duties: tuple[Duty, ...] = ()
    rates: tuple[Rate, ...] = ()
    tools: Mapping[str, Tool] = {}
    plans: Mapping[str, PlanFile] = {}
    stock: tuple[Stock, ...] = ()
    orders: tuple[OpenOrder, ...] = ()
    movements: tuple[Movement, ...] = ()
    made: tuple[Made, ...] = ()
    waivers: tuple[Waiver, ...] = ()
    #: What was built of each frozen build, by its name.
    as_built: Mapping[str, AsBuiltFile] = {}
    #: Requests for quotes as they were sent, by watermark.
    disclosures: Mapping[str, Sent] = {}
    homes: Mapping[tuple[str, str | int], Home] = {}
    declared: Mapping[str, frozenset[str]] = {}
    #: SHA-256 of each named document that exists, by path inside the product folder.
    digests: Mapping[str, str] = {}
    #: Frozen builds this state knows of, sorted by name.
    frozen: tuple[FrozenBuild, ...] = ()
    #: Who last changed each record that carries an approval; empty where git cannot say.
    last_changes: Mapping[RecordKey, LastChange] = {}

    def item(self, number: str) -> Item | None:
        """Return the part or assembly with this number, or None."""
        return self.parts.get(number) or self.assemblies.get(number)

    def items(self) -> Iterator[tuple[str, str, Item]]:
        """Yield kind ("part" or "assembly"), number and record of everything with a part number."""
        for number, part in self.parts.items():
            yield "part", number, part
        for number, assembly in self.assemblies.items():
            yield "assembly", number, assembly

    def knows(self, kind: str, number: str) -> bool:
        """Return whether a record with this id exists, readable or not."""
        return (kind, number) in self.homes or number in self.declared.get(kind, ())

    def skus(self) -> list[str]:
        """Return the numbers of the assemblies that are sold, sorted."""
        return sorted(number for number, assembly in self.assemblies.items() if assembly.sale)

    def named_documents(self) -> Iterator[Document]:
        """Yield every document that an item, a step or a tool names."""
        for _, _, item in self.items():
            yield from item.document
        for assembly in self.assemblies.values():
            yield from (step.program for step in assembly.steps if step.program)
        for tool in self.tools.values():
            yield from tool.document

    def named_files(self) -> set[str]:
        """Return the path of every file that a record names, evidence included."""
        found = {document.file for document in self.named_documents()}
        papers: list[str | None] = []
        for _, _, item in self.items():
            papers += [statement.statement for statement in item.substances]
            papers.append(item.battery.test_summary if item.battery is not None else None)
        papers += [
            assembly.quality.file for assembly in self.assemblies.values() if assembly.quality is not None
        ]
        papers += [tool.agreement.file for tool in self.tools.values() if tool.agreement is not None]
        papers += [result.file for built in self.as_built.values() for result in built.result]
        papers += [paper.file for firm in self.firms.values() for paper in firm.agreement]
        return found | {path for path in papers if path}
