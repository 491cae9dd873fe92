"""What the names and counter ions of salts say: which acid a salt is of, and what it brings besides.

Names follow the rule "Cation X-ate" for the salt of "X-ic Acid"; what departs from it is listed. Strong
electrolytes are those whose ions neither give nor take protons between pH 2 and 10.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.substance import Substance

SODIUM, POTASSIUM, HYDROGEN = Fraction("22.990"), Fraction("39.098"), Fraction("1.008")
"""Abridged standard atomic weights (IUPAC commission), g/mol."""
CATIONS = {"Na+": 1, "K+": 1, "Ca2+": 2, "Mg2+": 2}
BASES = {"triethanolammonium": "triethanolamine"}
"""Counter ions that are bases with a proton on, by the base."""
HYDROXIDE = "OH-"

STRONG: Mapping[str, tuple[Fraction, tuple[tuple[str, int, int], ...]]] = {
    "sodium chloride": (Fraction("58.443"), (("Na+", 1, 1), ("Cl-", -1, 1))),
    "maris sal": (Fraction("58.443"), (("Na+", 1, 1), ("Cl-", -1, 1))),
    "potassium chloride": (Fraction("74.551"), (("K+", 1, 1), ("Cl-", -1, 1))),
    "sodium sulfate": (Fraction("142.036"), (("Na+", 1, 2), ("SO4 2-", -2, 1))),
    "magnesium sulfate": (Fraction("120.361"), (("Mg2+", 2, 1), ("SO4 2-", -2, 1))),
    "magnesium chloride": (Fraction("95.205"), (("Mg2+", 2, 1), ("Cl-", -1, 2))),
    "magnesium nitrate": (Fraction("148.313"), (("Mg2+", 2, 1), ("NO3-", -1, 2))),
}
"""Molar mass (g/mol, from the formula without water: the most ions a gram can give) and ions per formula."""

ODD_ANIONS = {
    "anisate": "p-anisic acid",
    "bicarbonate": "carbonic acid",
    "borate": "boric acid",
    "phosphate": "phosphoric acid",
}
ACIDS_IN_ONE_ANION = {"borate": 4}
"""B4O7 2- takes up water and gives four boric acids."""

TURNING = {"gluconolactone": "gluconic acid"}
"""Listed as neutral, yet water turns it into this acid over hours, mole for mole (common practice)."""


@dataclass(frozen=True, slots=True)
class Apparent:
    """An acid on a chain: one constant stands for many and may be `off` by so much pH.

    What it holds of acid is `least` to `most` of the middle.
    """

    off: Fraction
    least: Fraction
    most: Fraction


APPARENT = {"carbomer": Apparent(Fraction(1), Fraction("0.862"), Fraction("1.128"))}
"""Carbomer: 52 to 68 % carboxyl (published: its monograph), middle 60.3 %. Its apparent constant drifts from
about 5 where little is neutralised to 7 where most is: common practice, wide on purpose."""

SOAP = "it is or holds soap, whose fatty acid leaves the water as the pH falls: that is not predicted"
FATS = (
    "caprylate", "caprate", "laurate", "myristate", "palmitate", "stearate", "oleate", "linoleate",
    "isostearate", "behenate", "cocoate", "palmate", "palm kernelate", "olivate", "tallowate", "castorate",
    "shea butterate", "cocoa butterate", "sunflowerseedate", "babassuate", "hydrogenated tallowate",
)  # fmt: skip
"""Anions of the salts that are soaps, by the names labels use."""

_SALT = re.compile(
    r"(?:(?:mono|di|tri|tetra)?(sodium|potassium)|calcium|magnesium|tea-)\s*(\S+)", re.IGNORECASE
)
_OF_CATION = re.compile(
    r"(?:(?:mono|di|tri)?(?:sodium|potassium|ammonium|lithium)\s+|tea-)(.+)", re.IGNORECASE
)
_ACTS = re.compile(
    r"\b(?:mono|di|tri|tetra|penta)?(?:sodium|potassium|calcium|magnesium|zinc|ammonium|lithium|aluminum)\b"
    r"|\btea-|acid\b|hydroxide|\bcarbonate|\boxide|amine\b|carbomer|acrylates?\b|lysine|histidine|\bzn\b",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class SaltOf:
    """A salt as the acid it is of: per formula `acids` of it and `cations` of charge `cation_charge`."""

    acid: Substance
    molar_mass: Fraction
    acids: int
    cation: str
    cation_charge: int
    cations: int


def is_soap(name: str) -> bool:
    """Whether a name is that of a salt of fatty acids, "Sodium Palmate" or "Potassium Olivate"."""
    found = _OF_CATION.fullmatch(name.strip())
    return found is not None and found[1].casefold() in FATS


def holds_soap(name: str) -> bool:
    """A soap, or an emulsifier sold with some in it: "Glyceryl Stearate SE"."""
    return is_soap(name) or name.strip().casefold().endswith(" se")


def may_act(name: str) -> bool:
    """Whether a name no table lists sounds like an acid, a base or a salt."""
    return bool(_ACTS.search(name))


def acid_of(name: str, substances: Mapping[str, Substance]) -> Substance | None:
    """The listed acid that "Cation X-ate" is a salt of; `substances` by name in lower case."""
    anion = _anion(name)
    if not anion:
        return None
    found = substances.get(ODD_ANIONS.get(anion) or anion.removesuffix("ate") + "ic acid")
    return found if found is not None and found.pka and found.charge is not None else None


def listed_salt(substance: Substance, substances: Mapping[str, Substance]) -> SaltOf | None:
    """A listed salt of a listed acid: as many of each ion as make it neutral."""
    acid, charge, mass = acid_of(substance.name, substances), substance.charge, substance.molar_mass
    cation = substance.counter_ion
    cation_charge = CATIONS.get(cation) or (1 if cation in BASES else 0)
    if acid is None or not charge or charge > 0 or not mass or not cation_charge:
        return None
    whole = lcm(-charge, cation_charge)
    acids = whole // -charge * ACIDS_IN_ONE_ANION.get(_anion(substance.name), 1)
    return SaltOf(acid, mass, acids, cation, cation_charge, whole // cation_charge)


def unlisted_salt(name: str, substances: Mapping[str, Substance]) -> SaltOf | None:
    """The sodium or potassium salt of a listed acid with one proton, its molar mass by exchange."""
    acid, found = acid_of(name, substances), _SALT.fullmatch(name.strip())
    if acid is None or found is None or not found[1] or acid.charge != -1 or not acid.molar_mass:
        return None
    if len(acid.pka) != 1:
        return None
    metal, cation = (SODIUM, "Na+") if found[1].casefold() == "sodium" else (POTASSIUM, "K+")
    return SaltOf(acid, acid.molar_mass + metal - HYDROGEN, 1, cation, 1, 1)


def _anion(name: str) -> str:
    found = _SALT.fullmatch(name.strip())
    anion = found[2].casefold() if found else ""
    return anion if anion.endswith("ate") else ""


def acid_in(one: Ingredient, substances: Mapping[str, Substance]) -> tuple[Substance | None, Fraction]:
    """The acid that the ingredient is, or is the salt of, and the grams of it in one gram."""
    parts = one.composition or ()
    own = substances.get(parts[0].substance.casefold()) if parts else None
    if own is None:
        return None, Fraction(1)
    salt = listed_salt(own, substances)
    if salt is None or not salt.acid.molar_mass:
        return own, Fraction(1)
    return salt.acid, salt.acids * salt.acid.molar_mass / salt.molar_mass
