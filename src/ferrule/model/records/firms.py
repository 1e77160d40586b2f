"""Firms, channels, lanes, duty and exchange rates: the facts of trade."""

from __future__ import annotations

import datetime as dt
from functools import partial
from typing import Annotated, Literal

from msgspec import field

from ferrule.model.duration import Duration
from ferrule.model.exchange import Exchange
from ferrule.model.incoterms import Incoterm
from ferrule.model.money import Money
from ferrule.model.number import Count
from ferrule.model.percent import Percent
from ferrule.model.quantity import Quantity
from ferrule.model.records.about import Id, Record, Text, about
from ferrule.model.records.common import Agreement, Charge, Leg, Markup, Payment

__all__ = [
    "Allowance",
    "Channel",
    "Disclosure",
    "Duty",
    "EntryFee",
    "Factory",
    "Fee",
    "Firm",
    "FirmsFile",
    "Insurance",
    "Lane",
    "Rate",
    "Settlement",
    "Surcharge",
]


class Factory(Record, frozen=True, kw_only=True):
    """What a firm asks and promises as our factory."""

    markup: Annotated[tuple[Markup, ...], about("Percentages on declared bases.")] = ()
    handling: Annotated[Money | None, about("Fee for each consigned line in a build.", "25 USD")] = None
    covers_stock: Annotated[
        Duration | None, about("Factory-bought stock we must take over after this time.", "90 days")
    ] = None
    stock_markup: Annotated[Percent | None, about("Mark-up on stock taken over.", "5 %")] = None
    stock_storage: Annotated[Percent | None, about("Storage a month, percent of value.", "1 %")] = None
    capacity_per_week: Annotated[Count | None, about("Most finished units a week.", 2500)] = None
    forecast_binds: Annotated[Duration | None, about("Forecast inside this time is an order.", "8 weeks")] = (
        None
    )
    exit_time: Annotated[Duration | None, about("Time to move what it makes elsewhere.", "20 weeks")] = None
    exit_cost: Annotated[Money | None, about("Money to move what it makes elsewhere.", "36000 EUR")] = None
    incoming: Annotated[Duration | None, about("Incoming inspection of parts.", "3 working days")] = None


class Disclosure(Record, frozen=True, kw_only=True):
    """What a firm may see."""

    level: Annotated[
        Literal["nothing", "outline", "build", "price", "all"],
        about("How much of the list it may see.", "build"),
    ]
    agreement: Annotated[Agreement | None, about("Confidentiality agreement.")] = None
    cleared_words: Annotated[tuple[str, ...], about("Secret words it may read.", ["Fieldfare"])] = ()


class Firm(Record, frozen=True, kw_only=True):
    """Anyone we deal with: seller, maker, factory, customer, carrier."""

    name: Annotated[Text, about("Full name.", "Norholt Components")]
    roles: Annotated[
        tuple[
            Literal[
                "seller",
                "maker",
                "factory",
                "customer",
                "carrier",
                "broker",
                "laboratory",
                "lender",
                "agency",
                "us",
            ],
            ...,
        ],
        about("What it is to us.", ["seller"]),
    ] = ()
    country: Annotated[str | None, about("ISO 3166 code.", "NL")] = None
    calendar: Annotated[Id | None, about("Its calendar.", "factory-south")] = None
    currency: Annotated[str | None, about("Currency it is paid in, ISO 4217.", "USD")] = None
    payment: Annotated[
        tuple[Payment, ...],
        about("Terms; shares add to exactly 100 %.", [{"share": "100 %", "due": "invoice + 30 days"}]),
    ] = ()
    credit_limit: Annotated[Money | None, about("Most it lets us owe, or we let it owe.", "40000 USD")] = None
    minimum_order: Annotated[Money | None, about("Least value of a whole order.", "250 USD")] = None
    small_order_fee: Annotated[
        Money | None, about("Asked below the least value instead of refusing.", "35 USD")
    ] = None
    late_interest: Annotated[Percent | None, about("Yearly interest on late payment.", "9 %")] = None
    bank_costs: Annotated[
        Literal["us", "them", "shared"] | None, about("Who bears bank charges.", "shared")
    ] = None
    rate_band: Annotated[Percent | None, about("Currency move beyond which prices are reopened.", "3 %")] = (
        None
    )
    factory: Annotated[Factory | None, about("Terms as our factory.")] = None
    agreement: Annotated[tuple[Agreement, ...], about("Signed papers.")] = ()
    disclosure: Annotated[Disclosure | None, about("What it may see.")] = None
    contact: Annotated[str | None, about("Whom to ask.", "sales desk")] = None
    note: Annotated[str | None, about("Anything else.")] = None


class Allowance(Record, frozen=True, kw_only=True):
    """A percentage a retailer takes off before paying."""

    name: Annotated[Text, about("What for.", "damaged goods")]
    rate: Annotated[Percent, about("Percent of net revenue.", "2 %")]


