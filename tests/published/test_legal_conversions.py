"""Salt-to-acid factors and the highest shares that follow from them.

Limits: Regulation (EC) No 1223/2009, Annexes II, III and V (European Commission's annex download, state of
February 2024) and Regulation (EU) 2024/996 (vitamin A, from summaries of its annex). Atomic weights: abridged
standard values of the IUPAC commission. For each substance as sold the table gives its formula, the formula
of what the law counts, how many of it one molecule gives, the limit, and the highest share when pure.
"""

from __future__ import annotations

import re
from datetime import date
from fractions import Fraction

import pytest

from optimiser.law.limits import Limit
from optimiser.law.pick import pick
from optimiser.loading.reference import load_limits, load_substances

WEIGHTS = {
    "H": "1.008", "B": "10.81", "C": "12.011", "N": "14.007", "O": "15.999", "Na": "22.990", "Mg": "24.305",
    "Al": "26.982", "Si": "28.085", "P": "30.974", "S": "32.06", "Cl": "35.45", "K": "39.098", "Ca": "40.078",
    "Zn": "65.38",
}  # fmt: skip
ON = date(2026, 11, 1)

CASES = [
    ("Sodium Benzoate", "C7H5NaO2", "C7H6O2", 1, "annex5-1-benzoic-leave-on", "0.5", "0.5900"),
    ("Sodium Benzoate", "C7H5NaO2", "C7H6O2", 1, "annex5-1-benzoic-rinse-off", "2.5", "2.9500"),
    ("Potassium Benzoate", "C7H5KO2", "C7H6O2", 1, "annex5-1a-benzoates", "0.5", "0.6559"),
    ("Potassium Sorbate", "C6H7KO2", "C6H8O2", 1, "annex5-4-sorbic", "0.6", "0.8038"),
    ("Sodium Dehydroacetate", "C8H7NaO4", "C8H8O4", 1, "annex5-13-dehydroacetic", "0.6", "0.6784"),
    ("Sodium Salicylate", "C7H5NaO3", "C7H6O3", 1, "annex5-3-salicylate-salts", "0.5", "0.5796"),
    ("TEA-Salicylate", "C13H21NO6", "C7H6O3", 1, "annex5-3-salicylate-salts", "0.5", "1.0401"),
    ("Sodium Propionate", "C3H5NaO2", "C3H6O2", 1, "annex5-2-propionic", "2.0", "2.5935"),
    ("Calcium Propionate", "C6H10CaO4", "C3H6O2", 2, "annex5-2-propionic", "2.0", "2.5138"),
    ("Sodium Formate", "CHNaO2", "CH2O2", 1, "annex5-14-formic", "0.5", "0.7388"),
    ("Sodium Undecylenate", "C11H19NaO2", "C11H20O2", 1, "annex5-18-undecylenic", "0.2", "0.2239"),
    ("Methylparaben", "C8H8O3", "C7H6O3", 1, "annex5-12-methylparaben", "0.4", "0.4406"),
    ("Sodium Methylparaben", "C8H7NaO3", "C7H6O3", 1, "annex5-12-methylparaben", "0.4", "0.5043"),
    ("Ethylparaben", "C9H10O3", "C7H6O3", 1, "annex5-12-ethylparaben", "0.4", "0.4812"),
    ("Propylparaben", "C10H12O3", "C7H6O3", 1, "annex5-12a-propyl-butylparaben", "0.14", "0.1827"),
    ("Sodium Propylparaben", "C10H11NaO3", "C7H6O3", 1, "annex5-12a-propyl-butylparaben", "0.14", "0.2049"),
    ("Butylparaben", "C11H14O3", "C7H6O3", 1, "annex5-12a-propyl-butylparaben", "0.14", "0.1969"),
    ("Retinyl Acetate", "C22H32O2", "C20H30O", 1, "annex3-vitamin-a-leave-on", "0.3", "0.3440"),
    ("Retinyl Palmitate", "C36H60O2", "C20H30O", 1, "annex3-vitamin-a-leave-on", "0.3", "0.5497"),
    ("Retinyl Palmitate", "C36H60O2", "C20H30O", 1, "annex3-vitamin-a-body", "0.05", "0.0916"),
    ("Zinc Sulfate Heptahydrate", "ZnSO4.7H2O", "Zn", 1, "annex3-24-zinc", "1.0", "4.3980"),
    ("Zinc Sulfate Monohydrate", "ZnSO4.H2O", "Zn", 1, "annex3-24-zinc", "1.0", "2.7447"),
    ("Zinc Chloride", "ZnCl2", "Zn", 1, "annex3-24-zinc", "1.0", "2.0844"),
    ("Zinc Gluconate", "C12H22O14Zn", "Zn", 1, "annex3-24-zinc", "1.0", "6.9696"),
    ("Zinc PCA", "C10H12N2O6Zn", "Zn", 1, "annex3-24-zinc", "1.0", "4.9188"),
    ("Sodium Metabisulfite", "Na2S2O5", "SO2", 2, "annex5-9-sulfites", "0.2", "0.2968"),
    ("Chlorhexidine Digluconate", "C34H54Cl2N10O14", "C22H30Cl2N10", 1,
     "annex5-42-chlorhexidine", "0.3", "0.5328"),
    ("Sodium Hydroxymethylglycinate", "C3H6NNaO3", "CH2O", 1,
     "annex5-51-hydroxymethylglycinate-formaldehyde", "0.1", "0.4232"),
    ("DMDM Hydantoin", "C7H12N2O4", "CH2O", 2, "annex5-formaldehyde-label", "0.001", "0.0031"),
    ("Urea Peroxide", "CH6N2O3", "H2O2", 1, "annex3-12-peroxide-skin", "4", "11.0625"),
    ("Urea Peroxide", "CH6N2O3", "H2O2", 1, "annex3-12-peroxide-hair", "12", "33.1875"),
]  # fmt: skip


