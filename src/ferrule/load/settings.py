"""Scenarios and levers applied: the product as it would be if somebody had edited its files.

Nothing is edited. The settings go into copies of the trees that were read, and the product is put together
again by the code that puts files together, so that every default and type is what a file would give.
`ferrule.load.keypath` has the grammar of key paths.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence

from msgspec import Struct

from ferrule.diagnostics.finding import Finding
from ferrule.load.drafting import Change, Setting, draft, lever_settings, scenario_settings
from ferrule.load.keypath import Ground, Target, UnusablePath, find_target, overlap
from ferrule.load.loaded import Loaded
from ferrule.load.rebuilding import Known, rebuild

__all__ = [
    "Change",
    "Conflict",
    "Known",
    "Setting",
    "Varied",
    "apply_settings",
    "conflicts",
    "lever_settings",
    "scenario_settings",
]


class Varied(Struct, frozen=True, kw_only=True):
    """A product under settings: what changed, in the order of the settings, and what could not be set."""

    #: None where a setting cannot be used: half a scenario would answer another question.
    loaded: Loaded | None
    changes: tuple[Change, ...]
    findings: tuple[Finding, ...] = ()


class Conflict(Struct, frozen=True, kw_only=True):
    """Two groups of settings that touch the same fact; of the two, the one applied later counts."""

    names: tuple[str, str]
    settings: tuple[Setting, Setting]
    #: The fact in words: "firm harbour, payment 2, due".
    subject: str


def apply_settings(
    loaded: Loaded, plan: str, settings: Sequence[Setting], known: Known | None = None
) -> Varied:
    """Return the product under settings of a plan, later ones over earlier ones.

    Names in key paths are those of the files, and of what an earlier setting put in their place. Only the
    files that are touched are read again. ``known`` keeps records under settings: with one for all calls, a record
    is the very same object wherever the same is set in it. Raises KeyError for a plan that is not there.
    """
    drafted = draft(loaded, plan, settings)
    made = None if drafted.findings else rebuild(loaded, drafted.trees, known)
    return Varied(loaded=made, changes=drafted.changes, findings=drafted.findings)


def conflicts(loaded: Loaded, plan: str, groups: Mapping[str, Sequence[Setting]]) -> tuple[Conflict, ...]:
    """Return where groups of settings (levers by name, say) touch the same fact, or one a part of another's.

    In the order of the groups and of the settings within them; settings that lead nowhere are passed over.
    """
    ground = Ground(loaded=loaded, plan=plan)
    placed = {name: [(each, _target(ground, each)) for each in settings] for name, settings in groups.items()}
    return tuple(
        Conflict(names=(first, second), settings=(one, other), subject=_wider(here, there).subject)
        for first, second in itertools.combinations(placed, 2)
        for one, here in placed[first]
        for other, there in placed[second]
        if here is not None and there is not None and _touch(here, there)
    )


def _target(ground: Ground, setting: Setting) -> Target | None:
    try:
        return find_target(ground, setting.key)
    except UnusablePath:
        return None


def _touch(one: Target, other: Target) -> bool:
    return one.file == other.file and overlap(one.path, other.path)


def _wider(one: Target, other: Target) -> Target:
    return min(one, other, key=lambda target: len(target.path))
