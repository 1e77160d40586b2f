"""`reconcile` in words: what is unproven, what of it is owed, and at most how many units nobody has seen."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction

from ferrule.compute.reconcile import Account, Bound, Custody
from ferrule.model.exact import Exact
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.wording import counted, listed, quantity

__all__ = ["describe_reconcile"]

_CAUTION = (
    "A bound is only as good as the counts behind it and the assumption that the part cannot be had elsewhere. It "
    "says what could exist, never that it does, and is no ground for an accusation. What is owed follows the "
    "agreement with the custodian; have it confirmed before you charge."
)

Where = Callable[..., str]


def describe_reconcile(
    product: Product, found: Iterable[Custody], label: str, where: Where, *, why: str = ""
) -> Document:
    """Return the report on all custodians; ``why`` names a part whose records are listed with their places."""
    kept = list(found)
    tables: list[Table] = []
    notes: list[str] = []
    facts: list[tuple[str, Cell]] = [("state", label)]
    for custody in kept:
        accounts = [account for account in custody.accounts if account.part == why or not why]
        tables.append(_accounts(product, custody.custodian, accounts))
        tables.append(_owed(product, custody.custodian, accounts))
        facts.append(("unseen units", _headline(_name(product, custody.custodian), custody)))
        notes += _notes(product, custody)
        if why:
            tables += [_records(product, account, where) for account in accounts]
    if not kept:
        notes.append("Nothing of ours was sent to anybody: no movement and no custodian in the files.")
    return Document(
        key="reconcile",
        title=f"Consigned parts of {product.head.name}",
        facts=tuple(facts),
        tables=tuple(tables),
        notes=tuple(notes),
        cautions=(_CAUTION,),
    )


def _name(product: Product, firm: str) -> str:
    return product.firms[firm].name if firm in product.firms else firm


def _pieces(number: Exact | None) -> Amount | None:
    return None if number is None else Amount(number, 3, trim=True)


def _accounts(product: Product, custodian: str, accounts: Iterable[Account]) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (
            custodian,
            account.part,
            _pieces(account.issued),
            _pieces(account.good),
            _pieces(account.in_process),
            _pieces(account.returned),
            _pieces(account.counted),
            account.counted_on.isoformat() if account.counted_on is not None else "never",
            _pieces(account.carcasses),
            _pieces(account.unproven),
            _pieces(min(account.claimed, account.unproven)),
            _pieces(account.storyless),
        )
        for account in accounts
    ]
    columns = (
        Column("custodian", "custodian", in_text=False),
        Column("part", "part", whole=True),
        Column("issued", "issued", "number"),
        Column("good", "good", "number"),
        Column("in_process", "in process", "number"),
        Column("returned", "returned", "number"),
        Column("counted", "counted", "number"),
        Column("counted_on", "on", rank=3),
        Column("carcasses", "carcasses", "number"),
        Column("unproven", "unproven", "number"),
        Column("claimed", "claimed scrap", "number", rank=1),
        Column("no_story", "no story", "number", rank=2),
    )
    return Table(
        key=f"accounts_{_key(custodian)}",
        title=f"At {_name(product, custodian)}, in pieces",
        columns=columns,
        rows=rows,
        notes=("unproven = issued - in good units - in process - returned - counted - carcasses",),
    )


def _owed(product: Product, custodian: str, accounts: Iterable[Account]) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (
            account.part,
            _pieces(account.used),
            None if account.allowance is None else f"{quantity(account.allowance * 100)} %",
            account.forgiven,
            _pieces(account.chargeable),
            _money(account),
            account.value.currency if account.value is not None else "",
            _pieces(account.per_unit),
            _room(account),
        )
        for account in accounts
    ]
    columns = (
        Column("part", "part", whole=True),
        Column("used", "used", "number"),
        Column("allowance", "allowance", "number", rank=2),
        Column("forgiven", "forgiven", "number", rank=1),
        Column("chargeable", "chargeable", "number"),
        Column("amount", "in money", "number"),
        Column("currency", ""),
        Column("per_unit", "in one unit", "number"),
        Column("room", "leaves room for"),
    )
    return Table(
        key=f"owed_{_key(custodian)}",
        title=f"Owed by {_name(product, custodian)}, and the units it leaves room for",
        columns=columns,
        rows=rows,
        notes=(
            "forgiven = allowance of what was used, rounded down; it forgives money and does not lower the bound",
        ),
    )


def _key(custodian: str) -> str:
    return custodian.replace("-", "_").replace(".", "_").replace("+", "_")


def _money(account: Account) -> Amount | None:
    if account.chargeable is None or account.value is None:
        return None
    return Amount(account.chargeable * Fraction(account.value.number))


def _room(account: Account) -> str:
    if account.surplus:
        return f"unknown: {quantity(account.surplus)} too many seen"
    if account.buyable_elsewhere:
        return "no limit: sold elsewhere"
    if account.buyable_elsewhere is None:
        return "unknown: sold elsewhere?"
    if account.unseen is None:
        return "unknown: in no unit reported"
    return counted(account.unseen, "unit")


def _notes(product: Product, custody: Custody) -> Iterable[str]:
    name = _name(product, custody.custodian)
    if custody.good:
        made = listed([f"{quantity(many)} of {sku}" for sku, many in sorted(custody.good.items())])
        yield f"{name} reports {made} good."
    for inner, outer in custody.nested:
        yield (
            f"{inner} is reported by itself and inside {outer}: pieces are counted once, by the larger of the two "
            "sums. Report only what leaves the factory."
        )
    if custody.bound is not None:
        yield from _bound_words(custody.bound)
    for account in custody.accounts:
        yield from _account_words(account)


def _headline(name: str, custody: Custody) -> str:
    if custody.bound is None:
        return f"no bound at {name}: no part there is in a unit and known to be had nowhere else"
    days = [
        account.counted_on
        for account in custody.accounts
        if account.part in custody.bound.binding and account.counted_on is not None
    ]
    counts = f"the count of {min(days).isoformat()} is" if days else "the records are"
    return (
        f"at most {custody.bound.unseen:,} at {name}, if {listed(custody.bound.binding)} cannot be had elsewhere and "
        f"{counts} right"
    )


def _bound_words(bound: Bound) -> Iterable[str]:
    yield f"From issues and good units alone the bound would be {bound.from_issues:,}; counts lower it to {bound.unseen:,}."
    if bound.with_identity is not None and bound.unseen:
        yield f"Of these, {bound.with_identity:,} could also carry an identity that we issued."
    for part, pieces in bound.to_lower.items():
        if pieces:
            yield f"{quantity(pieces)} of {part} shown would lower it to {bound.unseen - 1:,}."
    if bound.carcasses < bound.unseen:
        yield f"The carcasses of all claimed scrap would lower it to {bound.carcasses:,}."
    for part in bound.undecided:
        yield f"{part} would tighten it if it cannot be bought elsewhere: say `buyable_elsewhere`."


def _account_words(account: Account) -> Iterable[str]:
    if account.counted_on is None and account.issued:
        yield f"{account.part} was never counted there: everything not in units is unproven."
    elif account.since:
        yield f"{quantity(account.since)} of {account.part} were issued after the last count, so they count as unproven."
    if account.chargeable is None:
        yield f"{account.part}: no allowance is agreed, so nothing says what is owed."
    elif account.chargeable and account.value is None:
        yield f"{account.part}: no value is stated, so what is owed has no amount."


def _records(product: Product, account: Account, where: Where) -> Table:
    moved = [
        (
            row.date.isoformat(),
            row.kind,
            Amount(row.qty, 3, trim=True),
            row.lot or "",
            row.reference or "",
            where("movement", at),
        )
        for at in account.movements
        for row in [product.movements[at]]
    ]
    made = [
        (
            row.date.isoformat(),
            f"good {row.sku}",
            Amount(row.good, 3, trim=True),
            "",
            row.build or "",
            where("made", at),
        )
        for at in account.reports
        for row in [product.made[at]]
    ]
    columns = (
        Column("date", "day"),
        Column("kind", "what"),
        Column("qty", "pieces", "number"),
        Column("lot", "lot"),
        Column("reference", "paper"),
        Column("place", "where", whole=True),
    )
    return Table(
        key=f"records_{_key(account.custodian)}",
        title=f"Records of {account.part}",
        columns=columns,
        rows=sorted([*moved, *made], key=lambda row: str(row[0])),
    )
