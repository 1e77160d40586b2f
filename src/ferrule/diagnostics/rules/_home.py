"""Where we are, as rules about borders ask for it."""

from __future__ import annotations

from ferrule.model.product import Product

__all__ = ["our_countries"]


def our_countries(product: Product) -> set[str]:
    """Return the countries of the firms with the role ``us``; empty where none is stated."""
    return {firm.country for firm in product.firms.values() if "us" in firm.roles and firm.country}
