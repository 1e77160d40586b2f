"""The form of a frozen build, format 1: what a lock file holds, field by field.

The writer, the reader, the schema and the page on the format are all made from these records. A frozen
build must be read for many years, so a field here never changes its meaning: what has to be said otherwise
is another format with a writer of its own.
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Annotated

from msgspec import Struct

from ferrule.model.records.about import about

__all__ = [
    "FORMAT",
    "Inline",
    "Lock",
    "LockedAlternate",
    "LockedApproval",
    "LockedAssembly",
    "LockedBuild",
    "LockedDocument",
    "LockedEach",
    "LockedFile",
    "LockedFirm",
    "LockedLine",
    "LockedPart",
    "LockedPrice",
    "LockedQuality",
    "LockedSource",
    "LockedStatement",
    "LockedStep",
    "LockedTool",
    "LockedWaiver",
]

#: The format that is written; older ones are still read.
FORMAT = 1


def _written(name: str) -> str:
    return name.removesuffix("_")


class _Form(
    Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True, rename=_written
):
    """What is not stated is not written."""


class Inline(_Form, frozen=True, kw_only=True):
    """Written on one line, in braces."""


class LockedFile(Inline, frozen=True, kw_only=True):
    """A source file by its content."""

    blob: Annotated[str, about("Object name of the file in git.")]
    sha256: Annotated[str, about("SHA-256 of the bytes in git.")]


class LockedDocument(Inline, frozen=True, kw_only=True):
    """A file that says what to build or proves a fact."""

    kind: Annotated[str, about("What the document is.")]
    file: Annotated[str, about("Path inside the product folder.")]
    rev: Annotated[str, about("Revision of the document.")] = ""
    approved_by: Annotated[str, about("Who approved this content.")] = ""
    approved: Annotated[dt.date | None, about("Day of the approval.")] = None


class LockedApproval(Inline, frozen=True, kw_only=True):
    """Who accepted the record."""

    role: Annotated[str, about("In which role.")]
    by: Annotated[str, about("Who.")]
    date: Annotated[dt.date, about("When.")]
    evidence: Annotated[str, about("What it rests on.")] = ""


class LockedPrice(Inline, frozen=True, kw_only=True):
    """The price from a quantity on."""

    from_: Annotated[Decimal, about("Smallest quantity of this price, in the part's unit.")]
    each: Annotated[str, about("Price of one.")] = ""
    pack: Annotated[str, about("Price of a full pack.")] = ""


class LockedStatement(Inline, frozen=True, kw_only=True):
    """A statement on restricted substances as it stood."""

    rule: Annotated[str, about("Which rule it speaks to.")]
    statement: Annotated[str, about("The paper.")] = ""
    sha256: Annotated[str, about("SHA-256 the record states for the paper.")] = ""
    date: Annotated[dt.date | None, about("Day of the statement.")] = None
    exemption: Annotated[str, about("Exemption claimed.")] = ""
    exempt: Annotated[str, about("Why none is needed.")] = ""


class LockedEach(Inline, frozen=True, kw_only=True):
    """How many of a part one SKU needs."""

    sku: Annotated[str, about("The SKU, or an assembly that is used nowhere.")]
    qty: Annotated[str, about("A plain decimal, or 1/24 where no decimal is exact.")]
    at_least: Annotated[bool, about("A lower bound: a quantity on the way is not known.")] = False


class LockedSource(_Form, frozen=True, kw_only=True):
    """One way to get a part, with the quote in force."""

    chosen: Annotated[bool, about("It is the one this build is bought from.")] = False
    status: Annotated[str, about("approved, trial, emergency or denied.")]
    maker: Annotated[str, about("Firm that makes it.")] = ""
    maker_part: Annotated[str, about("The maker's own number.")] = ""
    seller: Annotated[str, about("Firm that sells it.")] = ""
    seller_part: Annotated[str, about("The seller's number.")] = ""
    share: Annotated[str, about("Share of the need when split.")] = ""
    origin: Annotated[str, about("Country of origin.")] = ""
    origin_evidence: Annotated[str, about("What the origin rests on.")] = ""
    incoterm: Annotated[str, about("Delivery term of the prices.")] = ""
    quote: Annotated[str, about("The seller's quote number.")] = ""
    quoted: Annotated[dt.date | None, about("Day of the quote.")] = None
    valid_until: Annotated[dt.date | None, about("Last day of the quote.")] = None
    basis: Annotated[str, about("What the price rests on: written, contract, verbal or list.")] = ""
    evidence: Annotated[str, about("Where the quote is kept.")] = ""
    moq: Annotated[Decimal | None, about("Least quantity of an order.")] = None
    multiple: Annotated[Decimal | None, about("Steps of an order.")] = None
    pack: Annotated[str, about("Form of the main pack.")] = ""
    pack_size: Annotated[str, about("Its size, with a unit where that is not the part's.")] = ""
    lead_time: Annotated[str, about("Lead time quoted.")] = ""
    payment: Annotated[tuple[str, ...], about("Terms of payment of this source.")] = ()
    price: Annotated[tuple[LockedPrice, ...], about("Price breaks.")] = ()
    approval: Annotated[tuple[LockedApproval, ...], about("Who approved this source.")] = ()


class LockedPart(_Form, frozen=True, kw_only=True):
    """All about one part that the build needs."""

    name: Annotated[str, about("Name in words.")] = ""
    rev: Annotated[str, about("Revision of its documents.")] = ""
    class_: Annotated[str, about("What kind of part.")] = ""
    unit: Annotated[str, about("Unit in which it is counted.")]
    each: Annotated[tuple[LockedEach, ...], about("How many in one of each SKU, before losses.")]
    supply: Annotated[str, about("Who buys: turnkey, consigned, free-issue.")] = ""
    in_house: Annotated[bool, about("Made by ourselves; needs no source.")] = False
    lifecycle: Annotated[str, about("Whether the maker still made it.")] = ""
    material: Annotated[str, about("Material with grade.")] = ""
    finish: Annotated[str, about("Surface and colour.")] = ""
    programmed: Annotated[str, about("Firmware written into it.")] = ""
    version: Annotated[str, about("Version of a firmware image.")] = ""
    toolchain: Annotated[str, about("What built the firmware image.")] = ""
    safety_critical: Annotated[bool, about("A certificate or a guard depends on it.")] = False
    document: Annotated[tuple[LockedDocument, ...], about("Drawings, images, certificates.")] = ()
    statement: Annotated[tuple[LockedStatement, ...], about("Statements on restricted substances.")] = ()
    approval: Annotated[tuple[LockedApproval, ...], about("Who approved this part.")] = ()
    source: Annotated[tuple[LockedSource, ...], about("Where it could be bought.")] = ()


class LockedAlternate(Inline, frozen=True, kw_only=True):
    """Another part that was allowed in a line."""

    part: Annotated[str, about("Part number.")]
    approved: Annotated[dt.date | None, about("Day of approval.")] = None


class LockedLine(Inline, frozen=True, kw_only=True):
    """One entry of an assembly, fitted or not."""

    item: Annotated[int, about("Item reference.")]
    part: Annotated[str, about("Part or assembly used.")]
    qty: Annotated[str, about("How many, as the line states it.")] = ""
    per: Annotated[int | None, about("The quantity is for this many of the assembly.")] = None
    rate: Annotated[str, about("Use of an as-required item.")] = ""
    cut: Annotated[str, about("Length cut for each.")] = ""
    designators: Annotated[str, about("Places on the board.")] = ""
    counts: Annotated[str, about("Why the line does not count: not fitted, not effective.")] = ""
    supply: Annotated[str, about("Who buys for this line.")] = ""
    step: Annotated[str, about("Step at which it is fitted.")] = ""
    note: Annotated[str, about("Note for the assembler, such as a torque.")] = ""
    alternates: Annotated[tuple[LockedAlternate, ...], about("Parts that may stand in.")] = ()


class LockedStep(Inline, frozen=True, kw_only=True):
    """One operation."""

    name: Annotated[str, about("Name of the operation.")]
    firm: Annotated[str, about("Where it is done, if not at the assembly's factory.")] = ""
    fixture: Annotated[str, about("Tool needed.")] = ""
    program: Annotated[str, about("File of the test program.")] = ""
    program_rev: Annotated[str, about("Its revision.")] = ""
    yield_: Annotated[str, about("Target yield.")] = ""
    yield_evidence: Annotated[str, about("Where the yield comes from.")] = ""


class LockedQuality(Inline, frozen=True, kw_only=True):
    """What made us refuse a lot."""

    file: Annotated[str, about("The plan.")] = ""
    rev: Annotated[str, about("Its revision.")] = ""
    signed: Annotated[dt.date | None, about("Day both sides signed.")] = None
    level: Annotated[str, about("Inspection level.")] = ""
    critical: Annotated[str, about("Acceptance quality limit, critical defects.")] = ""
    major: Annotated[str, about("The same, major defects.")] = ""
    minor: Annotated[str, about("The same, minor defects.")] = ""
    lot: Annotated[str, about("What a lot is.")] = ""


class LockedAssembly(_Form, frozen=True, kw_only=True):
    """One assembly with its lines, steps and quality plan."""

    name: Annotated[str, about("Name in words.")] = ""
    rev: Annotated[str, about("Revision.")] = ""
    sku: Annotated[bool, about("It is sold.")] = False
    phantom: Annotated[bool, about("Never stocked: its lines count as the parent's.")] = False
    factory: Annotated[str, about("Firm that builds it.")] = ""
    barcode: Annotated[str, about("GTIN of a SKU.")] = ""
    variant: Annotated[str, about("Country, plug or language variant.")] = ""
    quote: Annotated[str, about("Number of the factory's quote.")] = ""
    quoted: Annotated[dt.date | None, about("Day of that quote.")] = None
    valid_until: Annotated[dt.date | None, about("Last day of that quote.")] = None
    quality: Annotated[LockedQuality | None, about("Quality plan.")] = None
    document: Annotated[tuple[LockedDocument, ...], about("Drawings, instructions, certificates.")] = ()
    approval: Annotated[tuple[LockedApproval, ...], about("Who approved this assembly.")] = ()
    step: Annotated[tuple[LockedStep, ...], about("Operations in order.")] = ()
    line: Annotated[tuple[LockedLine, ...], about("Lines in the order of their items.")] = ()


class LockedTool(_Form, frozen=True, kw_only=True):
    """A tool by number and condition."""

    name: Annotated[str, about("Name in words.")]
    kind: Annotated[str, about("What it is.")]
    makes: Annotated[tuple[str, ...], about("Parts it makes or serves.")] = ()
    owner: Annotated[str, about("Who owns it.")] = ""
    custodian: Annotated[str, about("Who holds it.")] = ""
    location: Annotated[str, about("Where it stood.")] = ""
    mark: Annotated[str, about("Asset mark on it.")] = ""
    cavities: Annotated[int | None, about("Parts of each in one shot.")] = None
    life: Annotated[Decimal | None, about("Shots it lasts.")] = None
    used: Annotated[Decimal | None, about("Shots made so far.")] = None
    approved: Annotated[dt.date | None, about("Day its parts were approved.")] = None
    agreement: Annotated[str, about("Paper on ownership and return.")] = ""
    agreement_sha256: Annotated[str, about("SHA-256 the record states for that paper.")] = ""
    agreement_signed: Annotated[dt.date | None, about("Day it was signed.")] = None
    agreement_until: Annotated[dt.date | None, about("Last day it holds.")] = None
    document: Annotated[tuple[LockedDocument, ...], about("Drawings and programs of the tool.")] = ()


class LockedFirm(Inline, frozen=True, kw_only=True):
    """A firm the build rests on."""

    name: Annotated[str, about("Name.")]
    country: Annotated[str, about("Country, ISO 3166.")] = ""
    payment: Annotated[tuple[str, ...], about("Terms of payment in force.")] = ()


class LockedBuild(Inline, frozen=True, kw_only=True):
    """A quantity that was planned to be made."""

    sku: Annotated[str, about("What is built.")]
    qty: Annotated[Decimal, about("Good units wanted.")]
    factory: Annotated[str, about("Firm that builds.")] = ""
    serials: Annotated[str, about("Serial numbers given out.")] = ""


class LockedWaiver(_Form, frozen=True, kw_only=True):
    """A waiver or deviation in force on the day of the freeze."""

    rule: Annotated[str, about("Rule whose finding is accepted.")]
    subject: Annotated[str, about("Record it covers.")]
    kind: Annotated[str, about("deviation (agreed before building) or waiver (after).")]
    reason: Annotated[str, about("Why it is accepted.")]
    risk: Annotated[str, about("What it costs if it goes wrong.")] = ""
    risk_owner: Annotated[str, about("Who answers for the risk.")] = ""
    accepted_by: Annotated[str, about("Who accepted it.")] = ""
    accepted: Annotated[dt.date | None, about("Day it was accepted.")] = None
    until: Annotated[dt.date | None, about("Last day it holds.")] = None
    quantity: Annotated[Decimal | None, about("Units it holds for.")] = None
    serials: Annotated[str, about("Serial numbers it holds for.")] = ""
    corrective_action: Annotated[str, about("What ends it.")] = ""
    renewals: Annotated[int, about("How often it was renewed.")] = 0


class Hashes(_Form, frozen=True, kw_only=True):
    """SHA-256 of the whole and of its halves."""

    sources: Annotated[str, about("Of all source files: a line `SHA256  PATH` each, sorted by path.")]
    documents: Annotated[str, about("Of all documents, in the same way.")]
    list_: Annotated[str, about("Of the expanded list: a line `SKU PART QUANTITY UNIT` each, sorted.")]
    text: Annotated[str, about("Of this file without this line.")] = ""


class Lock(_Form, frozen=True, kw_only=True):
    """A frozen build: frozen/NAME.lock."""

    format: Annotated[int, about("Version of this format. Readers refuse one they do not know.")]
    name: Annotated[str, about("Name of the frozen build; its tag is frozen/NAME.")]
    product: Annotated[str, about("Identifier of the product.")]
    product_name: Annotated[str, about("Name of the product.")]
    files_format: Annotated[int, about("Version of the product's file formats.")]
    stage: Annotated[str, about("Stage at which it was checked.")]
    day: Annotated[dt.date, about("Day on which dates were judged.")]
    commit: Annotated[str, about("Commit that was frozen; the lock is committed on top of it.")]
    ferrule: Annotated[str, about("Version of Ferrule that checked and wrote it.")]
    rules: Annotated[str, about("Rule set that checked it: how many rules, and a hash of their weights.")]
    supersedes: Annotated[str, about("Frozen build that this one replaces.")] = ""
    supersedes_sha256: Annotated[str, about("SHA-256 of that build's lock.")] = ""
    markets: Annotated[tuple[str, ...], about("Where it is sold.")] = ()
    record_years: Annotated[int | None, about("Years to keep this record after the last unit.")] = None
    self_approved: Annotated[bool, about("One person is the whole company: nobody else could approve.")] = (
        False
    )
    hashes: Annotated[Hashes, about("SHA-256 of the whole and of its halves.")]
    file: Annotated[dict[str, LockedFile], about("Source files by path.")]
    document: Annotated[
        dict[str, str], about("SHA-256 of every document by path; empty where it was missing.")
    ] = {}
    firm: Annotated[dict[str, LockedFirm], about("Firms the build rests on.")] = {}
    build: Annotated[dict[str, LockedBuild], about("Builds of the plans, by PLAN/BUILD.")] = {}
    assembly: Annotated[dict[str, LockedAssembly], about("Assemblies by part number.")] = {}
    part: Annotated[dict[str, LockedPart], about("Parts by part number.")] = {}
    tool: Annotated[dict[str, LockedTool], about("Tools by asset number.")] = {}
    waiver: Annotated[tuple[LockedWaiver, ...], about("Waivers and deviations in force.")] = ()
