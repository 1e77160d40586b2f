"""A small plan worked by hand: one hundred looms, made from 29 March 2027 (week 12) on, with every kind of commitment.

Week 0 is 4 January 2027. P: 150 at 2 are the least, ordered on 15 February, half paid then. Q: 100 at 4, ordered on
18 January, delivered on 28 March, cancelled free until six weeks before. F: 100 at 1, made to our drawing, ordered by
the factory on 1 March, taken over at 5 % and three months of 1 %. T: 480, half with the order of 11 January, half with
the approval of 10 February, spread over 120 pieces of F. The factory gets 30 % of 400 with the first order.
"""

from __future__ import annotations

LOOM = {
    "product.toml": """\
[product]
id = "LOOM"
name = "Loom"
currency = "EUR"
stage = "dvt"
markets = ["EU"]

[policy]
carrying_rate = "13 %"
""",
    "parts/all.toml": """\
[part.P]
class = "mechanical"
attrition = "0 %"
setup_loss = 0
[[part.P.source]]
seller = "norholt"
status = "approved"
currency = "EUR"
moq = 150
price = [{ from = 1, each = 2 }]
lead_time = "6 weeks"
ncnr = true
quoted = 2026-11-01
quote = "N-77"

[part.Q]
class = "mechanical"
attrition = "0 %"
setup_loss = 0
[[part.Q.source]]
seller = "mirefen"
status = "approved"
currency = "EUR"
moq = 1
price = [{ from = 1, each = 4 }]
lead_time = "10 weeks"
cancellation = [{ before = "6 weeks", fee = "25 %" }, { before = "2 weeks", fee = "100 %" }]
reschedule = "3 weeks"
quoted = 2026-11-01

[part.F]
class = "fabricated"
attrition = "0 %"
setup_loss = 0
[[part.F.source]]
seller = "saltreed"
status = "approved"
currency = "EUR"
moq = 1
price = [{ from = 1, each = 1 }]
lead_time = "4 weeks"
quoted = 2026-11-01
""",
    "assemblies/top.toml": """\
[assembly]
id = "TOP"
name = "Loom"
factory = "works"
supply = "turnkey"
steps = [{ name = "assemble", cost = 3, kind = "labour", yield = "100 %", time = "7 days" }]

[[line]]
item = 10
part = "P"
qty = 1
supply = "consigned"

[[line]]
item = 20
part = "Q"
qty = 1
supply = "consigned"

[[line]]
item = 30
part = "F"
qty = 1
""",
    "tools/all.toml": """\
[tool.T]
name = "Mould"
kind = "mould"
makes = ["F"]
amount = "480 EUR"
amortise_over = 120
firm = "saltreed"
ordered = 2027-01-11
approved = 2027-02-10
schedule = [{ share = "50 %", due = "order" }, { share = "rest", due = "approval" }]
""",
    "firms/all.toml": """\
[firm.we]
name = "We"
roles = ["us"]

[firm.norholt]
name = "Norholt"
currency = "EUR"
payment = [{ share = "50 %", due = "order" }, { share = "rest", due = "receipt + 60 days" }]

[firm.mirefen]
name = "Mirefen"
currency = "EUR"
payment = [{ share = "100 %", due = "receipt + 30 days" }]

[firm.saltreed]
name = "Saltreed"
currency = "EUR"

[firm.works]
name = "Works"
roles = ["factory"]
currency = "EUR"
payment = [{ share = "30 %", due = "order" }, { share = "rest", due = "start + 30 days" }]

[firm.works.factory]
handling = 0
covers_stock = "90 days"
stock_markup = "5 %"
stock_storage = "1 %"
forecast_binds = "2 weeks"
""",
    "plans/loom.toml": """\
[plan]
id = "loom"
start = 2027-01-04
end = "week 13"
opening = 1000

[[build]]
name = "one"
sku = "TOP"
qty = 100
factory = "works"
start = 2027-03-29
""",
}
