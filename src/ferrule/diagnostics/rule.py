"""What a rule is, and how much it weighs at a stage."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator

from msgspec import Struct

from ferrule.diagnostics.finding import Fault, Key, Place, Severity
from ferrule.model.product import Product
from ferrule.model.records.product import STAGES, Severities, Stage

__all__ = ["Check", "Rule", "Setting", "place_of", "severity_at"]


class Setting(Struct, frozen=True, kw_only=True):
    """What a rule may know beside the product; ``before`` is the product it is compared with, if it is."""

    today: dt.date
    stage: Stage
    before: Product | None = None


Check = Callable[[Product, Setting], Iterator[Fault]]


class Rule(Struct, frozen=True, kw_only=True):
    """One rule. Its name is its module's, its page the module's docstring.

    It warns from ``warns_from`` on and blocks from ``blocks_from`` on (None: never). ``check`` is None for
    faults of form, which the reader itself finds. ``waivable`` is False where no one may accept the fault.
    """

    check: Check | None
    blocks_from: Stage | None = "prototype"
    warns_from: Stage = "prototype"
    waivable: bool = True


def severity_at(
    rule: Rule, stage: Stage, own: Severities | None, *, undecided: bool = False
) -> Severity | None:
    """Return how much a fault weighs at a stage, or None when it is not reported.

    The product's own word (``own``) comes first, but cannot lower what nobody may accept. What a rule cannot
    decide blocks from pvt on.
    """
    stated = getattr(own, stage) if own is not None and rule.waivable else None
    if stated is not None:
        return None if stated == "off" else Severity(stated)
    if undecided:
        return Severity.ERROR if _reached(stage, "pvt") else Severity.WARNING
    if rule.blocks_from is not None and _reached(stage, rule.blocks_from):
        return Severity.ERROR
    return Severity.WARNING if _reached(stage, rule.warns_from) else None


def _reached(stage: Stage, first: Stage) -> bool:
    return STAGES.index(stage) >= STAGES.index(first)


def place_of(product: Product, kind: str, number: str | int, *path: Key, key: bool = False) -> Place:
    """Return the place of a record (``kind`` and id, or index in its list) or of something inside it.

    ``place_of(product, "part", "R-10K", "source", 0, "moq")``. Lines belong to their assembly:
    ``place_of(product, "assembly", "W20-210", "line", 3, "qty")``. ``key`` points at the name, not the value.
    """
    home = product.homes[kind, number]
    own = home.path
    if kind in _BESIDE and path and path[0] in _BESIDE[kind]:
        own = ()
    return Place(file=home.file, path=(*own, *path), on="key" if key else "value")


#: Tables that stand beside the head of their file, not inside it.
_BESIDE: dict[str, tuple[Key, ...]] = {
    "assembly": ("line",),
    "as_built": ("run", "fitted", "built_under", "result"),
    "plan": ("build", "sales", "overhead", "one_off", "funding", "loan", "scenario", "lever"),
}
