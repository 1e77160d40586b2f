"""`levers` in words: which two terms to fight for, what each would free at the trough, and why some free nothing."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Protocol

from ferrule.compute.cash import Cash, Moved
from ferrule.compute.lever_effects import Shift, shifts, yearly_cost
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.wording import CAUTION, FINANCE, counted, listed, money, plan_name

__all__ = ["Lever", "describe_levers"]

_ZERO = Fraction(0)
_MOST_PAIRS = 12
_HOPED = "hoped for and counted: {} of funding that is not signed"


class Lever(Protocol):
    """What the report needs to know of a lever beside its figures."""

    @property
    def other(self) -> str:
        """Return whom it is negotiated with; empty if nobody is named."""

    @property
    def note(self) -> str:
        """Return what the plan says of it."""

    @property
    def priced(self) -> bool:
        """Return whether a price is stated."""

    @property
    def generated(self) -> bool:
        """Return whether no file states it."""

    @property
    def ask(self) -> bool | None:
        """Return whether it helps our cash; None where only the figures can say."""


def describe_levers(  # noqa: PLR0913  the figures, and how they are to be shown
    product: Product,
    base: Cash,
    moved: Sequence[Moved],
    levers: Mapping[str, Lever],
    label: str,
    *,
    by: str,
    clashes: Sequence[tuple[str, str, str]] = (),
    skipped: int = 0,
    past: Sequence[str] = (),
    hoped: bool = False,
    whole: bool = True,
) -> Document:
    """Return the levers by what they free, or by what a thousand freed costs; pairs and all below.

    ``skipped`` pairs were not worked out, ``past`` levers change what was paid before the plan. ``hoped`` says that
    funding which is not signed counts. ``whole`` lists
    every lever and pair in its table; else those that free nothing have a short one, and the best pairs are
    listed that free more than one of the two alone.
    """
    singles = sorted((each for each in moved if len(each.names) == 1), key=_ranking(by))
    pairs = sorted((each for each in moved if len(each.names) == 2), key=_ranking(by))
    asks = [each for each in singles if levers[each.names[0]].ask is not False]
    gives = [each for each in singles if levers[each.names[0]].ask is False][::-1]
    better = _better(pairs, singles)
    shown = pairs if whole else better[:_MOST_PAIRS]
    best = _best(asks, better, by)
    screen = _Screen(product, base, levers, frozenset(past))
    noted = _pair_notes(pairs, better, shown, skipped), _clash_notes(clashes, singles, levers)
    tables = (
        screen.table("levers", "One by one", [each for each in asks if whole or each.freed]),
        screen.table("pairs", "In pairs", shown, notes=itertools.chain(*noted)),
        screen.table("all", "All that can be had together", [each for each in moved if len(each.names) > 2]),
        screen.worthless([] if whole else [each for each in asks if not each.freed]),
        screen.table(
            "asked_of_us", "If the other side asks instead", [each for each in gives if whole or each.freed]
        ),
    )
    return Document(
        key="levers",
        title=_verdict(base, best),
        facts=(
            ("plan", base.plan),
            *plan_name(product, base.plan),
            ("trough as agreed", Amount(base.ledger.trough.balance)),
            ("in week", base.ledger.trough.number),
            ("floor", "none stated" if base.floor is None else Amount(base.floor)),
            ("fight for", "nothing" if best is None else " + ".join(best.names)),
            ("state", label),
            ("currency", product.head.currency),
        ),
        tables=tuple(table for table in tables if table.rows),
        notes=(
            *_notes(base, levers, 0 if whole else sum(1 for each in gives if not each.freed)),
            *([_HOPED.format(money(base.hoped))] if hoped and base.hoped else []),
        ),
        cautions=(FINANCE, CAUTION),
    )


def _ranking(by: str) -> Callable[[Moved], tuple[object, ...]]:
    def key(each: Moved) -> tuple[object, ...]:
        cost = each.cost_per_thousand
        if by == "cost":
            return (cost is None, cost or _ZERO, -each.freed, each.names)
        return (-each.freed, -each.profit, each.names)

    return key


def _better(pairs: Sequence[Moved], singles: Sequence[Moved]) -> list[Moved]:
    """Return the pairs that free more than the better of their two frees alone."""
    alone = {each.names[0]: each.freed for each in singles}
    return [pair for pair in pairs if pair.freed > max(_ZERO, *(alone[name] for name in pair.names))]


def _best(asks: Sequence[Moved], better: Sequence[Moved], by: str) -> Moved | None:
    """Return the pair to fight for, one lever where no second helps; None where none frees anything."""
    alone = [each for each in asks if each.freed > 0][:1]
    return min([*better[:1], *(() if better else alone)], key=_ranking(by), default=None)


def _verdict(base: Cash, best: Moved | None) -> str:
    """Return which terms to fight for, in a sentence."""
    trough = base.ledger.trough
    if best is None:
        return f"No term frees anything at the trough, {money(trough.balance)} in week {trough.number}"
    after = best.cash.ledger.trough
    cost = f"for {money(-best.profit)} of profit" if best.profit < 0 else "for no profit lost"
    if best.profit > 0:
        cost = f"and profit rises by {money(best.profit)}"
    two = "together they free" if len(best.names) == 2 else "alone it frees"
    more = "" if len(best.names) == 2 else "; no second term frees more"
    return (
        f"Fight for {listed(best.names)}: {two} {money(best.freed)} at the trough (from {money(trough.balance)} "
        f"in week {trough.number} to {money(after.balance)} in week {after.number}) {cost}{more}"
    )


class _Screen:
    def __init__(
        self, product: Product, base: Cash, levers: Mapping[str, Lever], past: frozenset[str]
    ) -> None:
        self.product, self.base, self.levers, self.past = product, base, levers, past

    def worthless(self, moved: Sequence[Moved]) -> Table:
        """Return the levers that free nothing, each with its reason."""
        trough = self.base.ledger.trough
        return Table(
            key="worthless",
            title=f"Worth nothing now, for the trough is week {trough.number}",
            columns=(Column("lever", "lever"), Column("why", "why")),
            rows=[(each.names[0], self._why(each, brief=True)) for each in moved],
        )

    def table(
        self, key: str, title: str, moved: Sequence[Moved], *, notes: Iterator[str] | None = None
    ) -> Table:
        """Return levers with what they do; of more than one also what they free one by one."""
        several = any(len(each.names) > 1 for each in moved)
        columns = (
            Column("lever", "lever"),
            Column("freed", "freed", "number"),
            *((Column("sum", "one by one", "number", rank=1),) if several else ()),
            Column("trough", "trough", "number", rank=3),
            Column("week", "week", "number"),
            Column("profit", "profit", "number"),
            Column("per_thousand", "cost of 1,000", "number"),
            Column("a_year", "% a year", "number", rank=2),
            Column("pay_first", "pay-first low", "number", rank=4),
            Column("with", "with", rank=5),
            Column("set", "set", in_text=False),
            Column("price", "price", in_text=False),
            Column("why", "why", in_text=False),
        )
        under = tuple(notes) if notes is not None else tuple(self._said(each) for each in moved)
        return Table(
            key=key,
            title=title,
            columns=columns,
            rows=[self._row(each, several=several) for each in moved],
            notes=() if several and notes is None else under,
        )

    def _row(self, each: Moved, *, several: bool) -> tuple[Cell, ...]:
        after = each.cash.ledger
        frees = each.freed > 0
        year, told = self.product.conventions.year_days, frees and self.past.isdisjoint(each.names)
        yearly = yearly_cost(self.base.ledger, after, year) if told else None
        others = dict.fromkeys(self.levers[name].other for name in each.names if self.levers[name].other)
        return (
            " + ".join(each.names) if len(each.names) < 3 else f"all {len(each.names)}",
            Amount(each.freed),
            *((Amount(each.add),) if several else ()),
            Amount(after.trough.balance),
            after.trough.number,
            Amount(each.profit),
            "-" if each.cost_per_thousand is None else Amount(each.cost_per_thousand),
            "-" if yearly is None else Amount(yearly * 100, 1),
            Amount(after.pay_first_low.low),
            ", ".join(others),
            "; ".join(each.words),
            _price(self.levers[name] for name in each.names),
            "" if frees else self._why(each),
        )

    def _said(self, each: Moved) -> str:
        """Return a lever in a sentence: what is set, whether a price is, and why it frees nothing if so."""
        lever = self.levers[each.names[0]]
        note = f" ({lever.note})" if lever.note else ""
        price = "" if lever.priced else f"; {_price([lever])}"
        why = "" if each.freed > 0 else f"; {self._why(each)}"
        if each.names[0] in self.past:
            why += "; it changes what was paid before the plan starts, so look whether it can still be had"
        return f"{each.names[0]}{note}: {'; '.join(each.words)}{price}{why}"

    def _why(self, each: Moved, *, brief: bool = False) -> str:
        """Return why a lever frees nothing: what it moves, and when the trough is; ``brief`` leaves that out."""
        base, after = self.base.ledger, each.cash.ledger
        trough, now = base.trough, after.trough
        found = shifts(base, after)
        if not found:
            return self._nothing(each)
        crossing = [shift for shift in found if _lowers(shift, trough.number)] if each.freed < 0 else []
        words = _shift_words((crossing or found)[0], base.weeks[-1].number)
        if each.freed < 0:
            return f"lowers the trough by {money(-each.freed)}: {words}; the trough is then week {now.number}"
        if now.number != trough.number:
            return f"{words}; the balance is then as low in week {now.number}"
        return words + ("" if brief else f"; the trough is week {trough.number}")

    def _nothing(self, each: Moved) -> str:
        other = self.levers[each.names[0]].other
        book = self.base.ledger
        met = {name for event in (*book.events, *book.after) for name in (event.payer, event.payee)}
        if other and other not in met:
            return f"no payment of the plan goes to or comes from {other}"
        return "no payment of the plan follows it"


def _price(levers: Iterable[Lever]) -> str:
    """Return what is known of the price of some levers; another way home costs what its lane says."""
    found = list(levers)
    if any(lever.priced for lever in found):
        return "stated"
    return "its cost worked out" if all(lever.ask is None for lever in found) else "no price stated"


def _lowers(shift: Shift, trough: int) -> bool:
    """Return whether a shift takes money off the trough: paid before it instead of after, received after it."""
    early, late = (shift.start, shift.end) if shift.incoming else (shift.end, shift.start)
    return early is not None and early <= trough and (late is None or late > trough)


def _shift_words(shift: Shift, last: int) -> str:
    """Return what moves: "moves 25,200.00 from week 14 to week 20"; or what is paid or comes in more or less."""
    amount = money(shift.amount)
    if shift.start is None or shift.end is None:
        sense = "less" if shift.end is None else "more"
        number = shift.start if shift.end is None else shift.end
        return f"{amount} {sense} {'comes in' if shift.incoming else 'is paid'} in {_week(number or 0, last)}"
    what = f"{amount} of receipts" if shift.incoming else amount
    return f"moves {what} from {_week(shift.start, last)} to {_week(shift.end, last)}"


def _week(number: int, last: int) -> str:
    return f"week {number}" if number <= last else f"week {number} (after the plan)"


def _pair_notes(
    pairs: Sequence[Moved],
    better: Sequence[Moved],
    shown: Sequence[Moved],
    skipped: int,
) -> Iterator[str]:
    if len(shown) < len(pairs):
        more = len(better) - len(shown)
        if more > 0:
            yield f"{counted(more, 'more pair')} free less; --table pairs shows them"
        none = len(pairs) - len(better)
        if none:
            yield f"{counted(none, 'other pair')} {'frees' if none == 1 else 'free'} no more than one of the two alone"
    if any(pair.freed != pair.add for pair in shown):
        yield (
            "freed is not what they free one by one where the first moves the trough to another week and the second "
            "does or does not reach that"
        )
    if skipped:
        yield (
            f"{counted(skipped, 'other pair')} with generated levers not worked out: added up from what each moves "
            "alone they promise less"
        )


def _clash_notes(
    clashes: Sequence[tuple[str, str, str]], singles: Sequence[Moved], levers: Mapping[str, Lever]
) -> Iterator[str]:
    """Yield what cannot be had together, of generated levers only those that free something."""
    frees = {each.names[0] for each in singles if each.freed > 0}
    kept = [
        (one, two, subject)
        for one, two, subject in clashes
        if all(name in frees or not levers[name].generated for name in (one, two))
    ]
    for subject, names in _by_subject(kept).items():
        yield f"not to be had together, they set the same thing ({subject}): {listed(names)}"


def _by_subject(clashes: Sequence[tuple[str, str, str]]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for one, two, subject in clashes:
        names = found.setdefault(subject, [])
        names += [name for name in (one, two) if name not in names]
    return found


def _notes(base: Cash, levers: Mapping[str, Lever], harmless: int) -> Iterator[str]:
    if harmless:
        more = counted(harmless, "more term")
        yield f"{more} the other side may ask for would not touch the trough; --table asked_of_us shows them"
    yield (
        "freed: how much higher the lowest week is; week: when the trough then is; cost of 1,000: profit lost for "
        "each 1,000 freed; % a year: profit lost on the money held and for how long it is held"
    )
    if any(lever.generated for lever in levers.values()):
        yield (
            "generated levers claim no price: what the other side would want in return is yours to find out, and to "
            "write as [lever.NAME] with price = { ... }"
        )
    if base.ledger.bound != "exact":
        yield f"some payments are not known, so balances are {_BOUNDS[base.ledger.bound]}; `ferrule cash` lists them"


_BOUNDS = {"at most": "at most these", "at least": "at least these", "open": "only what is known"}