class Fee(Record, frozen=True, kw_only=True):
    """What a channel keeps."""

    name: Annotated[Text, about("What for.", "card processing")]
    percent: Annotated[Percent | None, about("Percent of the base.", "2.9 %")] = None
    fixed: Annotated[
        Money | None, about("Amount on each sale; home currency when none is said.", "0.30 EUR")
    ] = None
    base: Annotated[
        Literal["net revenue", "list price", "price with tax"],
        about("What the percent is charged on.", "net revenue"),
    ] = "net revenue"
    returned: Annotated[bool, about("Comes back when the sale is returned.", True)] = False


class Settlement(Record, frozen=True, kw_only=True):
    """When a channel's money arrives."""

    lag: Annotated[Duration | None, about("From sale to settlement of direct sales.", "7 days")] = None
    reserve: Annotated[Percent | None, about("Held back.", "10 %")] = None
    reserve_for: Annotated[Duration | None, about("How long the reserve is held.", "90 days")] = None
    pay_run: Annotated[
        Literal["monday", "tuesday", "wednesday", "thursday", "friday"] | None,
        about("Weekday on which the customer pays.", "thursday"),
    ] = None
    pay_run_days: Annotated[
        tuple[int, ...], about("Days of the month on which the customer pays.", [10, 25])
    ] = ()


class Channel(Record, frozen=True, kw_only=True):
    """A way to the buyer."""

    name: Annotated[Text, about("Name.", "web shop")]
    customer: Annotated[Id | None, about("Firm that pays us.", "larkfield")] = None
    kind: Annotated[Literal["direct", "retail", "distributor"], about("Who sells to the user.", "retail")]
    currency: Annotated[str | None, about("Currency of its prices, ISO 4217.", "EUR")] = None
    country: Annotated[str | None, about("Where it sells, ISO 3166 or EU.", "EU")] = None
    tax_included: Annotated[bool | None, about("Whether list prices contain sales tax.", True)] = None
    tax: Annotated[Percent | None, about("Rate of that tax.", "20 %")] = None
    margin: Annotated[Percent | None, about("What the retailer keeps of the price without tax.", "45 %")] = (
        None
    )
    allowance: Annotated[tuple[Allowance, ...], about("Taken off before paying.")] = ()
    chargeback: Annotated[tuple[Charge, ...], about("Penalties, such as for a part-full carton.")] = ()
    fee: Annotated[tuple[Fee, ...], about("What the channel keeps on each sale.")] = ()
    payment: Annotated[
        tuple[Payment, ...],
        about("Terms of a customer who buys from us.", [{"share": "100 %", "due": "receipt + 60 days"}]),
    ] = ()
    settlement: Annotated[Settlement | None, about("When the money arrives.")] = None
    returns: Annotated[Percent | None, about("Units that come back.", "6 %")] = None
    return_cost: Annotated[Money | None, about("Cost of one return.", "6 EUR")] = None
    recovery: Annotated[Percent | None, about("Landed value recovered from a return.", "40 %")] = None
    return_lag: Annotated[Duration | None, about("From sale to return.", "4 weeks")] = None
    warranty: Annotated[Percent | None, about("Units replaced under warranty.", "2 %")] = None
    delivery: Annotated[Money | None, about("Fulfilment and postage of one unit.", "7.40 EUR")] = None
    cartons_only: Annotated[bool, about("Takes full master cartons only.", True)] = False


class Surcharge(Record, frozen=True, kw_only=True):
    """An addition in a season."""

    name: Annotated[Text, about("Name.", "peak season")]
    from_: Annotated[dt.date | None, about("First day.", "2026-09-01")] = None
    to: Annotated[dt.date | None, about("Last day.", "2026-12-15")] = None
    percent: Annotated[Percent | None, about("Percent of the freight.", "18 %")] = None
    amount: Annotated[Charge | None, about("Amount instead of a percent.")] = None


class Insurance(Record, frozen=True, kw_only=True):
    """Cargo insurance."""

    rate: Annotated[Percent, about("Percent of the insured value.", "0.4 %")]
    of: Annotated[Percent, about("Insured value, percent of goods and freight.", "110 %")] = field(
        default_factory=partial(Percent.of, "110 %")
    )


