"""Parts and their sources."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from ferrule.model.duration import Duration
from ferrule.model.incoterms import Incoterm
from ferrule.model.money import Money
from ferrule.model.number import Count
from ferrule.model.percent import Percent
from ferrule.model.quantity import Quantity
from ferrule.model.records.about import Id, Record, Text, about
from ferrule.model.records.common import Charge, Document, Leg, Payment

__all__ = [
    "Approval",
    "Battery",
    "Cancellation",
    "Characteristic",
    "Consigned",
    "CustomsCode",
    "Expedite",
    "Export",
    "Item",
    "Lifecycle",
    "Moisture",
    "Offer",
    "Pack",
    "Packing",
    "Part",
    "PartClass",
    "PartsFile",
    "PriceBreak",
    "Programmed",
    "Secured",
    "Source",
    "Substances",
    "Supply",
]

Supply = Literal["turnkey", "consigned", "free-issue"]
PartClass = Literal[
    "electrical",
    "mechanical",
    "fabricated",
    "board",
    "cable",
    "label",
    "packaging",
    "as-required",
    "firmware",
    "document",
    "battery",
]


class PriceBreak(Record, frozen=True, kw_only=True):
    """The price from a quantity on."""

    from_: Annotated[Count, about("Smallest order quantity of this price, in the part's unit.", 5000)]
    each: Annotated[Money | None, about("Price of one unit.", 0.0062)] = None
    pack: Annotated[Money | None, about("Price of one full pack instead of `each`.", 38.00)] = None
    note: Annotated[
        str | None, about("Why a higher quantity costs more, where it does.", "allocation surcharge")
    ] = None


class Pack(Record, frozen=True, kw_only=True):
    """A form the part also comes in, beside the source's main pack."""

    form: Annotated[
        Literal["reel", "cut tape", "tray", "tube", "bulk", "roll", "sheet", "box", "bag", "can", "bottle"],
        about("Form of the pack.", "cut tape"),
    ]
    size: Annotated[
        Quantity | None, about("Content of one pack; cut tape and bulk have none.", 5000, "50 m")
    ] = None
    moq: Annotated[Count | None, about("Least quantity in this form.", 100)] = None
    multiple: Annotated[Count | None, about("Steps in which this form is sold.", 100)] = None
    price: Annotated[tuple[PriceBreak, ...], about("Price breaks of this form.")] = ()
    charge: Annotated[tuple[Charge, ...], about("Charges of this form, such as re-reeling.")] = ()


class Offer(Record, frozen=True, kw_only=True):
    """The same goods from the same seller under another delivery term."""

    incoterm: Annotated[Incoterm, about("Rule of Incoterms 2020 and named place.", "DAP Wexmouth warehouse")]
    price: Annotated[tuple[PriceBreak, ...], about("Price breaks under this term.")] = ()
    charge: Annotated[tuple[Charge, ...], about("Charges under this term.")] = ()
    lane: Annotated[Id | None, about("Lane used with this term.", "halden-sea")] = None
    valid_until: Annotated[dt.date | None, about("Last day of this offer.", "2027-01-31")] = None


class Expedite(Record, frozen=True, kw_only=True):
    """A faster delivery at a price."""

    lead_time: Annotated[Duration, about("Lead time when expedited.", "6 weeks")]
    each: Annotated[Money | None, about("Surcharge on one.", 0.12)] = None
    fee: Annotated[Money | None, about("Surcharge on the order.", "350 USD")] = None
    quoted: Annotated[dt.date | None, about("Day of the quote.", "2026-10-05")] = None
    valid_until: Annotated[dt.date | None, about("Last day of the quote.", "2026-12-31")] = None


class Cancellation(Record, frozen=True, kw_only=True):
    """What cancelling costs, by time before delivery. Free at exactly `before`."""

    before: Annotated[
        Duration, about("Fee applies when cancelled later than this before delivery.", "8 weeks")
    ]
    fee: Annotated[Percent, about("Percent of the order's value.", "25 %")]


class Approval(Record, frozen=True, kw_only=True):
    """Who accepted this record, for which reason."""

    role: Annotated[Id, about("Role of product.toml.", "safety")]
    by: Annotated[str, about("Who.", "M. Tarn")]
    date: Annotated[dt.date, about("When.", "2026-09-30")]
    evidence: Annotated[str | None, about("What it rests on.", "docs/certificates/pack-report.pdf")] = None


