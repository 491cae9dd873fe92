"""How much of another gum thickens as one of the base does, in its own water phase."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.request import Remark, Request
from optimiser.domain.rules import Thickness
from optimiser.requests.sentences import number
from optimiser.science import body as science
from optimiser.science import thickness
from optimiser.science.body import Body
from optimiser.science.constants import water_phase
from optimiser.science.thickness import Gum

ZERO, ONE = Fraction(0), Fraction(1)
MOST_NAMED = 4
ABOUT = "thickness"
ERROR = "grades differ, so start at seven tenths, read and add"


@dataclass(frozen=True, slots=True)
class _Pot:
    """The base's grams of water phase in 100 g and its salt (% as sodium chloride in the water)."""

    phase: Fraction
    salt: Fraction


def equivalents(request: Request, now: Amounts) -> list[Remark]:
    """For a gum that went, those that came; where no gum moved, some others that would do in their range."""
    base = Amounts(tuple(sorted(request.base.items())), request.ingredients)
    own = [one for one in base.present if one.group in science.GUMS]
    gone = [one for one in own if not now.of(one.id)]
    came = [one for one in now.present if one.group in science.GUMS and not base.of(one.id)]
    if not own or (gone and not came) or (came and not gone):
        return []
    others = came or [one for one in _others(request) if not base.of(one.id)]
    pot = _pot(request, base)
    if pot is None:
        return []
    told = [
        _told(one, [o for o in _likest(one, others) if came or _plain(o, one, own)], pot, request, base)
        for one in gone or own
    ]
    rough = _rough(came, now, request) if len(gone) == len(came) == 1 else ""
    return [Remark(ABOUT, f"{text}{rough}.", thickness.MODEL.sources[3]) for text in told if text]


def _likest(one: Ingredient, others: list[Ingredient]) -> list[Ingredient]:
    """Those of the same kind first: they carry the same charge."""
    return sorted(others, key=lambda other: (other.kind != one.kind, other.name))


def _plain(other: Ingredient, one: Ingredient, own: list[Ingredient]) -> bool:
    """Whether it does no more than the sum beside the gums that stay."""
    return not thickness.synergies([other.inci, *(stays.inci for stays in own if stays is not one)])


def _rough(came: list[Ingredient], now: Amounts, request: Request) -> str:
    """Where no rule speaks of the predicted thickness, the dose in the formula is by the rougher count."""
    if any(isinstance(rule, Thickness) and rule.predicted for rule in request.rules):
        return ""
    return f"; the {number(now.of(came[0].id))} % above is by the level of thickening, a rougher count"


def _others(request: Request) -> list[Ingredient]:
    return [one for one in request.ingredients.values() if one.group in science.GUMS]


def _pot(request: Request, base: Amounts) -> _Pot | None:
    grams = {one.id: base.of(one.id) for one in base.present}
    phase = sum((grams[one.id] * (water_phase(one) or ZERO) for one in base.present), ZERO)
    if not phase:
        return None
    return _Pot(phase, science.salt_in(grams, base.ingredients, request.substances, request.ph_window))


def _told(one: Ingredient, others: list[Ingredient], pot: _Pot, request: Request, base: Amounts) -> str:
    of = _gum(one, request, pot)
    if of is None:
        return ""
    shear = next((rule.shear for rule in request.rules if isinstance(rule, Thickness)), ONE)
    share = base.of(one.id)
    doses: list[tuple[str, Fraction]] = []
    for other in others:
        by = _gum(other, request, pot)
        if by is not None:
            percent = thickness.equivalent(100 * share / pot.phase, of, by, shear) * pot.phase / 100
            if _in_range(other, percent) or len(others) == 1:
                doses.append((other.name, round(percent, 2)))
    if not doses:
        return ""
    told = ", ".join(f"{number(dose)} % {name}" for name, dose in doses[:MOST_NAMED])
    text = f"{number(share)} % {one.name} thickens this water phase as {told} would, at {number(shear)}/s"
    return f"{text}; {ERROR}"


def _gum(one: Ingredient, request: Request, pot: _Pot) -> Gum | None:
    found = science.body_of(one)
    if not isinstance(found, Body):
        return None
    gum = science.gum_under(found, request.ph_window, pot.salt)
    return gum if isinstance(gum, Gum) else None


def _in_range(one: Ingredient, percent: Fraction) -> bool:
    return (one.use_min is None or percent >= one.use_min) and (one.use_max is None or percent <= one.use_max)
