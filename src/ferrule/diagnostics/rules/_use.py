"""What the structure uses, as several rules ask for it: a door to `ferrule.compute.use`."""

from __future__ import annotations

from ferrule.compute.use import Same, Spot, Use, approved, bought, free_issue, inside, supplies, use_of

__all__ = ["Same", "Spot", "Use", "approved", "bought", "free_issue", "inside", "supplies", "use_of"]
