"""A substance as the law and the label count it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Substance:
    """Published constants of a substance, by INCI name.

    `molar_mass` in g/mol; `pka` the acid constants at 25 C, strongest acid first. `charge` is that of an acid
    with all its protons gone, of a base with all of them on, of a salt's own ion; `counter_ion` goes with it.
    `status` is that of the weakest part: seen, computed (from the formula) or memory.
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
