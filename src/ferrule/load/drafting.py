"""Settings set into the trees of files, each fault told where the setting is written.

A setting is a key path and a value as a file would state it. Values go through the reader of files, so its
messages are the same; the words of a fault and its hint are about the value, its place is in the plan.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import msgspec
from msgspec import Struct

from ferrule.diagnostics.finding import Finding, Key, Path, Place, Severity
from ferrule.load.keypath import Ground, Target, UnusablePath, currencies_of, find_target, overlap
from ferrule.load.kinds import KINDS, kind_of
from ferrule.load.loaded import Loaded
from ferrule.load.misfit import Misfit
from ferrule.load.values import read_value
from ferrule.model.text import quoted, visible

__all__ = ["Change", "Draft", "Setting", "draft", "lever_settings", "scenario_settings", "setting_faults"]

_RULE = "setting-unusable"
#: What a record goes by; a setting varies facts, and these are none.
_NAMES = ("id", "name", "item")
_DUTY_NAMES = ("destination", "code", "origin")


class Setting(Struct, frozen=True, kw_only=True):
    """One setting: its key path, its value as written, and where it is written."""

    key: str
    value: Any
    place: Place


class Change(Struct, frozen=True, kw_only=True):
    """What one setting does to the product."""

    setting: Setting
    target: Target
    #: As the files have it; None where nothing is written.
    before: Any

    @property
    def words(self) -> str:
        """The change for a report: ``firm harbour, payment 2, due: shipment -> shipment + 30 days``."""
        before = "not stated" if self.before is None else _in_words(self.before)
        return f"{self.target.subject}: {before} -> {_in_words(self.setting.value)}"


class Draft(Struct, frozen=True, kw_only=True):
    """Settings set into trees: those of the files they touch, what changes, and what cannot be set."""

    trees: Mapping[str, dict[str, Any]]
    changes: tuple[Change, ...]
    findings: tuple[Finding, ...]


# --- the settings of a plan ---------------------------------------------------------------------------


def scenario_settings(loaded: Loaded, plan: str, name: str) -> tuple[Setting, ...]:
    """Return the settings of a scenario, those of the scenario it starts from first.

    The unchanged plan, ``as-agreed``, has none unless the plan defines it. A ring of scenarios ends where
    it closes; that it is one, a rule says. Raises KeyError for a plan or scenario that is not there.
    """
    scenarios = loaded.product.plans[plan].scenario
    if name == "as-agreed" and name not in scenarios:
        return ()
    chain = [name]
    while (base := scenarios[chain[-1]].base) in scenarios and base not in chain:
        chain.append(base)
    rows: list[Setting] = []
    for each in reversed(chain):
        rows += _settings(loaded, plan, ("scenario", each, "set"), scenarios[each].set)
    return tuple(rows)


def lever_settings(loaded: Loaded, plan: str, name: str) -> tuple[Setting, ...]:
    """Return what a lever sets and then its price; raises KeyError for a plan or lever that is not there."""
    lever = loaded.product.plans[plan].lever[name]
    own = _settings(loaded, plan, ("lever", name, "set"), lever.set)
    return (*own, *_settings(loaded, plan, ("lever", name, "price"), lever.price))


def _settings(loaded: Loaded, plan: str, path: Path, written: Mapping[str, Any]) -> list[Setting]:
    file = loaded.product.homes["plan", plan].file
    return [
        Setting(key=key, value=value, place=Place(file=file, path=(*path, key), on="key"))
        for key, value in written.items()
    ]


def setting_faults(loaded: Loaded) -> tuple[Finding, ...]:
    """Return what is wrong with the settings of every scenario and lever of every plan, each fault once."""
    found: dict[Finding, None] = {}
    for number, plan in loaded.product.plans.items():
        for name in plan.scenario:
            found |= dict.fromkeys(draft(loaded, number, scenario_settings(loaded, number, name)).findings)
        for name in plan.lever:
            found |= dict.fromkeys(draft(loaded, number, lever_settings(loaded, number, name)).findings)
    return tuple(found)


# --- setting them -------------------------------------------------------------------------------------


def draft(loaded: Loaded, plan: str, settings: Sequence[Setting]) -> Draft:
    """Return the trees with the settings in them, later ones over earlier ones; the loaded trees stay as they are.

    A setting that cannot be used is a finding, and its value is in no tree or does not fit there.
    """
    drafting = _Drafting(loaded, plan)
    for setting in settings:
        drafting.set(setting)
    return Draft(
        trees=drafting.trees,
        changes=tuple(drafting.changes.values()),
        findings=(*drafting.findings, *drafting.misfits()),
    )


class _Drafting:
    def __init__(self, loaded: Loaded, plan: str) -> None:
        self.written = Ground(loaded=loaded, plan=plan)
        self.trees: dict[str, dict[str, Any]] = {}
        self.now = Ground(loaded=loaded, plan=plan, trees=self.trees)
        self.changes: dict[tuple[str, Path], Change] = {}
        self.findings: list[Finding] = []

    def set(self, setting: Setting) -> None:
        """Set one value, or say why it cannot be set."""
        try:
            _refuse_start_of_path(setting)
            target = self._target(setting.key)
            tree = self.now.tree(target.file)
            _refuse_new_name(target, _at(tree, target.path), setting)
        except UnusablePath as error:
            self.findings.append(_finding(_RULE, setting.place, error.message, error.hint))
            return
        self.trees[target.file] = _placed(tree, target.path, setting.value)
        before = _at(self.written.tree(target.file), target.path)
        self.changes.pop((target.file, target.path), None)
        self.changes[target.file, target.path] = Change(setting=setting, target=target, before=before)

    def _target(self, key: str) -> Target:
        """Return the place a key path names in the files; in what earlier settings made where they replaced that."""
        try:
            target = find_target(self.written, key)
        except UnusablePath as error:
            try:
                return find_target(self.now, key)
            except UnusablePath:
                raise error from None
        replaced = any((target.file, target.path[:end]) in self.changes for end in range(len(target.path)))
        return find_target(self.now, key) if replaced else target

    def misfits(self) -> Iterator[Finding]:
        """Yield what the reader says of the records that were changed, less what it said of them before."""
        parts = {(file, _part(self.written.tree(file), path)) for file, path in self.changes}
        for file, part in sorted(parts):
            before, after = _cut(self.written.tree(file), part), _cut(self.trees[file], part)
            changes = [
                change
                for (own, path), change in self.changes.items()
                if own == file and path[: len(part)] == part
            ]
            for misfit in _new_misfits(kind_of(self.written.tree(file)) or "", before, after):
                yield _told(misfit, changes)


def _finding(rule: str, place: Place, message: str, hint: str = "") -> Finding:
    return Finding(rule=rule, severity=Severity.ERROR, message=message, place=place, hint=hint)


def _refuse_start_of_path(setting: Setting) -> None:
    """Refuse ``build.spring.qty = 1`` without quotes, which TOML takes for tables within tables."""
    value, path = setting.value, setting.key
    if "." in path or not isinstance(value, dict):
        return
    while isinstance(value, dict) and len(value) == 1:
        ((key, value),) = value.items()
        path = f"{path}.{key}"
    hint = f'write "{visible(path)}" = ...' if path != setting.key else ""
    raise UnusablePath(
        f"{quoted(setting.key)} is only the start of a key path; the whole path stands in quotes", hint
    )


def _refuse_new_name(target: Target, before: Any, setting: Setting) -> None:
    """Refuse a value that would give a record another name: it would be another record."""
    last, value = target.path[-1], setting.value
    olds, news = (before, value) if isinstance(last, int) else ({last: before}, {last: value})
    if isinstance(olds, dict) and isinstance(news, dict):
        for name in _NAMES + (_DUTY_NAMES if target.path[0] == "duty" else ()):
            old = olds.get(name)
            if old != news.get(name):
                hint = "" if old is None else f"leave it as it is: {quoted(old)}"
                raise UnusablePath(f"a setting cannot change `{name}`, by which a record is known", hint)
    if target.path[0] == last == "rate":
        _refuse_other_pair(str(before), value)


def _refuse_other_pair(before: str, value: Any) -> None:
    pair, new = currencies_of(before), currencies_of(value)
    if new and new != pair:
        message = f"{quoted(value)} is no exchange rate between {' and '.join(sorted(pair))}"
        raise UnusablePath(message, f"write one such as {quoted(before)}")


# --- trees --------------------------------------------------------------------------------------------


def _at(node: Any, path: Path) -> Any:
    """Return what stands at a path, or None."""
    for key in path:
        if isinstance(node, dict):
            node = node.get(key)
        elif isinstance(node, list) and isinstance(key, int) and key < len(node):
            node = node[key]
        else:
            return None
    return node


def _placed(node: Any, path: Path, value: Any) -> Any:
    """Return the node with the value at a path; what is not on the path is shared, tables on it are made."""
    if not path:
        return value
    key, rest = path[0], path[1:]
    if isinstance(key, int):
        return [*node[:key], _placed(node[key], rest, value), *node[key + 1 :]]
    return {**(node or {}), key: _placed((node or {}).get(key), rest, value)}


#: Kinds of file whose records stand side by side and are read one at a time.
_APART = ("parts", "firms", "tools", "counts")


def _part(tree: dict[str, Any], path: Path) -> Path:
    """Return the part of a file that must be read to judge a value at a path: a record, a list, or all of it."""
    if kind_of(tree) not in _APART:
        return ()
    return path[:2] if isinstance(path[1], str) else path[:1]


def _cut(tree: dict[str, Any], part: Path) -> dict[str, Any]:
    """Return a tree that holds only a part of another."""
    made: dict[str, Any] = tree if not part else _placed(None, part, _at(tree, part))
    return made


def _new_misfits(kind: str, before: dict[str, Any], after: dict[str, Any]) -> Sequence[Misfit]:
    told = _reads(kind, after)
    if told is None:
        return ()
    from ferrule.load.schema import explain  # noqa: PLC0415  jsonschema is wanted only where something does not fit

    old = set() if _reads(kind, before) is None else set(explain(kind, before))
    misfits = explain(kind, after)
    if not misfits:  # the two checks disagree: say what the reader said
        return [Misfit(rule="wrong-type", path=(), message=told)]
    return [misfit for misfit in misfits if misfit not in old]


def _reads(kind: str, tree: dict[str, Any]) -> str | None:
    """Return None if the tree fits its kind, else the reader's words."""
    try:
        msgspec.convert(tree, KINDS[kind], dec_hook=read_value)
    except (msgspec.ValidationError, ValueError) as error:
        return str(error)
    return None


def _told(misfit: Misfit, changes: Sequence[Change]) -> Finding:
    """Return a misfit as a finding at the setting that brought it about, as near to the value as can be."""
    owners = [change for change in changes if overlap(change.target.path, misfit.path)]
    owner = max(owners or changes[-1:], key=lambda change: len(change.target.path))
    inside: tuple[Key, ...] = misfit.path[len(owner.target.path) :]
    place = owner.setting.place
    if owner.target.path == misfit.path[: len(owner.target.path)]:
        on_key = misfit.on_key
        place = Place(file=place.file, path=(*place.path, *inside), on="key" if on_key else "value")
    return _finding(misfit.rule, place, misfit.message, misfit.hint)


# --- words --------------------------------------------------------------------------------------------


def _in_words(value: Any) -> str:
    """Return a written value for a report: entries of a list after one another, a table by its values."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        # The first two facts tell what an entry is (share and event, quantity and price), the others need their names.
        facts = [(key, _in_words(each)) for key, each in value.items()]
        named = [f"{key.replace('_', ' ')} {words}" for key, words in facts[2:]]
        return ", ".join([" ".join(words for _, words in facts[:2]), *named])
    if isinstance(value, list):
        return "; ".join(_in_words(each) for each in value) or "none"
    return str(value)
