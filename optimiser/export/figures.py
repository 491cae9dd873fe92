"""Numbers with their digits, for the screen and the page."""

from __future__ import annotations

from fractions import Fraction

MINUS = "\N{MINUS SIGN}"


def fixed(value: Fraction | None, places: int = 3) -> str:
    """`12.500`, or a dash where there is no number."""
    if value is None:
        return "–"
    scaled = round(abs(value) * 10**places)
    whole, part = divmod(scaled, 10**places)
    text = f"{whole}.{part:0{places}d}" if places else str(whole)
    return f"{MINUS}{text}" if value < 0 and scaled else text


def short(value: Fraction | None, places: int = 3) -> str:
    """Like `fixed`, without trailing zeros."""
    text = fixed(value, places)
    return text.rstrip("0").rstrip(".") if "." in text else text


def spread_words(low: Fraction | None, high: Fraction | None, places: int = 3) -> str:
    """`44.6 to 51.07`; `9.95 and more` where the upper end cannot be told; nothing where both are one."""
    if low is None or low == high:
        return ""
    return (
        f"{short(low, places)} and more" if high is None else f"{short(low, places)} to {short(high, places)}"
    )


def signed(value: Fraction, places: int = 3) -> str:
    """`+1.200`, `−0.300`, or nothing for zero."""
    if not round(value * 10**places):
        return ""
    return f"+{fixed(value, places)}" if value > 0 else fixed(value, places)