class Source(Record, frozen=True, kw_only=True):
    """One way to get a part: a maker's article at a seller's terms."""

    maker: Annotated[
        Id | None, about("Who makes it (a firm). Unknown when the factory does not say.", "ashfield")
    ] = None
    maker_part: Annotated[str | None, about("The maker's own number.", "AC0603-104K16")] = None
    plant: Annotated[
        str | None,
        about("The maker's plant; two sources from one plant fail together.", "Ashfield Tarn works"),
    ] = None
    seller: Annotated[Id | None, about("Who sells it (a firm).", "norholt")] = None
    seller_part: Annotated[str | None, about("The seller's number.", "NH-448120")] = None
    status: Annotated[
        Literal["approved", "trial", "emergency", "denied"], about("Whether it may be bought.", "approved")
    ] = "trial"
    rank: Annotated[int | None, about("Preference, 1 first.", 1)] = None
    share: Annotated[Percent | None, about("Share of the need when split between sources.", "70 %")] = None
    currency: Annotated[str | None, about("Currency of the amounts in this source, ISO 4217.", "USD")] = None
    price: Annotated[
        tuple[PriceBreak, ...],
        about("Price breaks, smallest quantity first.", [{"from": 5000, "each": 0.0062}]),
    ] = ()
    offer: Annotated[tuple[Offer, ...], about("Further delivery terms with their prices.")] = ()
    incoterm: Annotated[
        Incoterm | None, about("Delivery term of `price`: rule and named place.", "FCA Norholt depot")
    ] = None
    charge: Annotated[tuple[Charge, ...], about("Charges per order, inbound and one-off.")] = ()
    quote: Annotated[str | None, about("The seller's quote number.", "Q-26-1187")] = None
    quoted: Annotated[dt.date | None, about("Day of the quote.", "2026-10-01")] = None
    valid_until: Annotated[dt.date | None, about("Last day of the quote.", "2027-01-31")] = None
    evidence: Annotated[str | None, about("Where the quote is kept.", "docs/quotes/Q-26-1187.pdf")] = None
    basis: Annotated[
        Literal["written", "contract", "verbal", "list"], about("What the price rests on.", "written")
    ] = "written"
    held_by: Annotated[str | None, about("Who holds a verbal price.", "J. Holt, by phone 2026-10-02")] = None
    price_at_delivery: Annotated[bool, about("The price is the one of the delivery day.", True)] = False
    moq: Annotated[Count | None, about("Least quantity of an order. 0 or 1 says there is none.", 5000)] = None
    multiple: Annotated[Count | None, about("Orders go in steps of this.", 5000)] = None
    pack: Annotated[
        tuple[Pack, ...],
        about("Forms it comes in; the first is the main one.", [{"form": "reel", "size": 5000}]),
    ] = ()
    full_packs_only: Annotated[bool, about("Part packs are not sold.", True)] = False
    lead_time: Annotated[
        Duration | None, about("From order to the end of the seller's work.", "12 weeks")
    ] = None
    lead_calendar: Annotated[
        Id | None, about("Calendar that counts working days; else the seller's.", "factory-south")
    ] = None
    lead_stated: Annotated[dt.date | None, about("Day the lead time was stated.", "2026-10-01")] = None
    lead_observed: Annotated[Duration | None, about("Lead time of the last deliveries.", "14 weeks")] = None
    leg: Annotated[tuple[Leg, ...], about("Lead time in legs, instead of one figure.")] = ()
    inbound: Annotated[Duration | None, about("From the seller's door to where it is used.", "5 days")] = None
    expedite: Annotated[tuple[Expedite, ...], about("Faster deliveries at a price.")] = ()
    ncnr: Annotated[bool | None, about("Non-cancellable, non-returnable.", True)] = None
    cancellation: Annotated[tuple[Cancellation, ...], about("Fee steps of cancelling.")] = ()
    reschedule: Annotated[Duration | None, about("Latest notice for moving a delivery.", "4 weeks")] = None
    payment: Annotated[tuple[Payment, ...], about("Payment terms of this source, before the seller's.")] = ()
    capacity_per_week: Annotated[Count | None, about("Most the seller delivers in a week.", 20000)] = None
    allocated: Annotated[
        Count | None, about("Quantity promised on allocation; more is not to be had.", 40000)
    ] = None
    held_for_us: Annotated[Count | None, about("Stock the seller keeps for us.", 5000)] = None
    notice: Annotated[Duration | None, about("Notice of changes and discontinuance.", "6 months")] = None
    origin: Annotated[str | None, about("Country of origin, ISO 3166.", "JP")] = None
    origin_evidence: Annotated[str | None, about("What the origin rests on.", "maker's declaration 2026")] = (
        None
    )
    approval: Annotated[
        tuple[Approval, ...], about("Approvals of this source, such as for a safety-critical part.")
    ] = ()
    note: Annotated[str | None, about("Anything else a buyer should know.")] = None


