"""`levers`: what each term of a plan would free at the trough, singly, in pairs and together; named ones and generated."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.app.cashing import Cashing, cash_under, setting
from ferrule.compute.cash import Cash, Moved
from ferrule.compute.generated_levers import Proposal, generate_levers
from ferrule.compute.lever_effects import promised
from ferrule.load.keypath import key_path
from ferrule.load.settings import Setting, conflicts, lever_settings

__all__ = ["PAIRS", "Lever", "Levers", "levers"]

#: Pairs with a generated lever that are worked out in full: those that promise most.
PAIRS = 24


class Lever(Struct, frozen=True, kw_only=True):
    """A term to be asked for: what it sets, in whose hands it is, and what the plan says of it.

    ``generated`` ones are in no file and state no price. ``ask`` is False where it would hurt our cash.
    """

    name: str
    settings: tuple[Setting, ...]
    other: str
    note: str = ""
    priced: bool = False
    generated: bool = False
    ask: bool | None = True


class Levers(Struct, frozen=True, kw_only=True):
    """The plan as agreed, its levers by name, and what they do alone, in pairs and together.

    ``clashes`` are pairs that set the same fact, with its words: they cannot be had together and are in no pair.
    ``skipped`` pairs were not worked out. ``past`` levers change what was paid before the plan starts.
    """

    base: Cash
    levers: Mapping[str, Lever]
    moved: tuple[Moved, ...]
    clashes: tuple[tuple[str, str, str], ...]
    skipped: int
    past: tuple[str, ...]


def levers(cashing: Cashing, *, generated: bool = False) -> Levers:
    """Return what a plan's levers do; ``generated`` adds those that its terms and lanes suggest.

    Every pair of named levers is worked out; of pairs with a generated one the best `PAIRS`, judged by what
    each of the two moves alone. All together leaves out what clashes with a lever that frees more, and what
    would be asked of us. A generated lever is left out where a named one sets the same, and where it would
    change what was paid before the plan starts.
    """
    base, _ = cash_under(cashing)
    named = {lever.name: lever for lever in (*_declared(cashing), *_generated(cashing, base, generated))}
    single = {name: _moved(cashing, base, (name,), named, {}) for name in named}
    past = [name for name, each in single.items() if each.cash.moved]
    single = _kept(named, single, past)
    named = {name: named[name] for name in single}
    freed = {name: each.freed for name, each in single.items()}
    clashes = _clashes(cashing, named)
    pairs, skipped = _pairs(base, named, single, {(one, two) for one, two, _ in clashes})
    together = _together(named, single, clashes)
    groups = [*pairs, *([together] if len(together) > 2 else [])]
    return Levers(
        base=base,
        levers=named,
        moved=(*single.values(), *(_moved(cashing, base, names, named, freed) for names in groups)),
        clashes=clashes,
        skipped=skipped,
        past=tuple(name for name in past if name in named),
    )


def _declared(cashing: Cashing) -> Iterator[Lever]:
    for name, lever in cashing.plan.lever.items():
        yield Lever(
            name=name,
            settings=lever_settings(cashing.loaded, cashing.plan.plan.id, name),
            other=lever.with_ or "",
            note=lever.note or "",
            priced=bool(lever.price),
        )


def _generated(cashing: Cashing, base: Cash, wanted: bool) -> Iterator[Lever]:  # noqa: FBT001
    book = base.ledger
    events = (*book.events, *book.after, *book.unknown)
    proposals: Iterable[Proposal] = generate_levers(cashing.product, cashing.plan, events) if wanted else ()
    for each in proposals:
        yield Lever(
            name=each.name,
            settings=tuple(setting(key_path(path), value) for path, value in each.settings),
            other=each.other,
            generated=True,
            ask=each.ask,
        )


def _kept(named: Mapping[str, Lever], single: Mapping[str, Moved], past: Sequence[str]) -> dict[str, Moved]:
    """Return the levers worth showing: named ones, and generated ones that say something of their own."""
    said = {each.words for name, each in single.items() if not named[name].generated}
    return {
        name: each
        for name, each in single.items()
        if not named[name].generated or (each.words not in said and name not in past)
    }


def _moved(
    cashing: Cashing,
    base: Cash,
    names: tuple[str, ...],
    named: Mapping[str, Lever],
    freed: Mapping[str, Fraction],
) -> Moved:
    """Return what levers do together; ``freed`` has what each frees alone, for more than one.

    What moves out of the weeks into the time before the plan, or from there, is no change in profit.
    """
    settings = [each for name in names for each in named[name].settings]
    cash, words = cash_under(cashing, settings, " + ".join(names))
    rise = cash.ledger.trough.balance - base.ledger.trough.balance
    return Moved(
        names=names,
        words=words,
        cash=cash,
        freed=rise,
        profit=cash.ledger.profit - base.ledger.profit + cash.moved,
        add=sum((freed[name] for name in names), Fraction(0)) if len(names) > 1 else rise,
    )


def _clashes(cashing: Cashing, named: Mapping[str, Lever]) -> tuple[tuple[str, str, str], ...]:
    groups = {name: lever.settings for name, lever in named.items()}
    found = {
        each.names: each.subject for each in reversed(conflicts(cashing.loaded, cashing.plan.plan.id, groups))
    }
    return tuple((one, two, subject) for (one, two), subject in reversed(found.items()))


def _pairs(
    base: Cash, named: Mapping[str, Lever], single: Mapping[str, Moved], clashing: set[tuple[str, str]]
) -> tuple[list[tuple[str, ...]], int]:
    """Return the pairs to work out, and how many others there are."""
    pairs = [pair for pair in itertools.combinations(named, 2) if pair not in clashing]
    sure = [pair for pair in pairs if not any(named[name].generated for name in pair)]
    rest = [
        pair
        for pair in pairs
        if any(named[name].generated for name in pair) and all(named[name].ask is not False for name in pair)
    ]
    promise = {pair: promised(base.ledger, [single[name].cash.ledger for name in pair]) for pair in rest}
    best = sorted(rest, key=lambda pair: (-promise[pair], pair))[:PAIRS]
    return [*sure, *best], len(rest) - len(best)


def _together(
    named: Mapping[str, Lever], single: Mapping[str, Moved], clashes: Sequence[tuple[str, str, str]]
) -> tuple[str, ...]:
    """Return the levers that can all be had at once, where two clash the one that frees more, in their order."""
    clashing = {frozenset((one, two)) for one, two, _ in clashes}
    kept: list[str] = []
    for name in sorted(single, key=lambda name: (-single[name].freed, -single[name].profit)):
        fits = all(frozenset((name, other)) not in clashing for other in kept)
        if fits and named[name].ask and (not named[name].generated or single[name].freed > 0):
            kept.append(name)
    return tuple(name for name in named if name in kept)
