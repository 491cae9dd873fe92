"""What an emulsion is made of: its oil phase, its emulsifiers, and the HLB of each."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from optimiser.checks.amounts import Amounts
from optimiser.domain.ingredient import Ingredient
from optimiser.science.constants import OILS, reading
from optimiser.science.emulsion import MODEL, PLANT_OIL_BAND, mean

NONIONIC = "emulsifier-nonionic"
STABILISER = "fatty-alcohol"
SCENT = "scent"
PLANT_OILS = frozenset({"oil", "butter"})
End = Literal["low", "value", "high"]


@dataclass(frozen=True, slots=True)
class Hlb:
    """HLB at the middle of the data, and at the ends that data and model leave open."""

    value: Fraction
    low: Fraction
    high: Fraction


@dataclass(frozen=True, slots=True)
class Emulsion:
    """Shares in % w/w. `demand` and `blend` are None where `untold` says why, in whole sentences."""

    oils: Fraction
    emulsifiers: Fraction
    demand: Hlb | None
    blend: Hlb | None
    stabilisers: tuple[str, ...]
    untold: tuple[str, ...]


Lines = list[tuple[Fraction, Ingredient]]
"""Shares in % w/w."""


def parts_of(amounts: Amounts) -> tuple[Lines, Lines] | None:
    """(oils, emulsifiers); None where there is no water, no oil besides scents, or no emulsifier."""
    lines = [(share, amounts.ingredients[slot.ingredient]) for slot, share in amounts.lines]
    oils = [(share, one) for share, one in lines if one.group in OILS and not _emulsifies(one)]
    emulsifiers = [(share, one) for share, one in lines if _emulsifies(one)]
    watery = any(one.group == "water" for _, one in lines)
    if not watery or not emulsifiers or all(one.group == SCENT for _, one in oils):
        return None
    return oils, emulsifiers


def emulsion_of(amounts: Amounts) -> Emulsion | None:
    """None where there is no water, no oil besides scents, or no emulsifier."""
    parts = parts_of(amounts)
    if parts is None:
        return None
    oils, emulsifiers = parts
    demand, lack = _hlb(oils, "hlb_needed")
    blend, alien = _blend(emulsifiers)
    return Emulsion(
        sum((share for share, _ in oils), Fraction(0)),
        sum((share for share, _ in emulsifiers), Fraction(0)),
        demand,
        blend,
        tuple(dict.fromkeys(one.name for _, one in oils if one.group == STABILISER)),
        tuple(filter(None, (lack, alien))),
    )


def _emulsifies(one: Ingredient) -> bool:
    return one.group == "emulsifier" or (one.group == "conditioner" and "emulsifying" in one.roles)


def _blend(emulsifiers: Lines) -> tuple[Hlb | None, str]:
    charged = [one.name for _, one in emulsifiers if one.kind != NONIONIC]
    if charged:
        what = ", ".join(dict.fromkeys(charged))
        return None, f"HLB of the emulsifiers: not reckoned, it says little of charged ones ({what})."
    return _hlb(emulsifiers, "hlb")


def _hlb(lines: Lines, figure: str) -> tuple[Hlb | None, str]:
    lacking = [one.name for _, one in lines if one.figure(figure) is None]
    if lacking:
        what = "HLB that the oils ask for" if figure == "hlb_needed" else "HLB of the emulsifiers"
        return None, f"{what}: not known of {', '.join(dict.fromkeys(lacking))}."
    band = PLANT_OIL_BAND if any(one.group in PLANT_OILS for _, one in lines) else MODEL.band
    value, low, high = (_mean(lines, figure, end) for end in _ENDS)
    return Hlb(value, min(low, band.around(value)[0]), max(high, band.around(value)[1])), ""


_ENDS: tuple[End, ...] = ("value", "low", "high")


def _mean(lines: Lines, figure: str, end: End) -> Fraction:
    return mean((share, reading(one, figure, end) or Fraction(0)) for share, one in lines) or Fraction(0)
