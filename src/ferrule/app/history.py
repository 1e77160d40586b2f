"""`history`: unit cost, lead time, trough and findings of one commit after another, each worked out once."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

from msgspec import Struct

from ferrule.app.check import Request, check
from ferrule.app.holidays import holidays_of
from ferrule.app.loading import load_snapshot
from ferrule.compute.conditions import Condition
from ferrule.compute.figures import figures_of
from ferrule.compute.history import Moment, parse_bisect
from ferrule.diagnostics.finding import CheckResult, Severity
from ferrule.errors import FerruleError
from ferrule.model.bad_value import BadValue
from ferrule.model.product import Product
from ferrule.model.text import nearest
from ferrule.source.figure_cache import FigureCache
from ferrule.source.git import Commit, Git, find_git
from ferrule.source.products import Opened

__all__ = ["History", "Window", "bisect_of", "history"]


class Window(Struct, frozen=True, kw_only=True):
    """Which commits: up to a revision, after another, at most so many (None: all), by kept figures or anew."""

    newest: str = "HEAD"
    after: str | None = None
    last: int | None = None
    kept: bool = True


class History(Struct, frozen=True, kw_only=True):
    """The commits of a product with their figures, the oldest first; ``older`` were left out.

    ``shallow`` says that the clone does not hold the whole history.
    """

    product: Product
    plan: str
    build: str
    moments: tuple[Moment, ...]
    older: int
    shallow: bool
    today: dt.date


def bisect_of(written: str | None) -> Condition | None:
    """Return the condition to look for; raises FerruleError."""
    if written is None:
        return None
    try:
        return parse_bisect(written)
    except BadValue as error:
        raise FerruleError(error.message, f"write it as {' or '.join(map(str, error.forms))}") from None


def history(
    opened: Opened, start: Path, today: dt.date, window: Window, names: tuple[str | None, str | None]
) -> History:
    """Return the history of a product's figures for a plan and a build, or their first; raises FerruleError.

    All commits are judged on one day, so that only what was written moves a figure.
    """
    git = find_git(start if opened.top is None else opened.top)
    if git is None:
        raise FerruleError("this is not a git repository", "history needs commits; run `git init` to start")
    newest = git.commit(window.newest)
    after = git.commit(window.after) if window.after is not None else None
    product = _product(opened, newest)
    plan, build = _named(product, *names)
    commits = git.history(newest, _paths(opened.folder, product), after=after)
    kept = commits if window.last is None else commits[-window.last :]
    teller = _Teller(git, opened, today, FigureCache(git) if window.kept else None)
    return History(
        product=product,
        plan=plan,
        build=build,
        moments=tuple(_moments(teller, kept, plan, build)),
        older=len(commits) - len(kept),
        shallow=git.is_shallow(),
        today=today,
    )


def _product(opened: Opened, newest: str) -> Product:
    snapshot = opened.read_at(newest)
    if snapshot is None:
        raise FerruleError(
            "the newest commit does not hold the product", "commit it, or name another revision"
        )
    return load_snapshot(snapshot).product


def _named(product: Product, plan: str | None, build: str | None) -> tuple[str, str]:
    """Return the plan and the build asked for, else the first of those there are; empty where there are none."""
    plans = sorted(product.plans.values(), key=lambda each: (each.plan.start, each.plan.id))
    if plan is not None and plan not in product.plans:
        raise _unknown("plan", plan, sorted(product.plans))
    found = product.plans[plan] if plan is not None else plans[0] if plans else None
    builds = [each.name for each in found.build] if found is not None else []
    if build is not None and build not in builds:
        raise _unknown("build", build, builds)
    return found.plan.id if found is not None else "", build or (builds[0] if builds else "")


def _unknown(kind: str, name: str, known: Sequence[str]) -> FerruleError:
    best = nearest(name, list(known))
    hint = f"did you mean {best}?" if best else f"{kind}s: {', '.join(known) or 'none'}"
    return FerruleError(f"there is no {kind} called {name}", hint)


def _paths(folder: str, product: Product) -> list[str]:
    """Return what makes a commit one of the product: its files and the documents they name."""
    prefix = f"{folder}/" if folder else ""
    named = [f"{prefix}{file}" for file in sorted(product.named_files()) if not set(file) & set("*?[\\")]
    return [f"{prefix}**/*.toml", *named]


class _Teller:
    """Tells the figures of a commit, from what was kept or anew."""

    def __init__(self, git: Git, opened: Opened, today: dt.date, cache: FigureCache | None) -> None:
        self.git, self.opened, self.today, self.cache = git, opened, today, cache

    def figures(self, commit: str) -> dict[str, Any]:
        """Return the figures of a commit as they are kept: amounts as fractions in text."""
        tree = self.git.tree_id(commit, self.opened.folder)
        key = "" if self.cache is None else self.cache.key(tree, self.opened.folder, self.today.isoformat())
        found = self.cache.get(key) if self.cache is not None else None
        if found is None:
            found = self._anew(commit)
            if self.cache is not None:
                self.cache.put(key, found)
        return found

    def _anew(self, commit: str) -> dict[str, Any]:
        snapshot = self.opened.read_at(commit)
        if snapshot is None:
            return {"costs": {}, "leads": {}, "troughs": {}, "errors": 0, "warnings": 0}
        product = load_snapshot(snapshot).product
        figures = figures_of(product, self.today, holidays_of(product).days)
        found = check(snapshot, Request(today=self.today))
        return {
            "costs": {f"{p}/{b}": [str(cost.total), cost.is_bound] for p, b, cost in figures.costs()},
            "leads": {
                f"{plan}/{each.build}": each.cumulative
                for plan, one in figures.plans.items()
                for each in one.ground.dates.builds
            },
            "troughs": {plan: str(one.cash.ledger.trough.balance) for plan, one in figures.plans.items()},
            "errors": _counted(found, Severity.ERROR),
            "warnings": _counted(found, Severity.WARNING),
        }


def _counted(found: CheckResult, severity: Severity) -> int:
    return sum(each.finding.severity is severity for each in found.findings)


def _moments(teller: _Teller, commits: Sequence[Commit], plan: str, build: str) -> Iterator[Moment]:
    for commit in commits:
        figures = teller.figures(commit.id)
        cost = figures["costs"].get(f"{plan}/{build}")
        lead = figures["leads"].get(f"{plan}/{build}")
        trough = figures["troughs"].get(plan)
        yield Moment(
            commit=teller.git.short(commit.id),
            day=commit.day,
            subject=commit.subject,
            cost=None if cost is None else Fraction(cost[0]),
            bound=cost is not None and bool(cost[1]),
            lead=None if lead is None else Fraction(lead),
            trough=None if trough is None else Fraction(trough),
            errors=Fraction(figures["errors"]),
            warnings=Fraction(figures["warnings"]),
        )