class Lifecycle(Record, frozen=True, kw_only=True):
    """Whether the maker still makes it."""

    status: Annotated[
        Literal["active", "not-for-new-design", "last-time-buy", "obsolete", "unknown"],
        about("Status by the maker's word.", "active"),
    ]
    checked: Annotated[dt.date | None, about("Day it was checked.", "2026-10-02")] = None
    evidence: Annotated[str | None, about("Where it was read.", "maker's notice 2026-31")] = None
    last_order: Annotated[dt.date | None, about("Last day to order.", "2027-06-30")] = None
    last_shipment: Annotated[dt.date | None, about("Last day of shipment.", "2027-12-31")] = None
    covered_by: Annotated[
        str | None,
        about(
            "What covers the rest of the plan, such as a last-time buy.", "last-time buy of 9,000 in stock"
        ),
    ] = None


class Characteristic(Record, frozen=True, kw_only=True):
    """Something measured on a part."""

    name: Annotated[Text, about("What is measured.", "gasket groove depth")]
    nominal: Annotated[Quantity | None, about("Target.", "1.60 mm")] = None
    low: Annotated[Quantity | None, about("Lower limit.", "1.55 mm")] = None
    high: Annotated[Quantity | None, about("Upper limit.", "1.65 mm")] = None
    method: Annotated[str | None, about("How it is measured.", "depth gauge, 4 places")] = None
    measured: Annotated[tuple[Quantity, ...], about("Values of the first article.", ["1.61 mm"])] = ()
    first_article: Annotated[
        Literal["open", "passed", "failed"] | None, about("State of the first article.", "passed")
    ] = None
    critical: Annotated[bool, about("A critical dimension of the drawing.", True)] = True


class Moisture(Record, frozen=True, kw_only=True):
    """Moisture sensitivity of a component."""

    level: Annotated[
        Literal["1", "2", "2a", "3", "4", "5", "5a", "6"], about("Moisture class printed on the bag.", "3")
    ]
    floor_life: Annotated[str | None, about("Time out of the bag.", "168 h")] = None


class Substances(Record, frozen=True, kw_only=True):
    """A statement about restricted substances."""

    rule: Annotated[Text, about("Which rule it speaks to, with its year.", "2011/65/EU with 2015/863")]
    markets: Annotated[tuple[str, ...], about("Markets it is good for.", ["EU", "GB"])] = ()
    statement: Annotated[str | None, about("The maker's statement.", "docs/statements/ashfield-2026.pdf")] = (
        None
    )
    sha256: Annotated[str | None, about("SHA-256 of the statement.", "e3b0c44298fc1c14")] = None
    date: Annotated[dt.date | None, about("Day of the statement.", "2026-05-04")] = None
    exemption: Annotated[str | None, about("Exemption claimed, as cited.", "6(c)")] = None
    exemption_until: Annotated[dt.date | None, about("Last day of the exemption.", "2027-12-31")] = None
    exempt: Annotated[
        str | None, about("Why no statement is needed.", "packaging paper, no homogeneous electronics")
    ] = None


class CustomsCode(Record, frozen=True, kw_only=True):
    """Tariff number for one destination; a matter for a broker or a ruling, never guessed."""

    destination: Annotated[str, about("Country or EU.", "EU")]
    code: Annotated[str, about("The number used at that border.", "8519 81 00")]
    checked: Annotated[dt.date | None, about("Day it was checked.", "2026-09-01")] = None
    checked_by: Annotated[str | None, about("By whom.", "broker Lindqvist")] = None
    evidence: Annotated[str | None, about("Ruling or letter.", "ruling 2026-114")] = None


class Export(Record, frozen=True, kw_only=True):
    """Export classification of a thing, drawing or program."""

    classification: Annotated[Text, about("Class as determined, or `not listed`.", "not listed")]
    regime: Annotated[str | None, about("Whose list.", "EU dual-use list")] = None
    checked: Annotated[dt.date | None, about("Day it was determined.", "2026-08-20")] = None
    checked_by: Annotated[str | None, about("By whom.", "export adviser")] = None