def molar_mass(formula: str) -> Fraction:
    """g/mol of a formula such as "C6H5Na3O7.2H2O"."""
    total = Fraction(0)
    for part in formula.split("."):
        times, rest = re.fullmatch(r"([0-9]*)(.*)", part).groups()  # type: ignore[union-attr]
        atoms = re.findall(r"([A-Z][a-z]?)([0-9]*)", rest)
        total += int(times or 1) * sum(Fraction(WEIGHTS[name]) * int(count or 1) for name, count in atoms)
    return total


def bounds_of(use: str, area: str) -> dict[str, Limit]:
    picked = pick(load_limits(), jurisdiction="EU", on=ON, use=use, area=area, age="adult", form="")
    return {bound.id: bound for bound in (*picked.limits, *picked.labels)}


def bound(name: str) -> Limit:
    for use, area in (
        ("leave-on", "face"),
        ("rinse-off", "face"),
        ("leave-on", "body"),
        ("rinse-off", "hair"),
    ):
        found = bounds_of(use, area).get(f"eu-{name}")
        if found is not None:
            return found
    raise AssertionError(f"eu-{name} applies to no product")


@pytest.mark.parametrize(("substance", "sold", "counted", "times", "limit", "maximum", "highest"), CASES)
def test_a_substance_counts_by_its_molar_mass(
    substance: str, sold: str, counted: str, times: int, limit: str, maximum: str, highest: str
) -> None:
    applied = bound(limit)
    factor = dict(applied.members)[substance]
    assert abs(factor - times * molar_mass(counted) / molar_mass(sold)) < Fraction(1, 10**7)
    assert applied.maximum == Fraction(maximum)
    assert f"{float(applied.maximum / factor):.4f}" == highest


def test_every_stated_molar_mass_is_that_of_its_formula() -> None:
    for substance in load_substances().values():
        if substance.formula and substance.molar_mass is not None:
            off = abs(substance.molar_mass - molar_mass(substance.formula))
            tolerance = Fraction(2, 1000) if substance.status == "computed" else Fraction(2, 100)
            assert off <= tolerance, substance.name


def test_all_parabens_together_and_propyl_with_butyl() -> None:
    """Annex V entries 12 and 12a: 0.8 % in all, 0.14 % for propyl and butyl, as 4-hydroxybenzoic acid."""
    every = bound("annex5-12-12a-all-parabens")
    long_ones = bound("annex5-12a-propyl-butylparaben")
    assert (every.maximum, long_ones.maximum) == (Fraction("0.8"), Fraction("0.14"))
    names = {name for name, _ in every.members}
    assert {name for name, _ in long_ones.members} < names
    assert {"Methylparaben", "Ethylparaben", "Sodium Butylparaben"} <= names


@pytest.mark.parametrize(
    ("substance", "leave_on", "rinse_off"),
    [
        # Annex V entries 29, 34, 35, 39, 43, 50, 56, 57; Annex III entries 62, 102, 257
        ("Phenoxyethanol", "1", "1"), ("Benzyl Alcohol", "1", "1"), ("Piroctone Olamine", "0.5", "1"),
        ("Methylchloroisothiazolinone", "0", "0.0015"), ("Methylisothiazolinone", "0", "0.0015"),
        ("Phenoxyisopropanol", "0", "1"), ("Chlorphenesin", "0.3", "0.3"),
        ("Iodopropynyl Butylcarbamate", "0.01", "0.02"), ("Triethanolamine", "2.5", None),
        ("Methyl Eugenol", "0.0002", "0.001"), ("Laureth-9", "3", "4"), ("Salicylic Acid", "2", "2"),
    ],
)  # fmt: skip
def test_printed_limits_for_the_face(substance: str, leave_on: str, rinse_off: str | None) -> None:
    for use, printed in (("leave-on", leave_on), ("rinse-off", rinse_off)):
        picked = pick(load_limits(), jurisdiction="EU", on=ON, use=use, area="face", age="adult", form="")
        found = [bound.maximum for bound in picked.limits if substance in dict(bound.members)]
        assert (min(found) if found else None) == (None if printed is None else Fraction(printed))
