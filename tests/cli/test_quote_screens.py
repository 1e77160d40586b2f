"""The screens of `quote` on the example, and what they must hold."""

from __future__ import annotations

import json

import pytest

from answers import EXAMPLE, answer, golden
from git_builders import ferrule

NORHOLT = "docs/quotes/norholt-2026-11-23.csv"
MIREFEN = "docs/quotes/mirefen-2026-11-24.csv"
PARTS = "C-100N-0603,U-MCU"


@pytest.mark.parametrize(
    ("name", "columns", "arguments"),
    [
        ("quote-pack-80.txt", 80, ("pack", "--for", "norholt", "--parts", PARTS, "--csv-only")),
        (
            "quote-pack-factory-120.txt",
            120,
            ("pack", "W20-220", "--for", "harbour", "--qty", "480,1000", "--csv-only"),
        ),
        ("quote-read-80.txt", 80, ("read", NORHOLT)),
        ("quote-read-120.txt", 120, ("read", MIREFEN)),
        ("quote-compare-80.txt", 80, ("compare", NORHOLT, MIREFEN)),
        ("quote-compare-120.txt", 120, ("compare", NORHOLT, MIREFEN)),
    ],
)
def test_screens(name: str, columns: int, arguments: tuple[str, ...], *, update: bool) -> None:
    golden(name, answer(columns, "quote", *arguments), update=update)


def test_sent_lists_what_was_disclosed() -> None:
    done = ferrule("quote", "sent", "norholt", "--format", "json", cwd=EXAMPLE)
    found = json.loads(done.stdout)
    assert [(row["sent"], row["to"], row["level"], row["lines"]) for row in found["sent"]] == [
        ("2026-11-18", "Norholt Components", "outline", 6)
    ]
    assert [len(row["sha256"]) for row in found["files"]] == [64]


def test_only_lines_priced_by_both_as_asked_are_compared() -> None:
    found = json.loads(answer(0, "quote", "compare", NORHOLT, MIREFEN, "--format", "json"))
    norholt, mirefen = found["basis"]
    # three lines at 2,000: (0.0066 + 0.0345 + 0.0182) USD at 1.08 to the EUR; 0.0071 + 0.0330 EUR + 0.0155 USD
    assert norholt["total_2000"] == "109.814814814815"
    assert mirefen["total_2000"] == "108.903703703704"
    assert (norholt["least_2000"], mirefen["least_2000"]) == ("", "least")
    whole = found["whole"]
    assert [(row["bound_10000"], row["holes_10000"], row["substitutes"]) for row in whole] == [
        ("at least", 1, 1),
        ("at least", 2, 0),
    ]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("pack", "--for", "norhold"), "no firm is called norhold\nhint: did you mean norholt?"),
        (("pack", "--for", "larkfield"), "larkfield may see nothing"),
        (("pack", "--for", "saltreed"), "no signed confidentiality agreement is on record"),
        (
            ("pack", "--for", "harbour"),
            "nothing says which assembly is meant\nhint: name one: W20-SET3, W20-SINGLE",
        ),
        (("pack", "--for", "norholt", "--parts", "C-100N"), "there is no part C-100N"),
        (
            ("pack", "W20-22", "--for", "harbour"),
            "no assembly has the number W20-22\nhint: did you mean W20-220?",
        ),
        (("pack", "--for", "norholt", "--qty", "0"), "'0' is no whole number above nought"),
        (("pack", "--for", "norholt", "--term", "FBO Halden"), "is no rule of Incoterms 2020"),
        (("read", "nothing.csv"), "nothing.csv cannot be read"),
        (("read", "docs/quotes/NH-26-1187.txt"), 'has no column headed "line id"'),
        (("read", NORHOLT, "--from", "mirefen"), "no line of it was ever sent out by us"),
        (("read", NORHOLT, "--write", "--at", "HEAD"), "--write changes the work tree"),
        (("sent", "nobody"), "no firm is called nobody"),
    ],
)
def test_what_cannot_be_is_said(arguments: tuple[str, ...], message: str) -> None:
    day = () if arguments[0] == "sent" else ("--today", "2026-11-25")
    done = ferrule("quote", *arguments, *day, cwd=EXAMPLE)
    assert done.returncode == 2
    assert message in done.stderr
