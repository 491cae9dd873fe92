"""Text and numbers made fit to leave the program."""

from __future__ import annotations

import unicodedata
from fractions import Fraction

from optimiser.units.numbers import places_of

HIDDEN = {"Cc", "Cf", "Cs", "Co", "Cn"}
BLANKS = {"Zl", "Zp", "Zs"}
ROUNDED_PLACES = 12
DIGITS = {
    "ml": 0,
    "pH": 2,
    "HLB": 1,
    "least free doses": 2,
    "g/g": 2,
    "Pa.s": 1,
    "g/ml": 2,
    "of 10": 1,
    "°C": 1,
    "mmol/kg per pH": 1,
}
DIGITS_BY_NAME = {
    "cost": 2,
    "natural origin": 1,
    "free liquid, predicted": 1,
    "powder volume, predicted": 1,
    "undissolved, predicted": 2,
    "listed allergens that the label names, predicted": 0,
}


def clean(text: str) -> str:
    """One line of visible text: no control, direction or other invisible characters, single blanks."""
    marks = (
        " " if mark in "\t\n\r\v\f\x85" or unicodedata.category(mark) in BLANKS else mark for mark in text
    )
    return " ".join("".join(mark for mark in marks if unicodedata.category(mark) not in HIDDEN).split())


def decimal_text(value: Fraction) -> str:
    """The exact decimal where there is one of at most 24 places, else rounded half to even to 12."""
    places = places_of(value)
    scaled = round(abs(value) * 10 ** (ROUNDED_PLACES if places is None else places))
    used = ROUNDED_PLACES if places is None else places
    digits = str(scaled).rjust(used + 1, "0")
    text = f"{digits[:-used]}.{digits[-used:]}".rstrip("0").rstrip(".") if used else digits
    return f"-{text}" if value < 0 and scaled else text


def quantity(value: Fraction | None, unit: str) -> dict[str, str] | None:
    """`{"value": "12.5", "unit": "%"}`; a value without an exact decimal brings its `fraction` too."""
    if value is None:
        return None
    found = {"value": decimal_text(value), "unit": unit}
    if places_of(value) is None:
        found["fraction"] = f"{value.numerator}/{value.denominator}"
    return found


def digits_of(name: str, unit: str) -> int:
    """Decimals that mean something for a measure of this name and unit."""
    return DIGITS_BY_NAME.get(name, DIGITS.get(unit, 3))
