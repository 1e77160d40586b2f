"""Tables of MIL-STD-105E (10 May 1989, public domain) for single sampling, arrows already followed.

The same letters and plans stand in ANSI/ASQ Z1.4 and ISO 2859-1. A cell names the letter whose sample is taken and
the number that is accepted; one more is refused. Table I, Table II-A (normal), Table II-B (tightened).
"""

from __future__ import annotations

__all__ = ["AQLS", "LETTERS", "LEVELS", "LOTS", "NORMAL", "SIZES", "TIGHTENED"]

#: Sample size of each letter; S is only reached by arrows of tightened inspection.
SIZES: dict[str, int] = {
    "A": 2, "B": 3, "C": 5, "D": 8, "E": 13, "F": 20, "G": 32, "H": 50, "J": 80, "K": 125, "L": 200, "M": 315,
    "N": 500, "P": 800, "Q": 1250, "R": 2000, "S": 3150,
}  # fmt: skip
LEVELS = ("S-1", "S-2", "S-3", "S-4", "I", "II", "III")
#: Largest lot of each row (None: any), and its letters by level.
LOTS: tuple[tuple[int | None, str], ...] = (
    (8, "AAAAAAB"),
    (15, "AAAAABC"),
    (25, "AABBBCD"),
    (50, "ABBCCDE"),
    (90, "BBCCCEF"),
    (150, "BBCDDFG"),
    (280, "BCDEEGH"),
    (500, "BCDEFHJ"),
    (1200, "CCEFGJK"),
    (3200, "CDEGHKL"),
    (10000, "CDFGJLM"),
    (35000, "CDFHKMN"),
    (150000, "DEGJLNP"),
    (500000, "DEGJMPQ"),
    (None, "DEHKNQR"),
)
#: Acceptance quality limits of the columns, in nonconforming units per hundred (above 10: defects per hundred).
AQLS: tuple[str, ...] = tuple(
    "0.010 0.015 0.025 0.040 0.065 0.10 0.15 0.25 0.40 0.65 1.0 1.5 2.5 4.0 6.5 10 15 25 40 65 100 150 250 400 650 1000".split()
)
LETTERS = "ABCDEFGHJKLMNPQR"

#: Table II-A: a row a letter, a cell an AQL.
NORMAL: dict[str, tuple[str, ...]] = {
    "A": tuple("Q0 P0 N0 M0 L0 K0 J0 H0 G0 F0 E0 D0 C0 B0 A0 C1 B1 A1 A2 A3 A5 A7 A10 A14 A21 A30".split()),
    "B": tuple("Q0 P0 N0 M0 L0 K0 J0 H0 G0 F0 E0 D0 C0 B0 A0 C1 B1 B2 B3 B5 B7 B10 B14 B21 B30 B44".split()),
    "C": tuple("Q0 P0 N0 M0 L0 K0 J0 H0 G0 F0 E0 D0 C0 B0 D1 C1 C2 C3 C5 C7 C10 C14 C21 C30 C44 B44".split()),
    "D": tuple(
        "Q0 P0 N0 M0 L0 K0 J0 H0 G0 F0 E0 D0 C0 E1 D1 D2 D3 D5 D7 D10 D14 D21 D30 D44 C44 B44".split()
    ),
    "E": tuple(
        "Q0 P0 N0 M0 L0 K0 J0 H0 G0 F0 E0 D0 F1 E1 E2 E3 E5 E7 E10 E14 E21 E30 E44 D44 C44 B44".split()
    ),
    "F": tuple(
        "Q0 P0 N0 M0 L0 K0 J0 H0 G0 F0 E0 G1 F1 F2 F3 F5 F7 F10 F14 F21 E21 E30 E44 D44 C44 B44".split()
    ),
    "G": tuple(
        "Q0 P0 N0 M0 L0 K0 J0 H0 G0 F0 H1 G1 G2 G3 G5 G7 G10 G14 G21 F21 E21 E30 E44 D44 C44 B44".split()
    ),
    "H": tuple(
        "Q0 P0 N0 M0 L0 K0 J0 H0 G0 J1 H1 H2 H3 H5 H7 H10 H14 H21 G21 F21 E21 E30 E44 D44 C44 B44".split()
    ),
    "J": tuple(
        "Q0 P0 N0 M0 L0 K0 J0 H0 K1 J1 J2 J3 J5 J7 J10 J14 J21 H21 G21 F21 E21 E30 E44 D44 C44 B44".split()
    ),
    "K": tuple(
        "Q0 P0 N0 M0 L0 K0 J0 L1 K1 K2 K3 K5 K7 K10 K14 K21 J21 H21 G21 F21 E21 E30 E44 D44 C44 B44".split()
    ),
    "L": tuple(
        "Q0 P0 N0 M0 L0 K0 M1 L1 L2 L3 L5 L7 L10 L14 L21 K21 J21 H21 G21 F21 E21 E30 E44 D44 C44 B44".split()
    ),
    "M": tuple(
        "Q0 P0 N0 M0 L0 N1 M1 M2 M3 M5 M7 M10 M14 M21 L21 K21 J21 H21 G21 F21 E21 E30 E44 D44 C44 B44".split()
    ),
    "N": tuple(
        "Q0 P0 N0 M0 P1 N1 N2 N3 N5 N7 N10 N14 N21 M21 L21 K21 J21 H21 G21 F21 E21 E30 E44 D44 C44 B44".split()
    ),
    "P": tuple(
        "Q0 P0 N0 Q1 P1 P2 P3 P5 P7 P10 P14 P21 N21 M21 L21 K21 J21 H21 G21 F21 E21 E30 E44 D44 C44 B44".split()
    ),
    "Q": tuple(
        "Q0 P0 R1 Q1 Q2 Q3 Q5 Q7 Q10 Q14 Q21 P21 N21 M21 L21 K21 J21 H21 G21 F21 E21 E30 E44 D44 C44 B44".split()
    ),
    "R": tuple(
        "Q0 P0 R1 R2 R3 R5 R7 R10 R14 R21 Q21 P21 N21 M21 L21 K21 J21 H21 G21 F21 E21 E30 E44 D44 C44 B44".split()
    ),
}

