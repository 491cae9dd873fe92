"""A substance as the law and the label count it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Substance:
    """Published constants of a substance, by INCI name.

    `molar_mass` in g/mol; `pka` the acid constants at 25 C, strongest acid first (for a base those of its
    protonated form); `charge` the charge of the form named when fully dissociated, `counter_ion` what
    goes with it.
    """

    name: str
    cas: str
    formula: str
    molar_mass: Fraction | None
    pka: tuple[Fraction, ...]
    charge: int | None
    counter_ion: str
    source: str
    status: str