class Lane(Record, frozen=True, kw_only=True):
    """A way of shipping."""

    name: Annotated[Text, about("Name in words.", "Port Halden to Wexmouth by sea")]
    mode: Annotated[
        Literal["sea", "sea container", "air", "road", "rail", "courier"], about("Means.", "sea container")
    ]
    carrier: Annotated[Id | None, about("Firm that carries.", "straitline")] = None
    from_: Annotated[str | None, about("Where it starts.", "Port Halden")] = None
    to: Annotated[str | None, about("Where it ends.", "Wexmouth warehouse")] = None
    destination: Annotated[str | None, about("Customs territory entered: ISO 3166 or EU.", "EU")] = None
    incoterm: Annotated[
        tuple[Incoterm, ...], about("Delivery terms the lane serves.", ["FCA Port Halden"])
    ] = ()
    leg: Annotated[tuple[Leg, ...], about("Export, cut-off, carriage, customs, delivery.")] = ()
    currency: Annotated[str | None, about("Currency of its amounts, ISO 4217.", "USD")] = None
    per_m3: Annotated[Money | None, about("Freight for a cubic metre.", 78)] = None
    per_kg: Annotated[Money | None, about("Freight for a chargeable kilogram.", 5.4)] = None
    per_container: Annotated[Money | None, about("Freight for a container.", 3900)] = None
    container_m3: Annotated[Count | None, about("Usable volume of the container.", 28)] = None
    minimum: Annotated[Money | None, about("Least freight of a shipment.", 240)] = None
    divisor: Annotated[Count | None, about("Cubic centimetres to a kilogram of volume weight.", 6000)] = None
    weight_step: Annotated[
        Quantity | None, about("Step to which chargeable weight rounds up, once a shipment.", "0.5 kg")
    ] = None
    surcharge: Annotated[tuple[Surcharge, ...], about("Seasonal and other additions.")] = ()
    charge: Annotated[tuple[Charge, ...], about("Origin haul, drayage, handling, brokerage.")] = ()
    insurance: Annotated[Insurance | None, about("Cargo insurance.")] = None
    carton_limit: Annotated[Quantity | None, about("Heaviest carton.", "23 kg")] = None
    pallet_height: Annotated[Quantity | None, about("Highest pallet.", "1.60 m")] = None
    dangerous_goods: Annotated[tuple[str, ...], about("UN numbers the lane takes.", ["UN3481"])] = ()
    payment: Annotated[tuple[Payment, ...], about("Terms of the freight.")] = ()
    quoted: Annotated[dt.date | None, about("Day of the quote.", "2026-10-15")] = None
    valid_until: Annotated[dt.date | None, about("Last day of the quote.", "2026-12-31")] = None
    evidence: Annotated[str | None, about("Where it is kept.", "docs/quotes/straitline.pdf")] = None


class EntryFee(Record, frozen=True, kw_only=True):
    """A fee on each customs entry, never on each unit."""

    name: Annotated[Text, about("Name.", "processing fee")]
    rate: Annotated[Percent, about("Percent of the entry's value.", "0.3464 %")]
    floor: Annotated[Money | None, about("Least.", "33.58 USD")] = None
    ceiling: Annotated[Money | None, about("Most.", "651.50 USD")] = None


class Duty(Record, frozen=True, kw_only=True):
    """Duty at one border. Rates change: keep the day and the source; a broker or ruling decides."""

    destination: Annotated[str, about("Customs territory: ISO 3166 or EU.", "EU")]
    code: Annotated[str, about("Tariff number.", "8519 81 00")]
    origin: Annotated[str | None, about("Country of origin it holds for; any when not said.", "VN")] = None
    rate: Annotated[Percent | None, about("Duty.", "2 %")] = None
    extra: Annotated[tuple[Allowance, ...], about("Further measures on the same value.")] = ()
    basis: Annotated[
        Literal["freight-exclusive", "freight-inclusive"],
        about("Whether carriage to the border is in the value.", "freight-inclusive"),
    ]
    origin_haul: Annotated[bool | None, about("Origin haul enters the value.", True)] = None
    insurance: Annotated[bool | None, about("Insurance enters the value.", True)] = None
    fee: Annotated[tuple[EntryFee, ...], about("Fees on each entry.")] = ()
    import_tax: Annotated[Percent | None, about("Import VAT or GST.", "20 %")] = None
    import_tax_recovered: Annotated[
        Duration | None, about("Time until it is recovered; none says it is a cost.", "8 weeks")
    ] = None
    checked: Annotated[dt.date | None, about("Day it was checked.", "2026-11-10")] = None
    checked_by: Annotated[str | None, about("By whom.", "broker Lindqvist")] = None
    evidence: Annotated[str | None, about("Ruling or address.", "ruling 2026-114")] = None
    in_force_until: Annotated[dt.date | None, about("Last day of a ruling in force.", "2028-01-31")] = None


class Rate(Record, frozen=True, kw_only=True):
    """An exchange rate with its direction and day."""

    rate: Annotated[Exchange, about("How much of the second one unit of the first buys.", "1 EUR = 1.08 USD")]
    date: Annotated[dt.date | None, about("Day of the rate.", "2026-11-20")] = None
    evidence: Annotated[str | None, about("Whose rate.", "central bank reference rate")] = None
    pegged: Annotated[bool, about("The pair is pegged; the rate does not age.", True)] = False


class FirmsFile(Record, frozen=True, kw_only=True):
    """Firms and the facts of trade: firms/*.toml."""

    firm: Annotated[dict[Id, Firm], about("Firms by short name.")] = {}
    channel: Annotated[dict[Id, Channel], about("Channels by short name.")] = {}
    lane: Annotated[dict[Id, Lane], about("Lanes by short name.")] = {}
    duty: Annotated[tuple[Duty, ...], about("Duty by destination, tariff number and origin.")] = ()
    rate: Annotated[tuple[Rate, ...], about("Exchange rates.")] = ()
