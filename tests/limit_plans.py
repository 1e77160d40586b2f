"""A small plan worked by hand: a kite with one light, built once, sold to one shop.

Week 0 is 4 January 2027. The factory is paid with the order, 25 January (week 3): the light takes two weeks, the kite
one, and it ships on 15 February. A kite costs 2 for the light and 5 to make, from 60 on 1; its freight of 1 is paid
after the plan's end. The shop pays 7.
"""

from __future__ import annotations

KITE = {
    "product.toml": '[product]\nid = "KITE"\nname = "Kite"\ncurrency = "EUR"\nstage = "dvt"\nmarkets = ["EU"]\n',
    "parts/all.toml": """\
[part.LED]
name = "Light"
class = "electrical"
attrition = "0 %"
setup_loss = 0
[[part.LED.source]]
seller = "norholt"
status = "approved"
currency = "EUR"
moq = 1
price = [{ from = 1, each = 2 }]
lead_time = "2 weeks"
quoted = 2026-11-01
quote = "N-1"
""",
    "assemblies/top.toml": """\
[assembly]
id = "TOP"
name = "Kite"
factory = "works"
supply = "turnkey"
size = ["1 m", "0.1 m", "0.1 m"]
mass = "1 kg"
customs_code = [{ destination = "EU", code = "1" }]
steps = [{ name = "assemble", tier = [{ from = 1, each = 5 }, { from = 60, each = 1 }], kind = "labour", yield = "100 %", time = "7 days" }]

[assembly.sale.shop]
list_price = 10
warranty_handling = 0

[[line]]
item = 10
part = "LED"
qty = 1
""",
    "firms/all.toml": """\
[firm.we]
name = "We"
roles = ["us"]

[firm.norholt]
name = "Norholt"
roles = ["seller"]
currency = "EUR"

[firm.works]
name = "Works"
roles = ["factory"]
currency = "EUR"
payment = [{ share = "100 %", due = "order" }]

[firm.works.factory]

[channel.shop]
name = "Shop"
kind = "retail"
currency = "EUR"
margin = "30 %"
tax_included = false
returns = "0 %"
return_cost = 0
recovery = "0 %"
warranty = "0 %"
delivery = 0
payment = [{ share = "100 %", due = "receipt + 21 days" }]

[lane.sea]
name = "Sea"
mode = "sea"
destination = "EU"
incoterm = ["FCA Port"]
currency = "EUR"
per_m3 = 100
payment = [{ share = "100 %", due = "arrival + 200 days" }]
insurance = { rate = "0 %", of = "110 %" }
leg = [{ name = "voyage", owner = "carrier", likely = "0 days" }]
charge = [{ name = "entry", amount = 0, per = "entry", covers = "import" }]

[[duty]]
destination = "EU"
code = "1"
rate = "0 %"
basis = "freight-exclusive"
checked = 2026-11-20
""",
    "plans/kite.toml": """\
[plan]
id = "kite"
start = 2027-01-04
end = "week 30"
opening = 300
floor = 20

[[build]]
name = "one"
sku = "TOP"
qty = 70
factory = "works"
lane = "sea"
ship = "week 6"

[[sales]]
sku = "TOP"
channel = "shop"
build = "one"
share = "100 %"
from = "week 8"
over_weeks = 1

[[one_off]]
name = "fair"
amount = 60
when = "week 0"

[[one_off]]
name = "rent"
amount = 50
when = "week 20"
""",
}


def changed(file: str, *edits: tuple[str, str]) -> dict[str, str]:
    """Return the files of the kite with words of one of them changed; each must be there once at least."""
    text = KITE[file]
    for old, new in edits:
        assert old in text
        text = text.replace(old, new)
    return {**KITE, file: text}
