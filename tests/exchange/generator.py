# ruff: noqa: RUF001, S311 - words of other alphabets are data; chance is for variety
"""Sheets of parts in many wordings, languages, layouts, formats and encodings, with what a reader would count.

The wordings are written down here by hand, apart from the recogniser's own, as people head their columns.
Everything is invented. The same seed gives the same bytes.
"""

from __future__ import annotations

import io
import random
from collections.abc import Callable
from decimal import Decimal

import xlsxwriter  # type: ignore[import-untyped]
from msgspec import Struct, field

__all__ = ["Made", "make"]


class Made(Struct, kw_only=True):
    """A sheet and its truth. Rows are (sheet, row); ``lines`` those of part lines."""

    name: str
    data: bytes
    recipe: str
    lines: set[tuple[str, int]] = field(default_factory=set)
    quantity: Decimal = Decimal(0)
    differ: set[tuple[str, int]] = field(default_factory=set)
    not_fitted: int = 0
    sources: int = 0
    assemblies: int = 0
    left_out: int = 0
    cost: Decimal | None = None
    without_maker: int | None = None


#: Language → wordings of headings: places, quantity, name, value, package, maker, maker's number, seller,
#: seller's number, price, line total, note, item, unit.
_KEYS = "places quantity name value package maker mpn seller spn price total note item".split()
_WORDS: dict[str, list[dict[str, str]]] = {
    "en": [
        dict(
            zip(
                _KEYS,
                "Designator|Quantity|Description|Value|Footprint|Manufacturer|Manufacturer Part Number|Supplier|Supplier Part Number|Unit Price|Ext. Price|Comments|Item".split(
                    "|"
                ),
                strict=True,
            )
        ),
        dict(
            zip(
                _KEYS,
                "RefDes|Qty|Part Description|Val|Package|Mfr|Mfr P/N|Vendor|Vendor P/N|Cost each|Total cost|Notes|#".split(
                    "|"
                ),
                strict=True,
            )
        ),
        dict(
            zip(
                _KEYS,
                "Reference(s)|QTY.|Name|Value|PCB Footprint|MFG|MFG Part #|Distributor|Order Code|Price/ea|Subtotal|Remarks|Line No.".split(
                    "|"
                ),
                strict=True,
            )
        ),
        dict(
            zip(
                _KEYS,
                "ref_des|qty_per_board|desc|value|pkg|mfr_name|mpn|supplier_name|supplier_sku|unit_cost|line_cost|comment|line".split(
                    "|"
                ),
                strict=True,
            )
        ),
        dict(
            zip(
                _KEYS,
                "Location|Count|Title|Value|Case|Brand|MPN|Where to buy|SKU|Cost per unit|Cost total|Note|Pos".split(
                    "|"
                ),
                strict=True,
            )
        ),
    ],
    "de": [
        dict(
            zip(
                _KEYS,
                "Bauteilbezeichner|Menge|Bezeichnung|Wert|Bauform|Hersteller|Hersteller-Nr.|Lieferant|Bestellnummer|Einzelpreis|Gesamtpreis|Bemerkung|Pos.".split(
                    "|"
                ),
                strict=True,
            )
        ),
        dict(
            zip(
                _KEYS,
                "Referenz|Stück|Beschreibung|Wert|Gehäuse|Hersteller|Herstellerteilenummer|Händler|Artikelnummer Händler|Stückpreis|Summe|Hinweis|Lfd. Nr.".split(
                    "|"
                ),
                strict=True,
            )
        ),
    ],
    "fr": [
        dict(
            zip(
                _KEYS,
                "Repère|Quantité|Désignation|Valeur|Boîtier|Fabricant|Référence fabricant|Fournisseur|Référence fournisseur|Prix unitaire|Prix total|Remarques|N°".split(
                    "|"
                ),
                strict=True,
            )
        )
    ],
    "es": [
        dict(
            zip(
                _KEYS,
                "Designador|Cantidad|Descripción|Valor|Encapsulado|Fabricante|N.º de fabricante|Proveedor|Código proveedor|Precio unitario|Precio total|Observaciones|Posición".split(
                    "|"
                ),
                strict=True,
            )
        )
    ],
    "it": [
        dict(
            zip(
                _KEYS,
                "Riferimento|Quantità|Descrizione|Valore|Contenitore|Produttore|Codice produttore|Fornitore|Codice fornitore|Prezzo unitario|Prezzo totale|Note|Pos.".split(
                    "|"
                ),
                strict=True,
            )
        )
    ],
    "pl": [
        dict(
            zip(
                _KEYS,
                "Oznaczenie|Ilość|Nazwa|Wartość|Obudowa|Producent|Kod producenta|Dostawca|Kod dostawcy|Cena jednostkowa|Razem|Uwagi|Lp.".split(
                    "|"
                ),
                strict=True,
            )
        )
    ],
    "cs": [
        dict(
            zip(
                _KEYS,
                "Označení|Množství|Název|Hodnota|Pouzdro|Výrobce|Číslo výrobce|Dodavatel|Kód dodavatele|Cena za kus|Cena celkem|Poznámka|Pozice".split(
                    "|"
                ),
                strict=True,
            )
        )
    ],
    "sv": [
        dict(
            zip(
                _KEYS,
                "Beteckning|Antal|Benämning|Värde|Kapsel|Tillverkare|Tillverkarens artikelnummer|Leverantör|Leverantörens artikelnummer|Styckpris|Totalpris|Anmärkning|Pos".split(
                    "|"
                ),
                strict=True,
            )
        )
    ],
    "ja": [
        dict(
            zip(
                _KEYS,
                "部品記号|数量|品名|定数|パッケージ|メーカー|メーカー型番|購入先|購入先品番|単価|金額|備考|番号".split(
                    "|"
                ),
                strict=True,
            )
        )
    ],
    "zh": [
        dict(
            zip(
                _KEYS,
                "位号|数量|名称|参数|封装|制造商|制造商型号|供应商|供应商编号|单价|总价|备注|序号".split("|"),
                strict=True,
            )
        )
    ],
    "ru": [
        dict(
            zip(
                _KEYS,
                "Поз. обозначение|Кол-во|Наименование|Номинал|Корпус|Производитель|Артикул производителя|Поставщик|Код поставщика|Цена|Сумма|Примечание|№".split(
                    "|"
                ),
                strict=True,
            )
        )
    ],
    "pt": [
        dict(
            zip(
                _KEYS,
                "Designador|Qtd.|Descrição|Valor|Encapsulamento|Fabricante|Código do fabricante|Fornecedor|Código do fornecedor|Preço unitário|Preço total|Observações|Item".split(
                    "|"
                ),
                strict=True,
            )
        )
    ],
    "nl": [
        dict(
            zip(
                _KEYS,
                "Referentie|Aantal|Omschrijving|Waarde|Behuizing|Fabrikant|Fabrikant nummer|Leverancier|Bestelnummer leverancier|Prijs per stuk|Totaalprijs|Opmerking|Nr.".split(
                    "|"
                ),
                strict=True,
            )
        )
    ],
}
_TOTAL = {
    "en": "Total",
    "de": "Summe",
    "fr": "Total",
    "es": "Total",
    "it": "Totale",
    "pl": "Razem",
    "cs": "Celkem",
    "sv": "Summa",
    "ja": "合計",
    "zh": "合计",
    "ru": "Итого",
    "pt": "Total",
    "nl": "Totaal",
}
_SECTIONS = {
    "en": ["Electronics", "Mechanics:", "HARDWARE", "Power supply"], "de": ["Elektronik", "Mechanik", "Gehäuseteile"], "fr": ["Électronique", "Mécanique"],
    "ja": ["電源部", "機構部"], "zh": ["电源部分", "结构件"], "ru": ["Электроника", "Механика"], "cs": ["Elektronika", "Mechanické díly"], "pl": ["Elektronika", "Części mechaniczne"],
}  # fmt: skip
_PAGES = {
    "de": "cp1252",
    "fr": "cp1252",
    "es": "cp1252",
    "it": "cp1252",
    "sv": "cp1252",
    "pt": "cp1252",
    "nl": "cp1252",
    "en": "cp1252",
    "pl": "cp1250",
    "cs": "cp1250",
    "ja": "cp932",
    "zh": "gb18030",
    "ru": "cp1251",
}
_MAKERS = [
    "Ashfield",
    "Korvel GmbH",
    "Norholt Semiconductor",
    "Tarn Electronics",
    "Wexmouth",
    "Lindqvist AB",
    "Belmar Co., Ltd.",
]
_SELLERS = ["Harbour Parts", "Ostrava Components", "Mill & Sons"]
_KINDS = [
    ("C", "Capacitor ceramic", ["100nF", "10uF", "22pF"], "0603"),
    ("R", "Resistor thick film", ["10k", "4k7", "100R"], "0402"),
    ("U", "Regulator", ["AX3301"], "SOT-23-5"),
    ("J", "Connector 4 pin", ["CONN_01x04"], "PinHeader_1x04"),
    ("D", "Diode", ["BX48"], "SOD-123"),
    ("Q", "Transistor NPN", ["TN39"], "SOT-23"),
]
_MECHANICS = [
    "Screw M3x10",
    "Washer 3.2",
    "Housing top",
    "Hex nut M4",
    "Spacer 10 mm, brass",
    "Bearing 5x10x4",
    "Bracket left",
    "Label front",
    "Cable 1.5 m",
    "Threaded rod M8 x 300",
]
_NATIVE = {
    "de": ["Gehäuse vorne", "Schraube M3×10", "Beilagscheibe groß", "Zugentlastung für Kabel", "Müllbeutel"], "fr": ["Écrou M3", "Vis à tête fraisée", "Boîtier intérieur"], "pl": ["Śruba M3", "Podkładka", "Obudowa górna, część"], "cs": ["Šroub M3", "Podložka", "Kryt přední"],
    "ja": ["ネジ M3", "抵抗器", "コンデンサ", "筐体 上"], "zh": ["螺丝 M3", "电阻", "电容", "外壳 上"], "ru": ["Винт М3", "Гайка", "Корпус верхний"], "sv": ["Skruv för plåt", "Mutter låsande", "Fästöra"], "es": ["Tornillo pequeño", "Tuerca de fijación"], "pt": ["Parafuso de fixação", "Porca pequena"], "it": ["Vite più lunga", "Dado"],
}  # fmt: skip


