"""What one gram of an ingredient brings to thickness, and the thickness of a whole pot.

η = gums in the water phase (equivalents) × glycerol in it × powders by volume (equivalents).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.substance import Substance
from optimiser.science import constants, glycerol, suspension, thickness
from optimiser.science.acidity import Profiles, solve_ph
from optimiser.science.charge import Acid, ChargeProfile, Unknown
from optimiser.science.constants import End
from optimiser.science.formula import POWDERS, profiles_for
from optimiser.science.powers import ONE, ZERO
from optimiser.science.suspension import Powder
from optimiser.science.thickness import Gum, Sensitivity

GRAINS = POWDERS | {"pigment", "scrub-grain"}
GUMS = frozenset({"gum", "carbomer", "cellulose-ether"})
NETWORKS = frozenset({"fatty-alcohol", "fatty-acid", "wax", "surfactant", "conditioner", "true-soap"})
"""Groups that give an emulsion or a wash a body of another kind, which no law here describes."""
GLYCEROL = frozenset({"glycerin", "glycerol"})
WATER = Fraction("0.00089")
"""Pa.s of water at 25 °C (IAPWS 2008): what a water phase without gum has."""
SALT_PER_ION = Fraction("58.44") / 10
"""% of sodium chloride in the water per mol/kg of ionic strength."""
DOSE_STEPS = 12
"""Halvings of a dose: a four-thousandth of it."""
FIGURES = (
    "viscosity_1pct", "viscosity_power", "packing_max", "shape_factor", "water_held", "salt_half"
)  # fmt: skip
"""Numbers that a predicted thickness rests on."""
Window = tuple[Fraction, Fraction]
Substances = Mapping[str, Substance]


@dataclass(frozen=True, slots=True)
class Body:
    """Per gram: `solid` and `whole` in ml, shares of water phase and of glycerol in g."""

    gum: Gum | None
    touchy: Sensitivity
    powder: Powder | None
    solid: Fraction
    whole: Fraction
    phase: Fraction
    glycerol: Fraction


@dataclass(frozen=True, slots=True)
class Factors:
    """How many times thicker glycerol and powders make the water phase; `salt` in % in its water."""

    solvent: Fraction = ONE
    powders: Fraction = ONE
    salt: Fraction = ZERO

    @property
    def times(self) -> Fraction:
        return self.solvent * self.powders


def body_of(ingredient: Ingredient, end: End = "value") -> Body | Unknown:
    """Its constants, strength and held water at one end of their data; or what is missing."""
    phase, size = constants.water_phase(ingredient), constants.volumes(ingredient, end)
    gum, powder = constants.gum(ingredient, end), constants.powder(ingredient)
    if ingredient.group in NETWORKS and gum is None:
        return Unknown(f"the body that its kind gives ({ingredient.group}) is not modelled")
    if ingredient.group in GUMS and gum is None:
        return Unknown("its thickness at 1 % (viscosity_1pct, viscosity_power) is not known")
    if ingredient.group in GRAINS and (powder is None or size is None):
        return Unknown("how its grains pack (packing_max, shape_factor, water_held, density) is not known")
    if size is None:
        return Unknown("its density is not known")
    if phase is None:
        return Unknown("its water content is not known")
    return Body(gum, constants.sensitivity(ingredient), powder, *size, phase, _glycerol(ingredient))


def _glycerol(ingredient: Ingredient) -> Fraction:
    if ingredient.inci.casefold() in GLYCEROL:
        return ONE
    parts = (p.value for p in ingredient.composition or () if p.substance.casefold() in GLYCEROL)
    return sum(parts, ZERO) / 100


def gum_under(body: Body, window: Window | None, salt: Fraction) -> Gum | Unknown | None:
    """The gum at both ends of the pH window and in this salt; None for what is no gum."""
    if body.gum is None:
        return None
    found: Gum | None = body.gum
    for ph in window or (None,):
        found = thickness.under(body.gum, body.touchy, ph=ph, salt=salt)
        if found is None:
            low, high = body.touchy.ph_from, body.touchy.ph_to
            span = " to ".join(f"{float(end):g}" for end in (low, high) if end is not None)
            word = "between" if low is not None and high is not None else "above" if high is None else "below"
            asked = "no pH is asked for" if window is None else "the pH window leaves that"
            return Unknown(f"it keeps its body only {word} pH {span.replace(' to ', ' and ')}, and {asked}")
    return found


def factors(grams: Mapping[str, Fraction], bodies: Mapping[str, Body], salt: Fraction) -> Factors | None:
    """Factors of a pot; None without a water phase, or where the powders pack solid."""
    phase = sum((grams[name] * body.phase for name, body in bodies.items()), ZERO)
    whole = sum((grams[name] * body.whole for name, body in bodies.items()), ZERO)
    if not phase or not whole:
        return None
    sweet = sum((grams[name] * body.glycerol for name, body in bodies.items()), ZERO) / phase
    grains = [(body.powder, grams[name] * body.solid / whole) for name, body in bodies.items() if body.powder]
    times = suspension.mixture_viscosity([(powder, phi) for powder, phi in grains if powder])
    return None if times is None else Factors(glycerol.thickening(min(sweet, ONE)), times, salt)


def gum_part(gums: Sequence[tuple[Gum, Fraction]], phase: Fraction, shear: Fraction) -> Fraction:
    """Pa.s of (gum, grams) in grams of water phase; water's own where they give less."""
    percents = [(gum, 100 * amount / phase) for gum, amount in gums]
    return max(thickness.mixture_viscosity(percents, shear), WATER)


