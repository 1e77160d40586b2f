"""Small sheets, each with one kind of mess as people make it, and what a reader would count in it."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from msgspec import Struct

from ferrule.exchange.recognise import recognise
from ferrule.exchange.recognised import Recognised


class Mess(Struct, frozen=True, kw_only=True):
    name: str
    text: str
    lines: int
    quantity: str
    differ: int = 0
    not_fitted: int = 0
    sources: int = 0
    assemblies: int = 0
    left_out: int = 0
    kinds: str = ""  # kinds of the rows set aside, in order
    cost: str = ""


MESSES = [
    Mess(
        name="grouped headings over two rows",
        text="""Part,,Supplier 1,,Supplier 2,,Qty
No.,Description,Name,Order no.,Name,Order no.,
1001,Bracket,Harbour,H-22,Mill,M-9,2
1002,Plate,Harbour,H-23,,,4
""",
        lines=2, quantity="6",
    ),
    Mess(
        name="several makers a row and continuation rows",
        text="""Item;Qty;RefDes;Description;Manufacturer;MPN
1;2;R1,R2;Resistor 10k;Ashfield;AF-103
;;;;Korvel;KV-1003
2;1;C1;Capacitor;Ashfield;AF-104
;;;;Korvel;KV-1004
;;;;Tarn;TN-9
3;1;U1;Controller;Tarn;TX100
""",
        lines=3, quantity="4", sources=3, kinds="source source source",
    ),
    Mess(
        name="a section says do not populate",
        text="""Reference,Qty,Value
R1 R2,2,10k
C1,1,100n
DO NOT POPULATE,,
R3,1,0R
C9 C10,2,22p
""",
        lines=4, quantity="6", not_fitted=2, kinds="section",
    ),
    Mess(
        name="fitted column with yes and no",
        text="""Designator,Quantity,Comment,Fitted
R1,1,10k,Yes
R2,1,10k,No
C1,1,1u,yes
""",
        lines=3, quantity="3", not_fitted=1,
    ),
    Mess(
        name="units in the cell, as needed, and fillers",
        text="""Qty,Part,Supplier
2x,M3 nut,Mill
10 cm,heat shrink,n/a
1 set,feet,generic
as needed,thread lock,-
4 pcs,washer,Mill
~,label,
""",
        lines=6, quantity="6", left_out=2,
    ),
    Mess(
        name="decimal commas, pack prices and a thousand point",
        text="""Menge;Bezeichnung;Preis/100;Gesamt
100;Mutter M3;2,50 €;2,50 €
8;Motor;1.250,00 €;100,00 €
0,5;Platte;300,00 €;1,50 €
;;Summe;104,00 €
""",
        # 100 x 0.025 + 8 x 12.50 + 0.5 x 3 = 2.50 + 100 + 1.50
        lines=3, quantity="108.5", cost="104", kinds="total",
    ),
    Mess(
        name="no headings at all",
        text="""R1,R2|2|10k|0603
R3|1|1k|0603
C1 C2 C3|3|100n|0402
U1|1|AX33|SOT-23
""",
        lines=4, quantity="7",
    ),
    Mess(
        name="a table in bars with a rule below the headings",
        text="""# Parts

| Part | Quantity | Notes |
|------|---------:|-------|
| Motor | 2 | with cable |
| Belt GT2 | 1 | 6 mm |
| Screw M3 | 12 | |
""",
        lines=3, quantity="15",
    ),
    Mess(
        name="shopping list with totals and shipping",
        text="""Item,Unit price,How many,Price
Motor,$12.50,2,$25.00
Belt,$4.00,1,$4.00
Shipping,,,$6.00
Total,,,$35.00
""",
        lines=2, quantity="3", cost="29", kinds="total total",
    ),
    Mess(
        name="designators overflow to the next row",
        text="""Qty,Designators,Value
6,"R1, R2, R3,",10k
,"R4, R5, R6",
1,C1,1u
""",
        lines=2, quantity="7", kinds="more",
    ),
    Mess(
        name="level column with dots",
        text="""Level,Part number,Description,Qty
.1,A-100,Frame,1
..2,P-1,Beam,2
..2,A-110,Foot,4
...3,P-2,Pad,1
.1,P-9,Cover,1
""",
        lines=5, quantity="9", assemblies=2,
    ),
    Mess(
        name="dotted numbers with heading rows of assemblies without quantity",
        text="""Pos;Teil;Anzahl;Hersteller
1;Rahmen;;
1.1;Profil 20x20;4;Korvel
1.2;Winkel;8;Korvel
2;Elektronik;;
2.1;Netzteil;1;Tarn
2.2;Kabel;3;Tarn
""",
        lines=6, quantity="16", assemblies=2,
    ),
    Mess(
        name="empty numbered rows at the end",
        text="""No,Part,Qty
1,Motor,2
2,Belt,1
3,,
4,,
""",
        lines=2, quantity="3", kinds="note note",
    ),
    Mess(
        name="quantity in front of the name",
        text="""Parts needed
4x M3 screw
2x bracket
1x motor 12 V
""",
        lines=3, quantity="7",
    ),
    Mess(
        name="quantities of one and of a batch",
        text="""Ref,Qty,Qty for 100,Value
R1-R4,4,400,10k
C1;C2,2,200,1u
U1,1,100,AX
""",
        lines=3, quantity="7",
    ),
    Mess(
        name="properties below the list",
        text="""Designator,Qty,Value