class _Part(Struct, kw_only=True):
    cells: dict[str, str]
    quantity: Decimal | None = None
    differ: bool = False
    fitted: bool = True
    price: Decimal | None = None
    maker: bool = True
    left_out: bool = False


class _Maker:
    """One sheet being made: the choices are drawn once, the rows then follow them."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)
        pick = self.chance.choice
        self.language = pick(["en"] * 5 + list(_WORDS))
        self.words = pick(_WORDS[self.language])
        self.board = self.chance.random() < 0.6
        self.comma = self.language not in {"en", "ja", "zh"} and self.chance.random() < 0.7
        self.priced = self.chance.random() < 0.45
        self.layout = pick(
            [
                "plain",
                "plain",
                "preamble",
                "sections",
                "stacked",
                "sheets",
                "side",
                "repeated",
                "sources",
                "dotted",
                "indented",
                "levels",
                "blank",
            ]
        )
        self.form = pick(
            ["comma", "comma", "semicolon", "tab", "xlsx", "xlsx", "utf16", "page", "page", "fixed", "bom"]
        )
        if self.layout == "sheets":
            self.form = "xlsx"
        if self.layout == "side" and self.form == "fixed":
            self.form = "comma"
        if self.layout == "indented" and self.form == "fixed":
            self.form = "semicolon"
        self.with_total = self.chance.random() < 0.5
        self.with_note = self.chance.random() < 0.4
        self.sign = pick(["€", "$", "", "EUR"])
        self.next: dict[str, int] = {}
        self.columns = self._columns()

    def _columns(self) -> list[str]:
        wanted = ["item"] if self.chance.random() < 0.6 or self.layout == "dotted" else []
        wanted += ["places"] if self.board else []
        wanted += ["quantity", "name"]
        wanted += ["value", "package"] if self.board else []
        wanted += ["maker", "mpn"] if self.chance.random() < 0.7 or self.layout == "sources" else []
        wanted += ["seller", "spn"] if self.chance.random() < 0.4 else []
        wanted += ["price"] if self.priced else []
        wanted += ["total"] if self.priced and self.chance.random() < 0.6 else []
        wanted += ["note"] if self.chance.random() < 0.5 else []
        if self.layout != "indented" and self.chance.random() < 0.5:
            fixed = wanted[: wanted.index("name")]
            rest = [name for name in wanted if name not in fixed]
            self.chance.shuffle(rest)
            wanted = fixed + rest
        return wanted

    # --- parts

    def number(self, amount: Decimal) -> str:
        text = format(amount, "f")
        return text.replace(".", ",") if self.comma else text

    def money(self, amount: Decimal) -> str:
        text = self.number(amount)
        return {"€": f"{text} €" if self.comma else f"€{text}", "$": f"${text}", "EUR": f"{text} EUR"}.get(
            self.sign, text
        )

    def part(self, item: str) -> _Part:
        chance = self.chance
        part = _Part(cells={"item": item})
        cells = part.cells
        electric = self.board and chance.random() < 0.85
        many = chance.choice([1, 1, 1, 2, 3, 4, 6, 12])
        if electric:
            letters, name, values, package = chance.choice(_KINDS)
            cells |= {
                "name": name,
                "value": chance.choice(values),
                "package": package,
                "places": self._places(letters, many),
            }
        else:
            names = _MECHANICS + _NATIVE.get(self.language, []) * 3
            cells["name"] = chance.choice(names) + chance.choice(["", "", f" v{chance.randint(1, 9)}"])
            many = chance.choice([1, 2, 4, 8, 20])
        part.quantity = Decimal(many)
        cells["quantity"] = str(many)
        if electric and chance.random() < 0.03:
            part.quantity, part.differ = Decimal(many + 1), True
            cells["quantity"] = str(many + 1)
        elif not electric and chance.random() < 0.08:
            part.left_out, part.quantity = True, None
            cells["quantity"] = chance.choice(["10cm", "1 set", "2,5 m" if self.comma else "2.5 m"])
        elif not electric and chance.random() < 0.06:
            part.quantity = Decimal("0.5")
            cells["quantity"] = self.number(part.quantity)
        self._bought(part)
        return part

    def _bought(self, part: _Part) -> None:
        chance, cells = self.chance, part.cells
        part.maker = chance.random() < 0.85
        cells["maker"] = (
            chance.choice(_MAKERS) if part.maker else chance.choice(["", "n/a", "-", "~", "None"])
        )
        cells["mpn"] = (
            f"{chance.choice('ABCXYZ')}{chance.choice('KLMN')}{chance.randint(100, 9999)}-{chance.choice('ABC')}{chance.randint(1, 99)}"
            if part.maker
            else ""
        )
        cells["seller"] = chance.choice([*_SELLERS, ""])
        cells["spn"] = f"{chance.randint(100, 999)}-{chance.randint(1000, 9999)}" if cells["seller"] else ""
        if self.priced and chance.random() < 0.92:
            part.price = Decimal(chance.randint(1, 5000)) / 100
            cells["price"] = self.money(part.price)
            if part.quantity is not None:
                cells["total"] = self.money(part.price * part.quantity)
        if chance.random() < 0.06 and "note" in self.columns:
            part.fitted = False
            cells["note"] = {
                "de": "nicht bestückt",
                "fr": "non monté",
                "ja": "未実装",
                "zh": "不贴",
                "ru": "не устанавливать",
            }.get(self.language, "DNP")
        elif chance.random() < 0.2:
            cells["note"] = chance.choice(["check stock", "see drawing 12", "RoHS"])

    def _places(self, letters: str, many: int) -> str:
        start = self.next.get(letters, 1)
        self.next[letters] = start + many
        names = [f"{letters}{start + at}" for at in range(many)]
        if many >= 3 and self.chance.random() < 0.4:
            return f"{names[0]}-{names[-1]}"
        return self.chance.choice(
            [", ", ",", " ", ";" if self.form not in {"semicolon", "page"} else ", "]
        ).join(names)

    def row(self, part: _Part) -> list[str]:
        return [part.cells.get(name, "") for name in self.columns]

    def head(self) -> list[str]:
        return [self.words[name] for name in self.columns]


class _Sheet:
    """Rows of one sheet; ``marks`` says what each of them is, by its index."""

    def __init__(self, name: str = "") -> None:
        self.name = name
        self.rows: list[list[str]] = []
        self.parts: dict[int, _Part] = {}
        self.sources = 0
        self.assemblies = 0

    def add(self, row: list[str], part: _Part | None = None) -> None:
        if part is not None:
            self.parts[len(self.rows)] = part
        self.rows.append(row)


def make(seed: int) -> Made:
    """Return the sheet of a seed."""
    maker = _Maker(seed)
    sheets = _LAYOUTS[maker.layout](maker)
    data, numbers, extension = _render(maker, sheets)
    made = Made(
        name=f"sheet-{seed}.{extension}",
        data=data,
        recipe=f"{maker.language} {maker.layout} {maker.form} {'board' if maker.board else 'mechanics'}{' comma' if maker.comma else ''} {'/'.join(maker.columns)}",
    )
    cost = Decimal(0)
    for sheet in sheets:
        made.sources += sheet.sources
        made.assemblies += sheet.assemblies
        for at, part in sheet.parts.items():
            place = (sheet.name, numbers[sheet.name][at])
            made.lines.add(place)
            made.quantity += part.quantity or 0
            made.left_out += part.left_out
            made.not_fitted += not part.fitted
            if part.differ:
                made.differ.add(place)
            if part.price is not None and part.quantity is not None:
                cost += part.price * part.quantity
    if "maker" in maker.columns:
        made.without_maker = sum(1 for sheet in sheets for part in sheet.parts.values() if not part.maker)
    made.cost = cost if maker.priced and not made.left_out else None
    return made


# --- layouts ---------------------------------------------------------------------------------------------


def _body(maker: _Maker, sheet: _Sheet, many: int, start: int = 1) -> None:
    for at in range(many):
        part = maker.part(str(start + at))
        sheet.add(maker.row(part), part)


def _end(maker: _Maker, sheet: _Sheet) -> None:
    if maker.with_total and "total" in maker.columns:
        total = sum(
            (
                p.price * p.quantity
                for p in sheet.parts.values()
                if p.price is not None and p.quantity is not None
            ),
            Decimal(0),
        )
        row = [""] * len(maker.columns)
        row[maker.columns.index("total")] = maker.money(total)
        row[max(0, maker.columns.index("total") - 1)] = _TOTAL[maker.language]
        sheet.add(row)
    elif maker.with_total:
        row = [""] * len(maker.columns)
        row[maker.columns.index("quantity")] = str(
            sum((p.quantity for p in sheet.parts.values() if p.quantity), Decimal(0))
        )
        row[maker.columns.index("name")] = _TOTAL[maker.language] + ":"
        sheet.add(row)
    if maker.with_note:
        sheet.add([""] * len(maker.columns))
        sheet.add(["Note: all prices without tax, as of spring. Check before ordering."])


def _plain(maker: _Maker) -> list[_Sheet]:
    sheet = _Sheet()
    sheet.add(maker.head())
    _body(maker, sheet, maker.chance.randint(6, 40))
    _end(maker, sheet)
    return [sheet]


def _preamble(maker: _Maker) -> list[_Sheet]:
    sheet = _Sheet()
    sheet.add(["Weather station, main board"])
    if maker.chance.random() < 0.5:
        sheet.add(["Date:", "2026-03-14"])
        sheet.add(["Revision:", "B"])
        sheet.add(["Author:", "M. Tarn"])
    sheet.add([])
    sheet.add(maker.head())
    _body(maker, sheet, maker.chance.randint(6, 40))
    _end(maker, sheet)
    return [sheet]


def _sections(maker: _Maker) -> list[_Sheet]:
    sheet = _Sheet()
    sheet.add(maker.head())
    column = maker.chance.choice([0, maker.columns.index("name")])
    for title in _SECTIONS.get(maker.language, _SECTIONS["en"]):
        sheet.add([""] * column + [title])
        _body(maker, sheet, maker.chance.randint(2, 9), len(sheet.rows))
        if maker.chance.random() < 0.3:
            sheet.add([])
    _end(maker, sheet)
    return [sheet]


def _stacked(maker: _Maker) -> list[_Sheet]:
    sheet = _Sheet()
    for title in ("Board A", "Board B"):
        sheet.add([title])
        sheet.add(maker.head())
        maker.next.clear()
        _body(maker, sheet, maker.chance.randint(4, 15))
        sheet.add([])
    return [sheet]


def _sheets(maker: _Maker) -> list[_Sheet]:
    made: list[_Sheet] = []
    for title in ("main", "sensor"):
        sheet = _Sheet(title)
        sheet.add(maker.head())
        maker.next.clear()
        _body(maker, sheet, maker.chance.randint(4, 20))
        made.append(sheet)
    history = _Sheet("History")
    history.add(["Rev", "Date", "Author", "Description"])
    history.add(["A", "2026-01-02", "M. Tarn", "first issue"])
    history.add(["B", "2026-02-03", "J. Holt", "capacitors changed"])
    return [*made, history]


def _side(maker: _Maker) -> list[_Sheet]:
    """Return two tables beside each other; each row of the sheet may hold two part lines."""
    sheet = _Sheet()
    sheet.add([*maker.head(), "", *maker.head()])
    for at in range(maker.chance.randint(4, 12)):
        left, right = maker.part(str(at + 1)), maker.part(str(at + 1))
        sheet.add([*maker.row(left), "", *maker.row(right)], left)
        sheet.parts[-len(sheet.rows)] = right
    return [sheet]


def _repeated(maker: _Maker) -> list[_Sheet]:
    sheet = _Sheet()
    for page in range(3):
        sheet.add(maker.head())
        _body(maker, sheet, 8, page * 8 + 1)
    _end(maker, sheet)
    return [sheet]


def _sources(maker: _Maker) -> list[_Sheet]:
    sheet = _Sheet()
    sheet.add(maker.head())
    for at in range(maker.chance.randint(6, 20)):
        part = maker.part(str(at + 1))
        sheet.add(maker.row(part), part)
        if part.maker and maker.chance.random() < 0.3:
            cells = {"maker": maker.chance.choice(_MAKERS), "mpn": f"ZZ{maker.chance.randint(100, 999)}-Q"}
            sheet.add([cells.get(name, "") for name in maker.columns])
            sheet.sources += 1
    return [sheet]


def _tree(
    maker: _Maker,
    mark: Callable[[_Part, int, str], None],
    head: list[str],
    row: Callable[[_Part, int], list[str]],
) -> list[_Sheet]:
    sheet = _Sheet()
    sheet.add(head)
    for top in range(1, maker.chance.randint(3, 5)):
        assembly = maker.part(str(top))
        assembly.cells["name"] = f"Assembly {top}"
        assembly.cells["quantity"], assembly.quantity, assembly.differ, assembly.left_out = (
            "1",
            Decimal(1),
            False,
            False,
        )
        for name in ("places", "price", "total", "value", "package"):
            assembly.cells.pop(name, None)
        assembly.price = None
        mark(assembly, 0, str(top))
        sheet.add(row(assembly, 0), assembly)
        sheet.assemblies += 1
        for below in range(1, maker.chance.randint(3, 8)):
            part = maker.part(f"{top}.{below}")
            mark(part, 1, f"{top}.{below}")
            sheet.add(row(part, 1), part)
    return [sheet]


def _dotted(maker: _Maker) -> list[_Sheet]:
    def mark(part: _Part, _: int, number: str) -> None:
        part.cells["item"] = number

    return _tree(maker, mark, maker.head(), lambda part, _: maker.row(part))


def _indented(maker: _Maker) -> list[_Sheet]:
    def mark(part: _Part, level: int, _: str) -> None:
        part.cells["name"] = "    " * level + part.cells["name"]

    return _tree(maker, mark, maker.head(), lambda part, _: maker.row(part))


def _levels(maker: _Maker) -> list[_Sheet]:
    return _tree(
        maker, lambda *_: None, ["Level", *maker.head()], lambda part, level: [str(level), *maker.row(part)]
    )


def _blank(maker: _Maker) -> list[_Sheet]:
    sheet = _Sheet()
    sheet.add([])
    sheet.add(maker.head())
    sheet.add([])
    for at in range(maker.chance.randint(6, 20)):
        part = maker.part(str(at + 1))
        sheet.add(maker.row(part), part)
        if maker.chance.random() < 0.2:
            sheet.add([])
    _end(maker, sheet)
    return [sheet]


_LAYOUTS: dict[str, Callable[[_Maker], list[_Sheet]]] = {
    "plain": _plain, "preamble": _preamble, "sections": _sections, "stacked": _stacked, "sheets": _sheets, "side": _side,
    "repeated": _repeated, "sources": _sources, "dotted": _dotted, "indented": _indented, "levels": _levels, "blank": _blank,
}  # fmt: skip


# --- forms -----------------------------------------------------------------------------------------------


def _render(maker: _Maker, sheets: list[_Sheet]) -> tuple[bytes, dict[str, dict[int, int]], str]:
    """Return the bytes, the row number of each row by sheet, and the name's extension."""
    numbers: dict[str, dict[int, int]] = {
        sheet.name or ("Sheet1" if maker.form == "xlsx" else ""): {} for sheet in sheets
    }
    for sheet in sheets:
        sheet.name = sheet.name or ("Sheet1" if maker.form == "xlsx" else "")
        for at in (*range(len(sheet.rows)), *sheet.parts):
            numbers[sheet.name][at] = at + 1 if at >= 0 else -at
    if maker.form == "xlsx":
        return _xlsx(sheets), numbers, "xlsx"
    (sheet,) = sheets
    if maker.form == "fixed":
        return _fixed(sheet).encode(), numbers, "txt"
    mark = {"semicolon": ";", "tab": "\t", "page": ";", "utf16": "\t"}.get(maker.form, ",")
    wide = max(map(len, sheet.rows))
    lines = [
        mark.join(
            _quoted(cell, mark) for cell in row + [""] * (wide - len(row) if maker.form != "semicolon" else 0)
        )
        for row in sheet.rows
    ]
    text = ("\r\n" if maker.chance.random() < 0.5 else "\n").join([*lines, ""])
    if maker.form == "page":
        return text.encode(_PAGES[maker.language], "replace"), numbers, "csv"
    codec = {"utf16": "utf-16", "bom": "utf-8-sig"}.get(maker.form, "utf-8")
    return text.encode(codec), numbers, "csv"