def salt_in(
    grams: Mapping[str, Fraction],
    ingredients: Mapping[str, Ingredient],
    of: Substances,
    window: Window | None = None,
) -> Fraction:
    """% of sodium chloride in the water that has the ionic strength of the pot; 0 where it cannot be told.

    Acids and alkalis beyond the window count only as far as its edge: no more of them goes in. The ions that
    only balance a neutralised thickener are left out: its strength was read with them.
    """
    present = {name: amount for name, amount in grams.items() if amount > 0}
    profiles = profiles_for((ingredients[name] for name in present), of)
    pot = _dosed_into(window, present, ingredients, profiles)
    found = solve_ph(pot, profiles)
    if found.ph is None:
        return ZERO
    own = _own_ions(found.ph, pot, ingredients, profiles)
    return max(Fraction(str(round(found.ionic_strength - own, 4))), ZERO) * SALT_PER_ION


def _dosed_into(
    window: Window | None,
    grams: Mapping[str, Fraction],
    ingredients: Mapping[str, Ingredient],
    profiles: Profiles,
) -> Mapping[str, Fraction]:
    """The pot with only as much of its alkalis, or its acids, as takes it to the window."""
    ph = solve_ph(grams, profiles).ph
    if window is None or ph is None or window[0] <= ph <= window[1]:
        return grams
    group, edge = ("alkali", window[1]) if ph > window[1] else ("acid", window[0])

    def pot(part: Fraction) -> dict[str, Fraction]:
        return {n: g * part if ingredients[n].group == group else g for n, g in grams.items()}

    low, high = ZERO, ONE
    for _ in range(DOSE_STEPS):
        part = (low + high) / 2
        found = solve_ph(pot(part), profiles).ph
        beyond = found is None or (found > edge if group == "alkali" else found < edge)
        low, high = (low, part) if beyond else (part, high)
    return pot(low)


def _own_ions(
    ph: float, grams: Mapping[str, Fraction], ingredients: Mapping[str, Ingredient], profiles: Profiles
) -> float:
    """Ionic strength (mol/kg) of thickeners on a chain and of what balances their charge.

    A line of charge over pH counts no ions of its own, an acid does: so half the charge, or all of it.
    """
    known = {name: one for name, one in profiles.items() if isinstance(one, ChargeProfile)}
    water = sum(float(grams[name] * one.water) for name, one in known.items())
    ions = 0.0
    for name, one in known.items():
        if ingredients[name].group in GUMS:
            ions += float(grams[name]) * sum(max(-buffer.line(ph)[0], 0.0) for buffer in one.buffers) / 2
            ions += float(grams[name]) * sum(_lost(acid, ph) for acid in one.acids)
    return ions / water if water else 0.0


def _lost(acid: Acid, ph: float) -> float:
    """Charge (mmol/g) of an acid that starts without one; the activity of its ions is left out."""
    if acid.protonated:
        return 0.0
    return float(acid.amount) * sum(1 / (1 + 10 ** (float(constant) - ph)) for constant in acid.pka)


def factors_of(
    grams: Mapping[str, Fraction],
    ingredients: Mapping[str, Ingredient],
    of: Substances,
    end: End = "value",
    window: Window | None = None,
) -> Factors:
    """Factors of a pot by what is known of it; 1 where they cannot be told."""
    bodies = known_bodies((ingredients[name] for name, amount in sorted(grams.items()) if amount > 0), end)
    touchy = any(body.gum is not None and body.touchy.salt_half is not None for body in bodies.values())
    salt = salt_in(grams, ingredients, of, window) if touchy else ZERO
    return factors(grams, bodies, salt) or Factors(salt=salt)


def known_bodies(ingredients: Iterable[Ingredient], end: End = "value") -> dict[str, Body]:
    """Bodies by id of those that have one."""
    found = {one.id: body_of(one, end) for one in ingredients}
    return {name: body for name, body in found.items() if isinstance(body, Body)}
