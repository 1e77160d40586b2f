"""What `limits` answers: the largest build, and for each fact how far it may go, what binds there and what is next."""

from __future__ import annotations

from fractions import Fraction

from msgspec import Struct

from ferrule.compute.cash import Cash
from ferrule.compute.limits import Mark
from ferrule.compute.limits_build import BuildLimit
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile

__all__ = ["Limits", "Solved"]


class Solved(Struct, frozen=True, kw_only=True):
    """The answer for one fact, in words and numbers.

    ``value`` is the last one that keeps every condition, None where there is none or ``why`` says what is in
    the way; ``beyond`` that it is only the end of what was searched. ``room`` is what lies between today's and
    it in ``unit``, below zero where today's is too much already. ``left`` is how the binding condition stands
    today. ``following`` is the next condition with its value.
    """

    name: str
    subject: str
    today: str = ""
    value: str | None = None
    beyond: bool = False
    room: Fraction | None = None
    unit: str = ""
    binds: str = ""
    left: Mark | None = None
    following: str = ""
    following_value: str | None = None
    why: str = ""
    scanned: bool = False
    again: bool = False


class Limits(Struct, frozen=True, kw_only=True):
    """All answers for a plan under a scenario. ``broken`` are conditions that the plan does not keep as it stands.

    ``no_build`` says why no largest build is told, ``unjudged`` what has no margin in full.
    """

    product: Product
    plan: PlanFile
    cash: Cash
    build: BuildLimit | None
    no_build: str
    solved: tuple[Solved, ...]
    broken: tuple[Mark, ...]
    unjudged: tuple[str, ...]
