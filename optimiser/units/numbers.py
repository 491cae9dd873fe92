"""One reader for every number a person writes: exact, and asking where a mark can be read in two ways."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

DecimalMark = Literal["point", "comma"]
MARKS: dict[DecimalMark, str] = {"point": ".", "comma": ","}
WITH_MARK: dict[DecimalMark, str] = {mark: f"a number with the decimal {mark}" for mark in MARKS}
LONGEST = 40
HIGHEST_EXPONENT = 20
MINUS = str.maketrans({"\u2212": "-", "\ufe63": "-", "\uff0d": "-"})
SPACES = str.maketrans(dict.fromkeys("\u00a0\u2007\u2008\u2009\u200a\u202f", " "))

_SHAPE = re.compile(r"([+-]?)([0-9][0-9 .,]*|[.,][0-9]+)(?:[eE]([+-]?[0-9]{1,3}))?", re.ASCII)
_MONTH = r"(?:jan|feb|fév|mar|mär|mrz|apr|avr|ma[iy]|ju[nil]|aug|aoû|sep|o[ck]t|nov|de[cz]|déc)[^\W\d_]*\.?"
_DATE = re.compile(
    r"[0-9]{1,4}[-/.][0-9]{1,2}[-/.][0-9]{1,4}.*|[0-9]{1,2}/[0-9]{1,2}"
    rf"|[0-9]{{1,2}}[-/ .]+{_MONTH}(?:[-/ .]+[0-9]{{2,4}})?|{_MONTH}[-/ .]+[0-9]{{2,4}}",
    re.IGNORECASE,
)
_GROUPED = {mark: re.compile(rf"[0-9]{{1,3}}(?:{re.escape(mark)}[0-9]{{3}})+", re.ASCII) for mark in " .,"}


EXACT_PLACES = 24
"""Decimals up to which a value is written exactly."""


@dataclass(frozen=True, slots=True)
class NumberFault:
    """Why a text is no number: what was expected, and what to write instead."""

    text: str
    expected: str
    fix: str = ""


def tidy(text: str) -> str:
    """The text without outer blanks, every blank a plain one, every minus a hyphen."""
    return text.translate(SPACES).translate(MINUS).strip()


def read_number(text: str, *, decimal: DecimalMark = "point") -> Fraction | NumberFault:
    """The number exactly as written ("3.5", "−2", "1 250", "1e-3").

    Exactly three digits after the other mark ("1,000" where the point is the decimal mark), and a round
    thousand written with the decimal mark ("1.000" likewise), are asked about and never guessed.
    """
    plain = tidy(text)
    if not plain:
        return NumberFault(text, "a number", "fill it in")
    if len(plain) > LONGEST:
        return NumberFault(f"{plain[:LONGEST]}…", f"a number of at most {LONGEST} characters")
    shape = _SHAPE.fullmatch(plain)
    if shape is None or (_DATE.fullmatch(plain) and not _groups(plain)):
        return NumberFault(text, "a number", _hint(plain, decimal))
    digits = _digits(shape[2], decimal)
    if isinstance(digits, NumberFault):
        return NumberFault(text, digits.expected, digits.fix)
    exponent = int(shape[3] or 0)
    if abs(exponent) > HIGHEST_EXPONENT:
        return NumberFault(text, "a number of everyday size", "write it out")
    number = Fraction(digits) * Fraction(10) ** exponent if exponent else Fraction(digits)
    return -number if shape[1] == "-" else number


def date_fault(text: str) -> NumberFault | None:
    """Why a text that is a date is no number; None where it is none."""
    plain = tidy(text[: LONGEST + 1])
    if _DATE.fullmatch(plain) and not _groups(plain):
        return NumberFault(text, "a number", _hint(plain, "point"))
    return None


def _groups(plain: str) -> bool:
    return any(pattern.fullmatch(plain.lstrip("+-")) for pattern in _GROUPED.values())


def _hint(plain: str, decimal: DecimalMark) -> str:
    if _DATE.fullmatch(plain):
        return (
            "a spreadsheet may have turned the number into a date: set the column to text and type it again"
        )
    mark = MARKS[decimal]
    return f"write digits with {mark!r} as the decimal mark, such as 3{mark}5"


def _digits(body: str, decimal: DecimalMark) -> str | NumberFault:
    """Digits with a point, or why the marks cannot be read."""
    mark = MARKS[decimal]
    other = "," if mark == "." else "."
    whole, found, rest = body.partition(mark)
    if not found and body.count(other) == 1 and " " not in body:
        return _only_other(body, other, decimal)
    if found and other in rest and mark not in rest:
        return NumberFault(
            body,
            WITH_MARK[decimal],
            f"write {body.replace(mark, '').replace(other, mark)}",
        )
    if mark in rest:
        return NumberFault(
            body, f"one decimal mark {mark!r}", f"write {body.replace(mark, '').replace(other, mark)}"
        )
    if found and (not rest.isdigit() or not rest):
        return NumberFault(body, f"digits after the {mark!r}", "write the decimals out")
    if found and rest == "000" and 1 <= len(whole) <= 3 and whole.isdigit() and not whole.startswith("0"):
        return _ask(body, whole, rest, mark)
    plain_whole = _without_groups(whole, other)
    if plain_whole is None:
        return NumberFault(
            body, "a number", f"write it without separators, with {mark!r} as the decimal mark"
        )
    return f"{plain_whole or '0'}.{rest}" if found else plain_whole


def _only_other(body: str, other: str, decimal: DecimalMark) -> NumberFault:
    mark = MARKS[decimal]
    whole, _, rest = body.partition(other)
    if len(rest) == 3 and rest.isdigit() and 1 <= len(whole) <= 3 and not whole.startswith("0"):
        return _ask(body, whole, rest, mark)
    return NumberFault(body, WITH_MARK[decimal], f"write {body.replace(other, mark)}")


def _ask(body: str, whole: str, rest: str, mark: str) -> NumberFault:
    decimals = rest.rstrip("0")
    small = f"{whole}{mark}{decimals}" if decimals else whole
    return NumberFault(body, "a number that reads one way only", f"write {small} or {whole}{rest}")


def _without_groups(whole: str, other: str) -> str | None:
    if whole.isdigit() or not whole:
        return whole
    for separator in (" ", other):
        if separator in whole:
            return whole.replace(separator, "") if _GROUPED[separator].fullmatch(whole) else None
    return None


def show_number(
    value: Fraction, places: int = 3, *, decimal: DecimalMark = "point", trim: bool = True
) -> str:
    """The number rounded half to even to `places` decimals, without needless zeros where `trim`."""
    scaled, left = divmod(abs(value.numerator) * 10**places, value.denominator)
    if 2 * left > value.denominator or (2 * left == value.denominator and scaled % 2):
        scaled += 1
    text = str(scaled).rjust(places + 1, "0")
    whole, rest = (text[:-places], text[-places:]) if places else (text, "")
    rest = rest.rstrip("0") if trim else rest
    sign = "-" if value < 0 and scaled else ""
    return f"{sign}{whole}{MARKS[decimal]}{rest}" if rest else f"{sign}{whole}"


def places_of(value: Fraction) -> int | None:
    """Decimals needed to write the value exactly; None when more than 24."""
    scaled = value
    for places in range(EXACT_PLACES + 1):
        if scaled.denominator == 1:
            return places
        scaled *= 10
    return None
