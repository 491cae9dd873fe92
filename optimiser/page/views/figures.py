"""Numbers and thin bars, in the worktable's decimal mark."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from optimiser.units.numbers import DecimalMark, show_number

DASH = "–"
MINUS = "\N{MINUS SIGN}"
ROOM = Fraction(3, 20)
"""Room left and right of what a bar shows, as a part of it."""
Limit = Fraction | None


@dataclass(frozen=True, slots=True)
class Figures:
    """How numbers are written in this folder."""

    decimal: DecimalMark = "point"

    def fixed(self, value: Limit, places: int = 3) -> str:
        return DASH if value is None else _minus(show_number(value, places, decimal=self.decimal, trim=False))

    def short(self, value: Limit, places: int = 3) -> str:
        return DASH if value is None else _minus(show_number(value, places, decimal=self.decimal, trim=True))

    def signed(self, value: Fraction, places: int = 3) -> str:
        text = self.fixed(value, places)
        return f"+{text}" if value > 0 else text

    def field(self, value: Limit) -> str:
        """For a text field: empty where a side is open."""
        return "" if value is None else show_number(value, 4, decimal=self.decimal, trim=True)


def _minus(text: str) -> str:
    return text.replace("-", MINUS)


@dataclass(frozen=True, slots=True)
class Bar:
    """Places on a bar 100 wide: what is allowed, where the value stands, where it may stand at worst."""

    start: str
    width: str
    at: str
    worst_start: str = ""
    worst_width: str = ""


def bar_of(
    low: Limit, high: Limit, value: Limit, worst: tuple[Fraction, Fraction] | None = None
) -> Bar | None:
    """None where there is no limit or no value to show."""
    if value is None or (low is None and high is None):
        return None
    shown = [one for one in (low, high, value, *(worst or ())) if one is not None]
    least, most = min(shown), max(shown)
    if low is None:
        least = min(least, Fraction(0))
    room = float((most - least) * ROOM or abs(most) * ROOM or 1)
    begin, wide = float(least) - room, float(most - least) + 2 * room

    def place(one: Fraction) -> float:
        return (float(one) - begin) / wide * 100

    start, end = (0.0 if low is None else place(low)), (100.0 if high is None else place(high))
    shade = (f"{place(worst[0]):.1f}", f"{place(worst[1]) - place(worst[0]):.1f}") if worst else ("", "")
    return Bar(f"{start:.1f}", f"{max(end - start, 0.8):.1f}", f"{place(value):.1f}", *shade)