class Battery(Record, frozen=True, kw_only=True):
    """What a carrier asks about a cell or battery. Limits differ by mode, carrier and year: dated data."""

    chemistry: Annotated[
        Literal["lithium ion", "lithium metal", "nickel metal hydride", "alkaline", "other"],
        about("Chemistry.", "lithium ion"),
    ]
    cell_maker: Annotated[Id | None, about("Maker of the cells.", "korvel")] = None
    cell_model: Annotated[str | None, about("Exact cell model.", "KV-18650-26")] = None
    watt_hours: Annotated[Count | None, about("Energy.", 18.7)] = None
    un_number: Annotated[
        Literal["UN3480", "UN3481", "UN3090", "UN3091"] | None, about("UN number as shipped.", "UN3481")
    ] = None
    hazard_class: Annotated[str | None, about("Transport class.", "9")] = None
    test_summary: Annotated[str | None, about("UN 38.3 test summary.", "docs/certificates/un383.pdf")] = None
    state_of_charge: Annotated[Percent | None, about("Highest state of charge when shipped.", "30 %")] = None
    marks: Annotated[tuple[str, ...], about("Marks on the carton.", ["lithium battery mark"])] = ()
    checked: Annotated[dt.date | None, about("Day the transport rules were checked.", "2026-10-12")] = None


class Consigned(Record, frozen=True, kw_only=True):
    """Custody of a part we send to the factory."""

    custodian: Annotated[Id | None, about("Firm that holds it.", "harbour")] = None
    allowance: Annotated[Percent | None, about("Loss forgiven in money, percent of use.", "0.5 %")] = None
    value: Annotated[Money | None, about("Unit value for customs and liability.", "2.90 USD")] = None
    counted: Annotated[dt.date | None, about("Day of the last count.", "2026-11-02")] = None
    buyable_elsewhere: Annotated[
        bool | None, about("Whether anyone can buy the part; if so it proves nothing.", False)
    ] = None
    identities: Annotated[bool, about("Each carries an identity issued by us.", True)] = False


class Secured(Record, frozen=True, kw_only=True):
    """How a processor that holds our secrets is handled."""

    sealed_lots: Annotated[bool | None, about("Shipped in sealed, numbered lots.", True)] = None
    locked_store: Annotated[bool | None, about("Kept under lock at the factory.", True)] = None
    blank_buyable: Annotated[bool | None, about("Whether blank parts can be bought by others.", True)] = None
    identities_by: Annotated[str | None, about("Who issues the identities.", "us")] = None


class Programmed(Record, frozen=True, kw_only=True):
    """What is written into a part."""

    image: Annotated[Id, about("Part of class firmware.", "FW-W20")]
    at: Annotated[str | None, about("Step that writes it.", "board test")] = None
    blank_until: Annotated[str | None, about("Step until which it stays blank.", "board test")] = None


class Packing(Record, frozen=True, kw_only=True):
    """What a packaging item does."""

    role: Annotated[
        Literal["unit box", "inner carton", "master carton", "pallet", "label", "manual", "insert", "bag"],
        about("Use of the item.", "master carton"),
    ]
    units: Annotated[int | None, about("Sellable units in one.", 20)] = None
    outer: Annotated[
        tuple[Quantity, ...], about("Outer length, width, height.", ["0.40 m", "0.30 m", "0.25 m"])
    ] = ()
    gross: Annotated[Quantity | None, about("Mass when full.", "9.2 kg")] = None
    stack: Annotated[int | None, about("Most layers on top of each other.", 5)] = None
    drop_class: Annotated[str | None, about("Drop-test class.", "10 drops from 0.76 m")] = None
    per_layer: Annotated[int | None, about("Cartons in a pallet layer.", 8)] = None
    layers: Annotated[int | None, about("Layers on a pallet.", 5)] = None
    marks: Annotated[
        tuple[str, ...], about("Marks printed on it, recycling marks included.", ["PAP 20"])
    ] = ()
    part_full: Annotated[
        Literal["full size", "cut down", "not shipped"] | None,
        about("How a carton that is not full goes.", "full size"),
    ] = None


