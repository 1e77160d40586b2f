"""Plans worked by hand for the tests of `cash` and `levers`, and how a test asks about them.

Every week that is not listed moves nothing. Terms are common practice: a deposit with the order and the rest after
shipment, a reserve a web shop holds back, a retailer's term and pay-run.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from git_builders import ferrule

EXAMPLE = Path(__file__).parents[1] / "example-product"
TODAY = "2026-11-25"

HEAD = '[product]\nid = "LAMP"\nname = "Lamp"\ncurrency = "EUR"\nstage = "dvt"\nmarkets = ["EU"]\n'

#: Opening 100; out 40, 30, 50; in 90, 90: 60, 30, -20, 70, 160, so 120 are needed.
BARE = """\
[plan]
id = "bare"
start = 2027-01-04
end = "week 16"
opening = 100
floor = 0

[[one_off]]
name = "first"
amount = 40
when = "week 0"

[[one_off]]
name = "second"
amount = 30
when = "week 4"

[[one_off]]
name = "third"
amount = 50
when = "week 8"

[[funding]]
name = "one"
amount = 90
when = "week 12"
signed = true
kind = "grant"

[[funding]]
name = "two"
amount = 90
when = "week 16"
signed = true
kind = "grant"

[[funding]]
name = "hoped"
amount = 25
when = "week 7"
kind = "equity"

[lever.second-later]
set = { "one_off.second.when" = "week 7" }

[lever.third-later]
set = { "one_off.third.when" = "week 12" }
"""

LAMP = {
    "product.toml": HEAD,
    "parts/all.toml": """\
[part.LED]
name = "Light"
class = "electrical"
[[part.LED.source]]
seller = "norholt"
status = "approved"
currency = "EUR"
moq = 100
price = [{ from = 1, each = 2 }]
lead_time = "2 weeks"
quoted = 2026-11-01
""",
    "assemblies/top.toml": """\
[assembly]
id = "TOP"
name = "Lamp"
factory = "works"
supply = "turnkey"
steps = [{ name = "assemble", cost = 3, kind = "labour", yield = "100 %", yield_seen = "100 %", time = "7 days" }]

[assembly.sale.web]
list_price = 10

[assembly.sale.shop]
list_price = 10

[[line]]
item = 10
part = "LED"
qty = 1
""",
    "firms/all.toml": """\
[firm.norholt]
name = "Norholt"
roles = ["seller"]
currency = "EUR"

[firm.works]
name = "Works"
roles = ["factory"]
currency = "EUR"
payment = [{ share = "40 %", due = "order" }, { share = "rest", due = "shipment + 14 days" }]

[firm.works.factory]

[channel.web]
name = "Web"
kind = "direct"
currency = "EUR"
settlement = { lag = "7 days", reserve = "10 %", reserve_for = "28 days" }

[channel.shop]
name = "Shop"
kind = "retail"
currency = "EUR"
margin = "40 %"
payment = [{ share = "100 %", due = "receipt + 21 days" }]
settlement = { pay_run = "thursday" }
""",
    "plans/lamp.toml": """\
[plan]
id = "lamp"
start = 2027-01-04
end = "week 20"
opening = 800
floor = 0

[[build]]
name = "one"
sku = "TOP"
qty = 100
factory = "works"
ship = "week 6"

[[sales]]
sku = "TOP"
channel = "web"
qty = 60
curve = [{ week = "week 8", qty = 40 }, { week = "week 9", qty = 20 }]

[[sales]]
sku = "TOP"
channel = "shop"
qty = 40
curve = [{ week = "week 8", qty = 40 }]

[[overhead]]
name = "rent"
amount = 10
every = "week"
from = "week 1"
to = "week 4"
kind = "rent"

[lever.balance-later]
set = { "firm.works.payment.1.due" = "shipment + 28 days" }

[lever.half-deposit]
set = { "firm.works.payment.0.share" = "20 %" }
price = { "part.LED.source.0.price.0.each" = 2.10 }

[lever.shop-sooner]
set = { "channel.shop.payment.0.due" = "receipt + 7 days" }
price = { "channel.shop.margin" = "42 %" }
""",
}

#: A mould of 1,000.01 USD, half with the order, the rest 14 days after approval; money lent for five weeks; rent.
MOULD = {
    "product.toml": HEAD,
    "firms/all.toml": '[[rate]]\nrate = "1 EUR = 1.08 USD"\ndate = 2026-11-20\nevidence = "bank reference rate"\n',
    "tools/all.toml": """\
[tool.T-9]
name = "Mould"
kind = "mould"
amount = "1000.01 USD"
ordered = 2027-01-06
approved = 2027-02-10
schedule = [{ share = "50 %", due = "order" }, { share = "rest", due = "approval + 14 days" }]
""",
    "plans/mould.toml": """\
[plan]
id = "mould"
start = 2027-01-04
end = "week 8"
opening = 600

[[overhead]]
name = "rent"
amount = 100
every = "month"
kind = "rent"

[[funding]]
name = "bridge"
amount = 400
when = "week 1"
repay = "week 6"
interest = "8 %"
kind = "loan"
signed = true
""",
}


def write(folder: Path, files: dict[str, str]) -> Path:
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


def ask(folder: Path, *arguments: str) -> dict[str, Any]:
    today = () if "--today" in arguments else ("--today", TODAY)
    done = ferrule(*arguments, *today, "--format", "json", cwd=folder)
    assert (done.returncode, done.stderr) == (0, "")
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


def moving(answer: dict[str, Any]) -> dict[int, tuple[str, str, str]]:
    """Return in, out and balance of the weeks in which something moves."""
    return {
        row["week"]: (row["income"], row["outgo"], row["balance"])
        for row in answer["weeks"]
        if (row["income"], row["outgo"]) != ("0", "0")
    }
