"""The ground of a plan under settings, layer by layer: a layer is worked out again only by settings that reach it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from typing import Any, TypeVar

from ferrule.app.reach import Reach, reach_of
from ferrule.compute.ground import (
    Framed,
    Ground,
    Purchased,
    costed,
    framed,
    purchased,
    purchased_again,
)
from ferrule.compute.memory import Memory
from ferrule.compute.runs import PublicDays
from ferrule.load.build import Loaded
from ferrule.load.settings import Known, Setting, Varied, apply_settings
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile

__all__ = ["Grounds"]

#: Layers kept: a ground holds every row, leg and working of a plan, and hundreds may be asked for.
_MOST = 48
T = TypeVar("T")
_Settings = tuple[Setting, ...]


class Grounds:
    """Works out the ground of one plan under any settings and keeps the layers asked for last."""

    def __init__(self, loaded: Loaded, plan: str, today: dt.date, public: PublicDays) -> None:
        self.loaded, self.plan, self.today, self.public = loaded, plan, today, public
        self.memory = Memory()
        self.known: Known = {}
        self._kept: dict[tuple[object, ...], Any] = {}

    def varied(self, settings: Sequence[Setting]) -> Varied:
        """Return the product under some settings; records are the very same wherever the same is set in them."""
        return apply_settings(self.loaded, self.plan, settings, self.known)

    def under(self, varied: Varied) -> Ground:
        """Return the ground under settings that could be set. Raises NoSuchDay."""
        reached = [(change.setting, reach_of(change.target.path)) for change in varied.changes]
        layers = [
            tuple(setting for setting, reach in reached if reach >= layer)
            for layer in (Reach.EVERYTHING, Reach.PURCHASE, Reach.COST)
        ]
        if any(
            self._product(settings) is None for settings in layers
        ):  # some settings only fit with the others
            layers = [tuple(setting for setting, _ in reached)] * len(layers)
        return self._ground(*layers)

    def _ground(self, everything: _Settings, purchase: _Settings, cost: _Settings) -> Ground:
        return self._keep("ground", cost, lambda: self._costed(everything, purchase, cost))

    def _costed(self, everything: _Settings, purchase: _Settings, cost: _Settings) -> Ground:
        product, _ = self._made(cost)
        return costed(self._purchased(everything, purchase), product, self.memory)

    def _purchased(self, everything: _Settings, purchase: _Settings) -> Purchased:
        if purchase == everything:
            return self._keep("purchases", purchase, lambda: purchased(self._framed(everything)))
        old = self._purchased(everything, everything)
        return self._keep("purchases", purchase, lambda: purchased_again(old, self._made(purchase)[0]))

    def _framed(self, everything: _Settings) -> Framed:
        product, plan = self._made(everything)
        return framed(product, plan, self.today, self.public)

    def _made(self, settings: _Settings) -> tuple[Product, PlanFile]:
        product = self._product(settings) or self.loaded.product
        return product, product.plans[self.plan]

    def _product(self, settings: _Settings) -> Product | None:
        """Return the product under some settings alone, None where they cannot be set without others."""
        if not settings:
            return self.loaded.product
        return self._keep("product", settings, lambda: self._varied(settings))

    def _varied(self, settings: _Settings) -> Product | None:
        loaded = self.varied(settings).loaded
        return loaded.product if loaded is not None else None

    def _keep(self, layer: str, settings: _Settings, make: Callable[[], T]) -> T:
        key = (layer, *((setting.key, repr(setting.value)) for setting in settings))
        found: T = self._kept.pop(key) if key in self._kept else make()
        if len(self._kept) >= _MOST:
            del self._kept[next(iter(self._kept))]
        self._kept[key] = found
        return found