class Item(Record, frozen=True, kw_only=True):
    """What parts and assemblies have in common: anything with a part number."""

    name: Annotated[str | None, about("Name in words.", "Capacitor 100 nF 16 V X7R 0603")] = None
    rev: Annotated[str | None, about("Revision of its documents.", "C")] = None
    unit: Annotated[str, about("Base unit in which it is counted.", "each", "m", "g")] = "each"
    note: Annotated[str | None, about("Anything else a reader should know.")] = None
    owner: Annotated[str | None, about("Who answers for it.", "K. Reed")] = None
    supply: Annotated[
        Supply | None, about("Who buys: the factory (turnkey), we (consigned), or free issue.", "turnkey")
    ] = None
    source: Annotated[tuple[Source, ...], about("Where it can be bought.")] = ()
    in_house: Annotated[bool, about("Made by ourselves; needs no source.", True)] = False
    lifecycle: Annotated[Lifecycle | None, about("Whether it is still made.")] = None
    document: Annotated[tuple[Document, ...], about("Drawings, boards, specifications, statements.")] = ()
    safety_critical: Annotated[bool, about("A certificate or a guard depends on it.", True)] = False
    safety_reason: Annotated[
        str | None, about("Why it is safety-critical.", "insulation between cells and housing")
    ] = None
    approval: Annotated[tuple[Approval, ...], about("Approvals of this record.")] = ()
    substances: Annotated[tuple[Substances, ...], about("Statements on restricted substances.")] = ()
    customs_code: Annotated[tuple[CustomsCode, ...], about("Tariff numbers by destination.")] = ()
    customs_value: Annotated[
        Money | None, about("Value declared when nothing is paid for it.", "2.90 USD")
    ] = None
    export: Annotated[Export | None, about("Export classification.")] = None
    mass: Annotated[Quantity | None, about("Mass of one.", "0.41 kg")] = None
    size: Annotated[tuple[Quantity, ...], about("Length, width, height.", ["120 mm", "80 mm", "34 mm"])] = ()
    battery: Annotated[Battery | None, about("Transport facts of a cell or battery.")] = None
    packing: Annotated[Packing | None, about("What a packaging item does.")] = None
    consigned: Annotated[Consigned | None, about("Custody when we send it to the factory.")] = None
    secured: Annotated[Secured | None, about("Handling when it holds our secrets.")] = None
    service: Annotated[bool, about("Kept for service; used in no assembly on purpose.", True)] = False
    replaces: Annotated[Id | None, about("Part it replaces.", "C-100N-0402")] = None
    interchange: Annotated[
        Literal["both ways", "new for old only", "none"] | None,
        about("Whether old and new can be mixed.", "both ways"),
    ] = None
    characteristic: Annotated[
        tuple[Characteristic, ...], about("Critical dimensions and other measured facts.")
    ] = ()
    qualify: Annotated[Duration | None, about("Time to qualify a replacement.", "26 weeks")] = None
    qualify_cost: Annotated[Money | None, about("Cost of qualifying a replacement.", "14000 EUR")] = None
    loss_chance: Annotated[Percent | None, about("Yearly chance that the source fails.", "5 %")] = None
    safety_stock: Annotated[Count | None, about("Stock never planned away.", 200)] = None


class Part(Item, frozen=True, kw_only=True):
    """A part that is not made of lines."""

    class_: Annotated[PartClass | None, about("What kind of part.", "electrical")] = None
    value: Annotated[str | None, about("Rated value; IEC 60062 codes are understood.", "100n", "4k7")] = None
    package: Annotated[str | None, about("Case or package.", "0603")] = None
    rating: Annotated[str | None, about("Voltage, current, tolerance.", "16 V X7R 10 %")] = None
    attrition: Annotated[Percent | None, about("Placed but lost, percent of use.", "1.5 %")] = None
    attrition_floor: Annotated[Count | None, about("Least lost in a run, pieces.", 10)] = None
    setup_loss: Annotated[Count | None, about("Lost on every reel or strip mounted.", 40)] = None
    placement: Annotated[
        Literal["machine", "hand", "none"] | None,
        about("How it gets to its place; hand and none lose no set-up.", "machine"),
    ] = None
    material: Annotated[
        str | None, about("Material with grade.", "PC/ABS, UL 94 V-0, grade and maker stated")
    ] = None
    finish: Annotated[str | None, about("Surface and colour.", "texture MT-11010, moss green")] = None
    kerf: Annotated[Quantity | None, about("Lost with each cut from a roll or bar.", "2 mm")] = None
    moisture: Annotated[Moisture | None, about("Moisture sensitivity.")] = None
    shelf_life: Annotated[Duration | None, about("How long it keeps, unopened.", "9 months")] = None
    static_sensitive: Annotated[bool | None, about("Needs static protection.", True)] = None
    programmed: Annotated[Programmed | None, about("Firmware written into it.")] = None
    version: Annotated[str | None, about("Version of a firmware image.", "2.4.1")] = None
    toolchain: Annotated[
        str | None, about("What built the firmware image.", "compiler 14.2, build script 9f2c")
    ] = None


class PartsFile(Record, frozen=True, kw_only=True):
    """Parts with their sources: parts/*.toml."""

    part: Annotated[dict[Id, Part], about("Part records by part number.")]
