"""`regret` in words: what is owed if a plan is stopped, cut or moved in a week, against the money of that morning."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.cash import Cash
from ferrule.compute.regret import Owed, Stopped
from ferrule.model.exact import shown_amount
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.evidence import evidence_of
from ferrule.report.picture import Curve, Line
from ferrule.report.wording import CAUTION, FINANCE, counted, money, plan_title, quantity

__all__ = ["COUNTED", "View", "describe_regret", "describe_stop", "describe_why"]

_ZERO = Fraction(0)
COUNTED = (
    "owed is what is still to be paid for what is ordered, begun or due on tools; lost is paid and stands for nothing "
    "used; wages, rent, freight and loans to pay back are not in it"
)
_KINDS = ("tools", "open orders", "our orders", "factory stock", "builds")
Where = Callable[..., str]


class View(Struct, frozen=True, kw_only=True):
    """What every answer is about: the product under its scenario, its cash, its state in words, what has no amount."""

    product: Product
    cash: Cash
    label: str
    unknown: tuple[str, ...]

    @property
    def home(self) -> str:
        """Return the home currency."""
        return self.product.head.currency

    def facts(self) -> tuple[tuple[str, Cell], ...]:
        """Return what stands at the head of every answer."""
        return (
            ("plan", f"{self.cash.plan}, {plan_title(self.product, self.cash.plan)}"),
            ("scenario", self.cash.scenario),
            ("state", self.label),
            ("currency", self.home),
        )

    def notes(self) -> Iterator[str]:
        """Yield what every answer rests on, and what it leaves out."""
        yield COUNTED
        yield "a week is decided on its Monday, before anything of it is ordered or paid"
        if self.unknown:
            yield f"not known, so all of it is at least: {', '.join(self.unknown)}"
        if self.cash.unknown:
            yield f"the money there is leaves out: {', '.join(self.cash.unknown)}"


def describe_regret(view: View, weeks: Sequence[Stopped]) -> Document:
    """Return what stopping in each week would cost, against the money there is."""
    columns = (
        Column("week", "week", "number"),
        Column("monday", "from"),
        Column("owed", "owed", "number"),
        Column("lost", "lost", "number"),
        Column("total", "together", "number", rank=1),
        Column("back", "to ask back", "number", rank=3),
        Column("not_stated", "of it not stated", "number", rank=2),
        Column("cash", "cash", "number"),
        Column("left", "left", "number"),
        Column("mark", ""),
    )
    worst = max(weeks, key=lambda week: (week.total, -week.number))
    rows = [
        (
            week.number,
            week.day.isoformat(),
            Amount(week.owed),
            Amount(week.lost),
            Amount(week.total),
            Amount(week.back),
            Amount(week.open),
            Amount(week.cash),
            Amount(week.left),
            "; ".join(_marks(week, worst)),
        )
        for week in weeks
    ]
    return Document(
        key="regret",
        title=_title(weeks, view.home),
        facts=(*view.facts(), *_worst_facts(weeks, worst)),
        tables=(Table(key="weeks", title="If we stop on the Monday of a week", columns=columns, rows=rows),),
        notes=(*view.notes(), *_open_notes(weeks)),
        cautions=(FINANCE, CAUTION),
        pictures=(_curve(weeks, view.home),),
    )


def _title(weeks: Sequence[Stopped], home: str) -> str:
    short = [week for week in weeks if week.left < 0]
    if short:
        first, count = short[0], counted(len(short), "week")
        return f"Stopping cannot be paid in {count}, first in week {first.number}: {money(-first.left)} {home} lack"
    tight = min(weeks, key=lambda week: (week.left, week.number))
    return f"Stopping can be paid in every week; week {tight.number} is tightest: {money(tight.left)} {home} left"


def _worst_facts(weeks: Sequence[Stopped], worst: Stopped) -> Iterator[tuple[str, Cell]]:
    yield "dearest week to stop", worst.number
    yield "owed and lost then", Amount(worst.total)
    short = next((week for week in weeks if week.left < 0), None)
    yield "first week that cannot be paid", "none" if short is None else short.number


def _marks(week: Stopped, worst: Stopped) -> Iterator[str]:
    if week.number == worst.number:
        yield "dearest"
    if week.left < 0:
        yield "cannot be paid"


def _open_notes(weeks: Sequence[Stopped]) -> Iterator[str]:
    names = sorted({row.commitment.name for week in weeks for row in week.rows if row.open})
    if names:
        shown = ", ".join(names[:8]) + (f" and {len(names) - 8} more" if len(names) > 8 else "")
        yield f"counted in full because nothing is stated on cancelling: {shown}"


def _curve(weeks: Sequence[Stopped], home: str) -> Curve:
    return Curve(
        title="What is owed if we stop, and the money there is, on the Monday of each week",
        description="Two step lines over the weeks of the plan: what would be owed, and the money there is to pay it.",
        unit_x="week of the plan",
        unit_y=home,
        lines=(
            Line("money there is", tuple((Fraction(week.number), week.cash) for week in weeks)),
            Line("owed if we stop", tuple((Fraction(week.number), week.owed) for week in weeks)),
        ),
    )


# --- one week -----------------------------------------------------------------------------------------


def describe_stop(view: View, week: Stopped) -> Document:
    """Return everything that is owed if the plan is stopped in a week."""
    home = view.home
    verdict = f"{money(week.left)} left" if week.left >= 0 else f"{money(-week.left)} lack"
    rows = sorted((row for row in week.rows if row.owed or row.lost or row.back), key=_by_size)
    return Document(
        key="regret_stop",
        title=f"Stopping in week {week.number}: {money(week.owed)} {home} owed, {money(week.lost)} lost, {verdict}",
        facts=(
            *view.facts(),
            ("decided on", week.day.isoformat()),
            ("money there is", Amount(week.cash)),
            ("to ask back", Amount(week.back)),
        ),
        tables=(_kinds(week), _owed_table(rows)),
        notes=(*view.notes(), *_open_notes([week])),
        cautions=(FINANCE, CAUTION),
    )


def _by_size(row: Owed) -> tuple[Fraction, str]:
    return -(row.owed + row.lost), row.commitment.name


def _kinds(week: Stopped) -> Table:
    columns = (
        Column("kind", "kind"),
        Column("owed", "owed", "number"),
        Column("lost", "lost", "number"),
        Column("back", "to ask back", "number"),
    )
    rows: list[tuple[Cell, ...]] = []
    for kind in _KINDS:
        own = [row for row in week.rows if row.commitment.kind == kind]
        if own:
            sums = (sum((each(row) for row in own), _ZERO) for each in (_owed, _lost, _back))
            rows.append((kind, *map(Amount, sums)))
    return Table(key="kinds", title="By kind", columns=columns, rows=rows)


def _owed(row: Owed) -> Fraction:
    return row.owed


def _lost(row: Owed) -> Fraction:
    return row.lost


def _back(row: Owed) -> Fraction:
    return row.back


def _owed_table(rows: Sequence[Owed]) -> Table:
    columns = (
        Column("kind", "kind", rank=3),
        Column("name", "what"),
        Column("firm", "to", rank=2),
        Column("owed", "owed", "number"),
        Column("lost", "lost", "number"),
        Column("back", "to ask back", "number", rank=4),
        Column("reason", "why"),
    )
    shown = [
        (
            row.commitment.kind,
            row.commitment.name,
            row.commitment.firm,
            Amount(row.owed),
            Amount(row.lost),
            Amount(row.back),
            row.fee.words,
        )
        for row in rows
    ]
    return Table(key="owed", title="One by one, the largest first", columns=columns, rows=shown)


def describe_why(view: View, week: Stopped, name: str, where: Where) -> Document:
    """Return the chain behind one part, tool or build in a week: what binds, at what fee, and where that is written."""
    home = view.home
    rows = [row for row in week.rows if row.commitment.name == name]
    owed, lost = sum((row.owed for row in rows), _ZERO), sum((row.lost for row in rows), _ZERO)
    columns = (Column("fact", "fact"), Column("value", "value"), Column("place", "where", whole=True))
    table = [line for row in rows for line in _chain(view.product, row, where)]
    words = (
        f"{money(owed)} {home} owed and {money(lost)} lost"
        if rows
        else "nothing, for nothing is ordered by then"
    )
    return Document(
        key="regret_why",
        title=f"{name} if we stop in week {week.number}: {words}",
        facts=(*view.facts(), ("decided on", week.day.isoformat())),
        tables=(Table(key="why", columns=columns, rows=table),) if table else (),
        cautions=(FINANCE, CAUTION),
    )


def _chain(product: Product, row: Owed, where: Where) -> Iterator[tuple[Cell, ...]]:
    each = row.commitment
    kind, number, *path = each.home
    place = where(str(kind), number, *path)
    yield each.kind, f"{each.name} at {each.firm}", place
    if each.ordered is not None and each.ordered != dt.date.min:
        yield (
            "ordered",
            each.ordered.isoformat(),
            where("order", number, "ordered") if kind == "order" else "",
        )
    if each.delivery is not None:
        yield "starts" if each.kind == "builds" else "delivery", each.delivery.isoformat(), ""
    yield "value", "not known" if each.value is None else money(each.value), ""
    if each.pool is not None:
        yield "ordered quantity", quantity(each.qty), ""
        yield "left over", quantity(row.over), ""
    terms = where(
        str(kind),
        number,
        *path,
        "cancellation" if each.source is not None and each.source.cancellation else "ncnr",
    )
    yield "terms", row.fee.words, terms if each.pool is not None and kind != "order" else ""
    if each.kind == "factory stock" and each.uplift is not None:
        yield (
            "mark-up and storage",
            f"x {shown_amount(each.uplift, 4)}",
            where("firm", each.firm, "factory", "covers_stock"),
        )
    yield "used anyway", money(row.used), ""
    yield "for nothing", money(row.wasted), ""
    yield "paid", money(row.paid), ""
    evidence = evidence_of(product, each.home)
    if evidence:
        yield "rests on", evidence, place