#: Table II-B: a row a letter, a cell an AQL.
TIGHTENED: dict[str, tuple[str, ...]] = {
    "A": tuple("R0 Q0 P0 N0 M0 L0 K0 J0 H0 G0 F0 E0 D0 C0 B0 D1 C1 B1 A1 A2 A3 A5 A8 A12 A18 A27".split()),
    "B": tuple("R0 Q0 P0 N0 M0 L0 K0 J0 H0 G0 F0 E0 D0 C0 B0 D1 C1 B1 B2 B3 B5 B8 B12 B18 B27 B41".split()),
    "C": tuple("R0 Q0 P0 N0 M0 L0 K0 J0 H0 G0 F0 E0 D0 C0 E1 D1 C1 C2 C3 C5 C8 C12 C18 C27 C41 B41".split()),
    "D": tuple("R0 Q0 P0 N0 M0 L0 K0 J0 H0 G0 F0 E0 D0 F1 E1 D1 D2 D3 D5 D8 D12 D18 D27 D41 C41 B41".split()),
    "E": tuple(
        "R0 Q0 P0 N0 M0 L0 K0 J0 H0 G0 F0 E0 G1 F1 E1 E2 E3 E5 E8 E12 E18 E27 E41 D41 C41 B41".split()
    ),
    "F": tuple(
        "R0 Q0 P0 N0 M0 L0 K0 J0 H0 G0 F0 H1 G1 F1 F2 F3 F5 F8 F12 F18 E18 E27 E41 D41 C41 B41".split()
    ),
    "G": tuple(
        "R0 Q0 P0 N0 M0 L0 K0 J0 H0 G0 J1 H1 G1 G2 G3 G5 G8 G12 G18 F18 E18 E27 E41 D41 C41 B41".split()
    ),
    "H": tuple(
        "R0 Q0 P0 N0 M0 L0 K0 J0 H0 K1 J1 H1 H2 H3 H5 H8 H12 H18 G18 F18 E18 E27 E41 D41 C41 B41".split()
    ),
    "J": tuple(
        "R0 Q0 P0 N0 M0 L0 K0 J0 L1 K1 J1 J2 J3 J5 J8 J12 J18 H18 G18 F18 E18 E27 E41 D41 C41 B41".split()
    ),
    "K": tuple(
        "R0 Q0 P0 N0 M0 L0 K0 M1 L1 K1 K2 K3 K5 K8 K12 K18 J18 H18 G18 F18 E18 E27 E41 D41 C41 B41".split()
    ),
    "L": tuple(
        "R0 Q0 P0 N0 M0 L0 N1 M1 L1 L2 L3 L5 L8 L12 L18 K18 J18 H18 G18 F18 E18 E27 E41 D41 C41 B41".split()
    ),
    "M": tuple(
        "R0 Q0 P0 N0 M0 P1 N1 M1 M2 M3 M5 M8 M12 M18 L18 K18 J18 H18 G18 F18 E18 E27 E41 D41 C41 B41".split()
    ),
    "N": tuple(
        "R0 Q0 P0 N0 Q1 P1 N1 N2 N3 N5 N8 N12 N18 M18 L18 K18 J18 H18 G18 F18 E18 E27 E41 D41 C41 B41".split()
    ),
    "P": tuple(
        "R0 Q0 P0 R1 Q1 P1 P2 P3 P5 P8 P12 P18 N18 M18 L18 K18 J18 H18 G18 F18 E18 E27 E41 D41 C41 B41".split()
    ),
    "Q": tuple(
        "R0 Q0 S1 R1 Q1 Q2 Q3 Q5 Q8 Q12 Q18 P18 N18 M18 L18 K18 J18 H18 G18 F18 E18 E27 E41 D41 C41 B41".split()
    ),
    "R": tuple(
        "R0 Q0 S1 R1 R2 R3 R5 R8 R12 R18 Q18 P18 N18 M18 L18 K18 J18 H18 G18 F18 E18 E27 E41 D41 C41 B41".split()
    ),
}
