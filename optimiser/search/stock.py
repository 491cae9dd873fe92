"""Which lots a batch takes: the first to expire is the first to be used."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from optimiser.domain.worktable import Lot

ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class Taken:
    """Grams taken from one lot."""

    lot: Lot
    grams: Fraction


@dataclass(frozen=True, slots=True)
class Drawn:
    """Per ingredient what is taken from which lot, and what is missing, in grams."""

    taken: Mapping[str, tuple[Taken, ...]]
    missing: Mapping[str, Fraction]

    @property
    def first_to_expire(self) -> Lot | None:
        """Of the lots taken, the one that expires first; None where no date is known."""
        dated = [one.lot for lots in self.taken.values() for one in lots if one.lot.expires is not None]
        return min(dated, key=lambda lot: (lot.expires or date.max, lot.ingredient, lot.lot), default=None)


def in_date(lots: Iterable[Lot], day: date) -> tuple[Lot, ...]:
    """Lots that may be used on that day, in the order they are used: first to expire, then longest open."""
    usable = (lot for lot in lots if lot.expires is None or lot.expires >= day)
    return tuple(sorted(usable, key=_turn))


def _turn(lot: Lot) -> tuple[date, date, str, str]:
    return lot.expires or date.max, lot.opened or date.max, lot.ingredient, lot.lot


def draw(lots: Iterable[Lot], needed: Mapping[str, Fraction], day: date) -> Drawn:
    """Takes `needed` (grams by ingredient) from lots in date on `day`."""
    usable = in_date(lots, day)
    taken: dict[str, tuple[Taken, ...]] = {}
    missing: dict[str, Fraction] = {}
    for name, grams in sorted(needed.items()):
        left, own = grams, []
        for lot in (lot for lot in usable if lot.ingredient == name and lot.grams > 0):
            if left <= 0:
                break
            part = min(left, lot.grams)
            own.append(Taken(lot, part))
            left -= part
        taken[name] = tuple(own)
        if left > 0:
            missing[name] = left
    return Drawn(taken, missing)