R1,1,10k
R2,1,1k
C5,1,1u

Approved by:,M. Tarn
Date:,2026-01-01
""",
        lines=3, quantity="3", kinds="note note",
    ),
    Mess(
        name="Japanese, a maker's number and a total",
        text="""部品表
番号,品名,型番,メーカー,員数,備考
1,抵抗器,AF-103,アシュ,4,
2,コンデンサ,KV-22,コル,2,未実装
3,ネジ,,不明,10,
,合計,,,16,
""",
        lines=3, quantity="16", not_fitted=1, kinds="above total",
    ),
    Mess(
        name="a separator told in the first line",
        text="""sep=;
Teil;Menge
Motor, klein;2
Riemen;1
""",
        lines=2, quantity="3",
    ),
    Mess(
        name="two tables side by side",
        text="""Top side,,,,Bottom side,,
Ref,Qty,Value,,Ref,Qty,Value
R1,1,10k,,R9,1,1k
R2,1,10k,,C9 C8,2,1u
C1,1,1n,,,,
""",
        lines=5, quantity="6",
    ),
    Mess(
        name="two tables with different headings, one below the other",
        text="""Electronics
Designator,Qty,Value,MPN
R1 R2,2,10k,AF-1
U1,1,AX,TX-1

Mechanics
Part,Quantity,Material,Supplier
Plate,2,steel,Mill
Screw M3x8,12,,Mill
""",
        lines=4, quantity="17",
    ),
    Mess(
        name="inch marks that look like quotation marks",
        text="""Part,Qty,Length
Bolt 1/4" x 20,4,3"
"Rod 3/8"" threaded",2,12"
Nut 1/4",6,
""",
        lines=3, quantity="12",
    ),
    Mess(
        name="ranges by words and dots",
        text="""RefDes,Qty,Val
R1 to R4,4,1k
C1..C3,3,1u
D1-3,3,LED
Q1 & Q2,2,NPN
""",
        lines=4, quantity="12",
    ),
    Mess(
        name="alternate rows marked as such",
        text="""Item,Part Number,Description,Qty,Manufacturer
1,P-1,Cell,2,Ashfield
Alt,P-1B,Cell,2,Korvel
2,P-2,Lid,1,Mill
""",
        lines=2, quantity="3", sources=1, kinds="source",
    ),
    Mess(
        name="a count of parts in the preamble and in a total row",
        text="""Project,Weather station
Total parts:,5

Ref,Qnty,Value
R1 R2 R3,3,10k
C1 C2,2,1u
Total,5,
""",
        lines=2, quantity="5", kinds="above above total",
    ),
    Mess(
        name="only links and names",
        text="""Name,Link
Motor,https://parts.example.invalid/motor
Belt,https://parts.example.invalid/belt
""",
        lines=2, quantity="0",
    ),
    Mess(
        name="misspelt headings",
        text="""Qauntity,Descripton,Manufaturer,Suplier
2,Beam,Korvel,Mill
3,Foot,Korvel,Mill
""",
        lines=2, quantity="5",
    ),
]  # fmt: skip


def _found(text: str) -> Recognised:
    return recognise(text.encode(), "mess.csv")


@pytest.mark.parametrize("mess", MESSES, ids=lambda mess: mess.name)
def test_mess_is_read_as_a_reader_would(mess: Mess) -> None:
    found = _found(mess.text)
    counts = found.counts
    assert (counts.lines, counts.quantity) == (mess.lines, Decimal(mess.quantity))
    assert (len(counts.differ), counts.not_fitted, counts.sources) == (
        mess.differ,
        mess.not_fitted,
        mess.sources,
    )
    assert (counts.assemblies, len(counts.left_out)) == (mess.assemblies, mess.left_out)
    if mess.kinds:
        assert " ".join(row.kind for row in found.aside) == mess.kinds
    if mess.cost:
        assert [cost.by_price for cost in counts.costs] == [Fraction(mess.cost)]


def test_a_further_column_of_quantities_is_said() -> None:
    found = _found("Designator,Value,Qty Variant A,Qty Variant B\nR1 R2,10k,2,2\nC1,1u,1,0\nU1,AX,0,1\n")
    assert found.counts.quantity == 3
    assert any("Qty Variant B" in doubt.what and doubt.column == "D" for doubt in found.doubts)


def test_two_lists_of_the_same_places_are_said() -> None:
    found = _found(
        "Ref,Qty,Value\nR1,1,1k\nR2,1,1k\nC1,1,1u\n\nGrouped\nRef,Qty,Value\nR1 R2,2,1k\nC1,1,1u\n"
    )
    assert found.counts.repeated_places == ("C1", "R1", "R2")
    assert any("stand twice" in doubt.what for doubt in found.doubts)


def test_steps_of_names_are_levels_and_price_columns_are_breaks() -> None:
    text = "Level 0,Level 1,Level 2,Qty,Price @1,Price @100\nRobot,,,1,,\n,Arm,,2,,\n,,Beam,1,8.00,7.00\n,Base,,1,3,2.50\n"
    found = _found(text)
    assert [(line.name, line.parent) for line in found.lines] == [
        ("Robot", None),
        ("Arm", 0),
        ("Beam", 1),
        ("Base", 0),
    ]
    breaks = found.lines[2].supplies[0].breaks
    assert [(price.least, price.amount) for price in breaks] == [
        (Decimal(1), Decimal("8.00")),
        (Decimal(100), Decimal("7.00")),
    ]