def _quoted(cell: str, mark: str) -> str:
    return '"' + cell.replace('"', '""') + '"' if mark in cell or '"' in cell or "\n" in cell else cell


def _fixed(sheet: _Sheet) -> str:
    wide = max(map(len, sheet.rows))
    widths = [
        max([_columns(row[at]) for row in sheet.rows if len(row) > 1 and at < len(row)] or [0]) + 2
        for at in range(wide)
    ]
    lines = []
    for row in sheet.rows:
        if len(row) <= 1:
            lines.append("".join(row))
            continue
        lines.append(
            "".join(cell + " " * (widths[at] - _columns(cell)) for at, cell in enumerate(row)).rstrip()
        )
    return "\n".join(lines) + "\n"


def _columns(text: str) -> int:
    return sum(2 if ord(mark) > 0x2E80 else 1 for mark in text)


def _xlsx(sheets: list[_Sheet]) -> bytes:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(
        out,
        {
            "in_memory": True,
            "strings_to_numbers": False,
            "strings_to_formulas": False,
            "strings_to_urls": False,
        },
    )
    for sheet in sheets:
        page = book.add_worksheet(sheet.name)
        for at, row in enumerate(sheet.rows):
            for column, cell in enumerate(row):
                if cell.isdecimal() and cell.isascii() and len(cell) < 10:
                    page.write_number(at, column, int(cell))
                elif cell:
                    page.write_string(at, column, cell)
    book.close()
    return out.getvalue()
