"""A small product with a plan, and the same with one fact changed, for what a change does."""

from __future__ import annotations

from cost_builders import line, part, step, tool, whole
from ferrule.model.product import Product

PLAN = """\
[plan]
id = "p"
start = 2026-11-30
end = "week 60"
opening = "50000 EUR"
floor = "1000 EUR"
[[build]]
name = "b"
sku = "TOP"
qty = 100
factory = "works"
receive_by = 2027-06-30
"""
LEAD = 'lead_time = "10 weeks"\n'


def made(  # noqa: PLR0913  one argument for each fact that a test changes
    *,
    qty: int = 2,
    price: str = "10",
    good: str = "100 %",
    tooling: str = "1000",
    lead: str = LEAD,
    plan: str = PLAN,
    **files: str,
) -> Product:
    """Return a product whose TOP takes some P and one step of 5 EUR, with a tool shared by 100 units."""
    return whole(
        part("P", (1, price), source=lead),
        line(10, "P", qty),
        step("make", "5", good),
        lane="",
        tools=tool("T", "TOP", f"{tooling} EUR", 100),
        plans=plan,
        **files,
    )
