"""A country is no country.

## What it finds

Country codes of firms, origins, markets, channels, lanes, calendars, documents and duty that ISO 3166-1
does not list. The customs territory EU is accepted beside them, but no part is made in it: an origin is a
country.

## Why it matters

Duty, marking and statements go by country. A wrong code matches no rate and no market.

## Example

Bad:

```toml
[[part.BOLT.source]]
origin = "UK"
```

Good:

```toml
[[part.BOLT.source]]
origin = "GB"
```

## How to fix

Write the two-letter code.

## Who may accept it

Nobody.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault, Path
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.countries import COUNTRIES, TERRITORIES
from ferrule.model.product import Product
from ferrule.model.records.common import Document

__all__ = ["RULE"]

_Code = tuple[str, str | int, Path, str | None]
#: Codes people write that are reserved or informal, and the code that is meant.
_MEANT = {
    "UK": "GB",
    "EN": "GB",
    "USA": "US",
    "PRC": "CN",
    "ROC": "TW",
    "KOR": "KR",
    "JAP": "JP",
    "GER": "DE",
    "EL": "GR",
}


def _origins(product: Product) -> Iterator[_Code]:
    for kind, number, item in product.items():
        yield from (
            (kind, number, ("source", i, "origin"), source.origin) for i, source in enumerate(item.source)
        )
    for number, assembly in product.assemblies.items():
        yield "assembly", number, ("origin",), assembly.origin
    yield from (("firm", number, ("country",), firm.country) for number, firm in product.firms.items())
    yield from (
        ("calendar", number, ("country",), calendar.country) for number, calendar in product.calendars.items()
    )
    yield from (("duty", i, ("origin",), duty.origin) for i, duty in enumerate(product.duties))


def _territories(product: Product) -> Iterator[_Code]:
    yield from (
        ("product", product.head.id, ("markets", i), market) for i, market in enumerate(product.head.markets)
    )
    yield from (
        ("channel", number, ("country",), channel.country) for number, channel in product.channels.items()
    )
    yield from (
        ("lane", number, ("destination",), lane.destination) for number, lane in product.lanes.items()
    )
    yield from (("duty", i, ("destination",), duty.destination) for i, duty in enumerate(product.duties))
    for kind, number, item in product.items():
        for i, code in enumerate(item.customs_code):
            yield kind, number, ("customs_code", i, "destination"), code.destination
        for i, statement in enumerate(item.substances):
            yield from (
                (kind, number, ("substances", i, "markets", j), market)
                for j, market in enumerate(statement.markets)
            )
        yield from _documents(kind, number, item.document)
    for number, tool in product.tools.items():
        yield from _documents("tool", number, tool.document)


def _documents(kind: str, number: str, documents: tuple[Document, ...]) -> Iterator[_Code]:
    for i, document in enumerate(documents):
        yield from (
            (kind, number, ("document", i, "market", j), market) for j, market in enumerate(document.market)
        )


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield codes that are no country, or no territory where one may stand."""
    for codes, known, what in (
        (_origins, COUNTRIES, "country"),
        (_territories, TERRITORIES, "country or customs territory"),
    ):
        for kind, number, path, code in codes(product):
            if code is None or code in known or (kind, number) not in product.homes:
                continue
            meant = _MEANT.get(code.upper(), code.upper() if code.upper() in known else "")
            yield Fault(
                message=f'"{code}" is no {what} of ISO 3166-1',
                place=place_of(product, kind, number, *path),
                hint=f'did you mean "{meant}"?' if meant else "",
                facts=(code,),
            )


RULE = Rule(check=check, waivable=False)
