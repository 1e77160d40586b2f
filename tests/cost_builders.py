"""Small products for the tests of unit cost: prices are round, and nothing is asked beside them unless stated."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from msgspec.structs import replace

from builders import TODAY, product
from ferrule.compute.buy import Bought
from ferrule.compute.cost import CostAsk, UnitCost, unit_cost
from ferrule.model.product import Product

#: A factory that asks nothing beside its prices, a seller, and a channel that costs nothing.
FIRMS = """\
[firm.we]
name = "We"
roles = ["us"]
[firm.works]
name = "Works"
roles = ["factory"]
[firm.seller]
name = "Seller"
"""
CHANNEL = """\
[channel.web]
name = "Web"
kind = "direct"
currency = "EUR"
tax_included = false
returns = "0 %"
return_cost = 0
recovery = "0 %"
warranty = "0 %"
delivery = 0
"""
#: A unit takes 0.01 m3, so freight is 1.00 a unit; duty 5 % on a value without freight.
SEA = """\
[lane.sea]
name = "Sea"
mode = "sea"
destination = "EU"
incoterm = ["FCA Port"]
currency = "EUR"
per_m3 = 100
quoted = 2026-11-20
insurance = { rate = "0.4 %", of = "110 %" }
charge = [{ name = "entry", amount = 0, per = "entry", covers = "import" }]
[[duty]]
destination = "EU"
code = "1"
rate = "5 %"
basis = "freight-exclusive"
checked = 2026-11-20
"""
TOP = """\
[assembly]
id = "TOP"
factory = "works"
supply = "turnkey"
size = ["1 m", "0.1 m", "0.1 m"]
mass = "1 kg"
customs_code = [{ destination = "EU", code = "1" }]
"""
SALE = '[assembly.sale.web]\nlist_price = "50 EUR"\nwarranty_handling = "0 EUR"\n'


def part(
    number: str, *breaks: tuple[int, str], kind: str = "mechanical", more: str = "", source: str = ""
) -> str:
    """Return a part with one source, sold from one piece on at these prices; ``source`` adds to the source."""
    prices = ", ".join(f"{{ from = {start}, each = {each} }}" for start, each in breaks)
    moq = "" if "moq" in source else "moq = 1\n"
    dated = "" if "quoted" in source else "quoted = 2026-11-20\n"
    return (
        f'[part.{number}]\nclass = "{kind}"\n{more}[[part.{number}.source]]\nseller = "seller"\n'
        f'status = "approved"\ncurrency = "EUR"\n{moq}{dated}{source}price = [{prices}]\n'
    )


def line(item: int, number: str, qty: int | str = 1, more: str = "") -> str:
    """Return a line of an assembly."""
    return f'[[line]]\nitem = {item}\npart = "{number}"\nqty = {qty}\n{more}'


def step(name: str, cost: str = "0", good: str = "100 %", more: str = "") -> str:
    """Return a step with its price and its yield."""
    return f'{{ name = "{name}", cost = {cost}, yield = "{good}"{more} }}'


def assembly(number: str, lines: str, *steps: str, more: str = "") -> str:
    """Return an assembly that the factory builds."""
    head = f'[assembly]\nid = "{number}"\nfactory = "works"\nsupply = "turnkey"\n'
    return head + f"steps = [{', '.join(steps)}]\n{more}" + lines


def whole(  # noqa: PLR0913  one argument for each kind of file
    parts: str = "",
    lines: str = "",
    *steps: str,
    head: str = TOP,
    top: str = "",
    works: str = "",
    firms: str = FIRMS,
    sale: str = SALE,
    channel: str = CHANNEL,
    lane: str = SEA,
    **files: str,
) -> Product:
    """Return a product with the SKU TOP; ``head`` begins its file, ``works`` is what the factory asks, ``files`` are further files by kind."""
    asked = f"[firm.works.factory]\n{works}" if works else ""
    text = head + (f"steps = [{', '.join(steps)}]\n" if steps else "") + top + sale + lines
    found = {"firms/f.toml": firms + asked + channel + lane, "assemblies/top.toml": text}
    found |= {"parts/p.toml": parts} if parts else {}
    return product(
        found | {f"{kind.split('_', maxsplit=1)[0]}/{kind}.toml": each for kind, each in files.items()}
    )


def ask(qty: int | Fraction = 1000, **named: Any) -> CostAsk:
    """Return the question for a quantity of TOP."""
    return replace(CostAsk(sku="TOP", qty=Fraction(qty), name=f"{qty}", day=TODAY), **named)


def cost(made: Product, qty: int = 1000, bought: Bought | None = None, **named: Any) -> UnitCost:
    """Return the cost of one TOP."""
    return unit_cost(made, ask(qty, **named), bought)


def tool(number: str, makes: str, amount: str, over: int, more: str = "") -> str:
    """Return a tool of ours that the factory holds."""
    return (
        f'[tool.{number}]\nname = "{number}"\nkind = "mould"\nmakes = ["{makes}"]\namount = "{amount}"\n'
        f"amortise_over = {over}\n{more}"
    )
