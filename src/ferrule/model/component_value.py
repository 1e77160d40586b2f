"""Values of resistors, capacitors and inductors as parts lists write them, and whether they are preferred ones.

IEC 60062:2016 puts the multiplier where the point would be (4K7, R47, 3n3); written out they have a point, a prefix
and perhaps a unit (4.7 kOhm, 100 nF). IEC 60063:2015 has the preferred values of a decade: E24 with two figures,
E192 (which holds E48 and E96) with three, 100 times 10^(k/192) rounded, but for 920 where rounding gives 919.
"""

from __future__ import annotations

import re
from fractions import Fraction

__all__ = ["E24", "E192", "component_value", "is_preferred"]

#: Written letter → factor. K and k are both thousand; m is a thousandth, M a million.
_FACTORS = {
    "R": Fraction(1), "r": Fraction(1), "K": Fraction(10**3), "k": Fraction(10**3), "M": Fraction(10**6),
    "G": Fraction(10**9), "T": Fraction(10**12), "m": Fraction(1, 10**3), "u": Fraction(1, 10**6),
    "n": Fraction(1, 10**9), "p": Fraction(1, 10**12), "F": Fraction(1), "": Fraction(1),
}  # fmt: skip
_CODE = re.compile(r"(?P<front>[0-9]{0,6})(?P<letter>[RrKkMGTmunpF])(?P<behind>[0-9]{0,4})")
_PLAIN = re.compile(
    r"(?P<number>[0-9]{1,9}(?:[.,][0-9]{1,9})?) ?(?P<letter>[kKMGTmunp]?)(?P<unit>ohms?|R|F|H|\u03a9)?"
)

E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)


def _e192() -> tuple[int, ...]:
    """Return the series by its rule: the nearest whole number to 100 times 10^(k/192), found without rounding errors."""
    found = []
    for k in range(192):
        number = 100
        # (2 n + 1) / 200 is the middle between two candidates; its 192nd power is compared with 10^k.
        while (2 * number + 1) ** 192 <= 200**192 * 10**k:
            number += 1
        found.append(920 if number == 919 else number)
    return tuple(found)


E192 = _e192()
_THREE = frozenset(E192) | {10 * number for number in E24}


def component_value(written: str) -> Fraction | None:
    """Return a value in ohms, farads or henries; None where it is no value of either form.

    Units are not told apart: ``100n`` is farads on a capacitor and henries on a coil.
    """
    text = written.strip().replace("\u00b5", "u").replace("\u03bc", "u").replace("\u2126", "\u03a9")
    found = _CODE.fullmatch(text)
    if found is not None and (found["front"] or found["behind"]):
        number = Fraction(f"{found['front'] or '0'}.{found['behind'] or '0'}")
        return number * _FACTORS[found["letter"]]
    found = _PLAIN.fullmatch(text)
    if found is None:
        return None
    return Fraction(found["number"].replace(",", ".")) * _FACTORS[found["letter"]]


def is_preferred(value: Fraction, *, fine: bool) -> bool:
    """Return whether a value is in E24 or, where ``fine``, in E192, in any decade. Nought is a link, and is."""
    if not value:
        return True
    while value >= 1000:
        value /= 10
    while value < 100:
        value *= 10
    return value.denominator == 1 and int(value) in (_THREE if fine else {10 * number for number in E24})
