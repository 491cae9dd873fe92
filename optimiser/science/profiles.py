"""From what an ingredient is made of to what it brings to the charge balance."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Literal

from optimiser.domain.ingredient import Figure, Part
from optimiser.domain.substance import Substance
from optimiser.science import salts
from optimiser.science.charge import Acid, Buffer, ChargeProfile, Ion, Spread, Unknown

Carbonic = Literal["closed", "open"]
"""Whether carbon dioxide stays in the jar or has left it (then bicarbonate counts as alkali alone)."""
WATERS = frozenset({"aqua", "water"})
GLYCOLS = frozenset({
    "glycerin", "propanediol", "propylene glycol", "butylene glycol", "pentylene glycol", "1,2-hexanediol",
    "caprylyl glycol", "dipropylene glycol", "alcohol", "alcohol denat.", "sorbitol",
})  # fmt: skip
"""Solvents that shift acid constants; the models hold below 15 % of them in the water phase."""
CARBONIC_ACID = "carbonic acid"


@dataclass(slots=True)
class _Sum:
    """What the parts bring together, and what stands in the way."""

    ions: list[Ion] = field(default_factory=list)
    acids: list[Acid] = field(default_factory=list)
    spreads: list[Spread] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    neutral: list[str] = field(default_factory=list)
    turning: list[str] = field(default_factory=list)
    carbonate: bool = False

    def take(self, part: Part, gram: _Sum) -> None:
        """The part at its middle share, and how far the share may lie from it; `gram` is one gram of it."""
        share = part.value / 100
        self.ions += [replace(ion, amount=ion.amount * share) for ion in gram.ions if share]
        self.acids += [replace(acid, amount=acid.amount * share) for acid in gram.acids if share]
        self.faults += gram.faults
        self.neutral += gram.neutral
        self.turning += gram.turning
        self.carbonate = self.carbonate or gram.carbonate
        below, above = part.low / 100 - share, part.high / 100 - share
        below = -share if gram.turning else below
        chain = salts.APPARENT.get(part.substance.strip().casefold())
        if chain is not None:
            below, above = part.low / 100 * chain.least - share, part.high / 100 * chain.most - share
        if (below or above) and (gram.ions or gram.acids):
            of = ChargeProfile(ions=tuple(gram.ions))
            self.spreads.append(Spread(below, above, of.strong_charge, of.strong_squares, tuple(gram.acids)))


def profile_of(
    composition: Sequence[Part] | None,
    substances: Mapping[str, Substance],
    figures: Mapping[str, Figure],
    *,
    powder: bool = False,
    inert: bool = False,
    carbonic: Carbonic = "closed",
) -> ChargeProfile | Unknown:
    """The charge profile of one gram, or why there is none.

    `composition` in % w/w, `substances` by name in lower case, `figures` with buffer_slope (meq/g per pH),
    powder_ph and water_content (%). A powder's line stands for all of it: its composition then adds nothing.
    `powder`: of a kind that takes up acid, so the line is needed. `inert`: stays out of the water (oils,
    waxes, fatty acids in the oil phase), so its composition adds nothing. Nor does a neutral substance.
    """
    slope, own_ph = figures.get("buffer_slope"), figures.get("powder_ph")
    line = slope is not None and own_ph is not None
    if powder and not line:
        return Unknown("how much acid it takes up (buffer_slope, powder_ph) is not known")
    water = _water(composition, figures, inert)
    if water is None:
        return Unknown("its water content is not known")
    if slope is not None and own_ph is not None:
        buffer = Buffer((slope.low, slope.value, slope.high), (own_ph.low, own_ph.value, own_ph.high))
        return ChargeProfile(buffers=(buffer,), water=water)
    if inert:
        soaps = [
            part.substance for part in composition or () if part.high > 0 and salts.holds_soap(part.substance)
        ]
        return Unknown(f"{soaps[0]}: {salts.SOAP}") if soaps else ChargeProfile(water=water)
    if composition is None:
        return ChargeProfile(water=water) if water == 1 else Unknown("what it is made of is not known")
    return _of_parts(composition, substances, water, carbonic)


def _water(composition: Sequence[Part] | None, figures: Mapping[str, Figure], inert: bool) -> Fraction | None:
    stated = figures.get("water_content")
    if stated is not None:
        return stated.value / 100
    if composition is None:
        return Fraction(0) if inert else None
    return sum((p.value for p in composition if p.substance.casefold() in WATERS), Fraction(0)) / 100


def _of_parts(
    composition: Sequence[Part], substances: Mapping[str, Substance], water: Fraction, carbonic: Carbonic
) -> ChargeProfile | Unknown:
    total = _Sum()
    for part in composition:
        if part.high > 0:
            gram = _Sum()
            _add(part, substances, gram)
            total.take(part, gram)
    if total.faults:
        return Unknown("; ".join(total.faults))
    keep = carbonic == "closed"
    glycol = sum((p.value for p in composition if p.substance.casefold() in GLYCOLS), Fraction(0)) / 100
    return ChargeProfile(
        ions=tuple(total.ions),
        acids=_kept(total.acids, keep),
        spreads=tuple(replace(one, acids=_kept(one.acids, keep)) for one in total.spreads),
        water=water,
        glycol=glycol,
        carbonate=total.carbonate,
        as_neutral=tuple(total.neutral),
        turning=tuple(total.turning),
    )


def _kept(acids: Iterable[Acid], keep: bool) -> tuple[Acid, ...]:
    return tuple(a for a in acids if keep or a.substance.casefold() != CARBONIC_ACID)


def _add(part: Part, substances: Mapping[str, Substance], total: _Sum) -> None:
    """One gram of a substance: neutral, strong, acid, base or salt; else a fault."""
    name = part.substance.strip().casefold()
    grams = Fraction(1)
    known = substances.get(name)
    if name in salts.STRONG:
        mass, ions = salts.STRONG[name]
        amount = grams * 1000 / mass
        total.ions.extend(Ion(ion, charge, amount * count) for ion, charge, count in ions)
    elif name in salts.TURNING:
        _add_turning(part, salts.TURNING[name], substances, total)
    elif known is None:
        _add_unlisted(part, grams, substances, total)
    elif known.charge is None or (known.charge and not known.molar_mass):
        total.faults.append(f"{part.substance}: its charge or molar mass is not known")
    elif known.charge:
        _add_listed(known, grams, substances, total)


def _add_turning(part: Part, into: str, substances: Mapping[str, Substance], total: _Sum) -> None:
    """What turns into an acid over hours counts as that acid, and from none of it to all of it."""
    fresh, acid = substances.get(part.substance.strip().casefold()), substances.get(into)
    if fresh is None or not fresh.molar_mass or acid is None or not acid.pka or acid.charge is None:
        total.faults.append(f"{part.substance}: the constants of {into}, which it turns into, are not known")
        return
    total.turning.append(part.substance)
    _add_acid(acid, 1000 / fresh.molar_mass, acid.charge + len(acid.pka), total)


def _add_listed(
    substance: Substance, grams: Fraction, substances: Mapping[str, Substance], total: _Sum
) -> None:
    """A listed acid, base, hydroxide or salt."""
    charge, mass = substance.charge or 0, substance.molar_mass or Fraction(1)
    salt = salts.listed_salt(substance, substances)
    if substance.pka and not substance.counter_ion:
        protonated = charge if charge > 0 else charge + len(substance.pka)
        _add_acid(substance, grams * 1000 / mass, protonated, total)
    elif substance.counter_ion == salts.HYDROXIDE and charge > 0:
        total.ions.append(Ion(substance.name, charge, grams * 1000 / mass))
    elif salt is not None:
        _add_salt(salt, grams, substances, total)
    else:
        total.faults.append(f"{substance.name}: its acid constants are not known")


def _add_unlisted(part: Part, grams: Fraction, substances: Mapping[str, Substance], total: _Sum) -> None:
    salt = salts.unlisted_salt(part.substance, substances)
    if salt is not None:
        _add_salt(salt, grams, substances, total)
    elif salts.is_soap(part.substance):
        total.faults.append(f"{part.substance}: {salts.SOAP}")
    elif salts.may_act(part.substance):
        total.faults.append(f"{part.substance}: an acid, base or salt whose constants are not known")
    elif part.substance.casefold() not in WATERS:
        total.neutral.append(part.substance)


def _add_salt(salt: salts.SaltOf, grams: Fraction, substances: Mapping[str, Substance], total: _Sum) -> None:
    formulas = grams * 1000 / salt.molar_mass
    _add_acid(salt.acid, formulas * salt.acids, (salt.acid.charge or 0) + len(salt.acid.pka), total)
    if salt.cation not in salts.BASES:
        total.ions.append(Ion(salt.cation, salt.cation_charge, formulas * salt.cations))
        return
    base = substances.get(salts.BASES[salt.cation])
    if base is None or not base.pka or not base.charge:
        total.faults.append(f"{salt.cation}: its acid constants are not known")
    else:
        total.acids.append(Acid(base.name, formulas * salt.cations, base.pka, base.charge))


def _add_acid(substance: Substance, amount: Fraction, protonated: int, total: _Sum) -> None:
    chain = salts.APPARENT.get(substance.name.casefold())
    off = Fraction(0) if chain is None else chain.off
    total.acids.append(Acid(substance.name, amount, substance.pka, protonated, off))
    total.carbonate = total.carbonate or substance.name.casefold() == CARBONIC_ACID
