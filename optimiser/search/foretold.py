"""Numbers that no rule asks for and every jar has: natural origin, density, volume, oil phase, HLB."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from fractions import Fraction

from optimiser.checks.acidity import reach_of
from optimiser.checks.amounts import Amounts
from optimiser.checks.densities import Density, density_of, without_density
from optimiser.checks.emulsions import Emulsion, Hlb, emulsion_of
from optimiser.checks.free import free_doses
from optimiser.checks.natural_origin import FIGURE, OriginClaim, natural_origin, origin_claims
from optimiser.domain.learned import in_words
from optimiser.domain.outcome import Measure
from optimiser.domain.request import Remark, Request
from optimiser.domain.rules import MICROBES
from optimiser.requests.sentences import first_upper, number
from optimiser.science import density, emulsion, preservation
from optimiser.science import natural_origin as origin
from optimiser.science.acidity import MODEL_ERROR, solve_ph
from optimiser.science.formula import profiles_for
from optimiser.science.ion_pairs import solve_ph_with_pairs
from optimiser.search.by_models import Foretold, errors_of_models, untold_by_models
from optimiser.search.charges import opposite_charges
from optimiser.search.equivalents import equivalents

ZERO = Fraction(0)
JAR_ML = Fraction(100)
MOST_NAMES = 4
FROM_TRIALS = "trial "
UNBUFFERED = 1
LEAST_HELD = 0.02
"""pH, two digits of a good meter: less is not worth a word."""
BRING_METALS = frozenset({"clay", "flour", "extract", "mineral-powder"})
ORIGIN = "natural origin"


def foretold(request: Request, base: Amounts, now: Amounts, told: Collection[str] = ()) -> list[Measure]:
    """Base beside proposal, each only where every line has what it takes; names in `told` are left out."""
    found = [*_origin(base, now), *_room(request, base, now), *_emulsion(base, now)]
    return [measure for measure in found if measure.name not in told]


def _origin(base: Amounts, now: Amounts) -> list[Measure]:
    value = natural_origin(now)
    if value is None:
        return []
    low, high = natural_origin(now, "low"), natural_origin(now, "high")
    return [Measure(ORIGIN, natural_origin(base), value, "%", low, high)]


def _room(request: Request, base: Amounts, now: Amounts) -> list[Measure]:
    was, will = density_of(base), density_of(now)
    if will is None:
        return []
    middle, least, most = (_whole(ml) for ml in will.ml(request.batch_g))
    before = None if was is None else _whole(was.ml(request.batch_g)[0])
    first = Measure(
        "density, predicted", None if was is None else was.value, will.value, "g/ml", will.low, will.high
    )
    return [first, Measure("volume of the batch, predicted", before, middle, "ml", least, most)]


def _emulsion(base: Amounts, now: Amounts) -> list[Measure]:
    was, will = emulsion_of(base), emulsion_of(now)
    if will is None:
        return []
    oils, ratio, asked, has = (None,) * 4 if was is None else (was.oils, _ratio(was), was.demand, was.blend)
    found = [
        Measure("oil phase", oils, will.oils, "%"),
        Measure("emulsifier to oil", ratio, _ratio(will), "g/g"),
    ]
    for name, before, after in (
        ("HLB that the oils ask for", asked, will.demand),
        ("HLB of the emulsifiers", has, will.blend),
    ):
        if after is not None:
            first = None if before is None else _tenth(before.value)
            found.append(Measure(name, first, *_ends(after)))
    return found


def _ends(hlb: Hlb) -> tuple[Fraction, str, Fraction, Fraction]:
    return _tenth(hlb.value), "HLB", _tenth(hlb.low), _tenth(hlb.high)


def _ratio(made: Emulsion) -> Fraction:
    return round(made.emulsifiers / made.oils, 3)


def _tenth(value: Fraction) -> Fraction:
    return round(value, 1)


def _whole(value: Fraction) -> Fraction:
    return Fraction(round(value))


def on_paper(request: Request, now: Amounts, jar: Sequence[Foretold]) -> tuple[Remark, ...]:
    """What the predictions mean, and what could not be predicted for want of a figure."""
    return (
        *_learned(now),
        *_filling(now),
        *untold_by_models(jar),
        *equivalents(request, now),
        *_without_chelator(now),
        *_off(request, now, jar),
        *_held_sodium(request, now),
        *opposite_charges(now),
        *_origin_untold(now),
        *_claims(request, now),
        *_of_emulsion(now),
    )


def _learned(now: Amounts) -> list[Remark]:
    """Numbers of the lines that one's own trials taught, and which trials."""
    found = []
    for one in now.present:
        taught = [
            (name, figure)
            for name, figure in sorted(one.figures.items())
            if figure.status == "measured" and figure.source.startswith(FROM_TRIALS)
        ]
        for name, figure in taught:
            unit = "" if figure.unit in ("-", "pH") else f" {figure.unit}"
            told = first_upper(in_words(name, one.name))
            text = f"{told}: {float(figure.value):.3g}{unit}, as learned from {figure.source}."
            found.append(Remark(one.id, text, figure.source))
    return found


def _filling(now: Amounts) -> list[Remark]:
    will = density_of(now)
    if will is None:
        lack = _names(without_density(now))
        return [Remark("density", f"Density and volume: not predicted, {lack} without a density.")]
    middle, least, most = (_whole(grams) for grams in will.grams(JAR_ML))
    text = (
        f"A jar of {number(JAR_ML)} ml takes about {number(middle)} g ({number(least)} to {number(most)} g)"
    )
    air = "air stirred in makes it less; a cup of known volume, weighed full, tells"
    return [Remark("density", f"{text}: {air}.", density.MODEL.sources[0])]


def _off(request: Request, now: Amounts, jar: Sequence[Foretold]) -> list[Remark]:
    """How far the models may be off beside the spread of the data, for all that is foretold unasked."""
    found = []
    dosed = tuple(sorted({slot.ingredient for slot in request.dosed}))
    reach = reach_of(dosed, now, request)
    if reach is not None and reach.acid.valid and reach.alkaline.valid:
        error = max(reach.acid.model_error, reach.alkaline.model_error, float(MODEL_ERROR))
        found.append(
            f"the pH by about {error:.1f}" + (", for nothing buffers" if error >= UNBUFFERED else "")
        )
    if any(free_doses(group, now, request) for group in MICROBES):
        band = preservation.MODEL.band
        found.append(
            f"what reaches the water by −{_percent(100 * band.down)} to +{_percent(100 * band.up)} %"
        )
    found += errors_of_models(jar)
    if not found:
        return []
    return [Remark("predicted", f"Beside the spread of the data the sums may be off: {'; '.join(found)}.")]


def _held_sodium(request: Request, now: Amounts) -> list[Remark]:
    """By how much citrate and phosphate that hold sodium lower the pH: the plain balance leaves that out."""
    grams, profiles = (
        {one.id: now.of(one.id) for one in now.present},
        profiles_for(now.present, request.substances),
    )
    plain = solve_ph(grams, profiles)
    if plain.ph is None or not plain.valid:
        return []
    lower = plain.ph - (solve_ph_with_pairs(grams, profiles).ph or plain.ph)
    if lower < LEAST_HELD:
        return []
    text = f"Citrate or phosphate that holds sodium puts the pH about {lower:.2f} lower than predicted"
    return [Remark("predicted", f"{text}, beside what the sums may be off.")]


def _without_chelator(now: Amounts) -> list[Remark]:
    """Metal ions of clays and plants beside a preservative, in water, and nothing that binds them."""
    lines = now.present
    groups = {one.group for one in lines}
    bring = [one.name for one in lines if one.group in BRING_METALS]
    if not bring or not {"water", "preservative"} <= groups or any("chelating" in one.roles for one in lines):
        return []
    text = "No chelator is there: metal ions can weaken the preservative and turn colours"
    usual = f"usual is 0.1 to 0.2 % ({_names(tuple(bring))} may bring them)"
    return [Remark("chelator", f"{text}; {usual}.", "common practice, disputed")]


def _origin_untold(now: Amounts) -> list[Remark]:
    lack = tuple(one.name for one in now.present if one.figure(FIGURE) is None)
    if not lack or len(lack) == len(now.present):
        return []
    return [Remark(ORIGIN, f"Natural origin: not told, {_names(lack)} without a figure for it.")]


def _claims(request: Request, now: Amounts) -> list[Remark]:
    share = natural_origin(now)
    found = []
    for claim in origin_claims(request.formula.claims):
        if share is None:
            text = "cannot be told, a line has no figure for natural origin."
        else:
            text = f"{'holds' if claim.holds(share) else 'is not true'}, it is {_percent(share)} %."
        found.append(Remark("claim", f"The claim “{claim.text}”: {text}", origin.MODEL.sources[0]))
    return found


def broken_claims(request: Request, base: Amounts, now: Amounts) -> tuple[Remark, ...]:
    """Claims of natural origin that held for the base and do not hold any more."""
    was, share = natural_origin(base), natural_origin(now)
    return tuple(
        Remark("name and claims", f"“{claim.text}” would no longer be true: {_percent(share)} %.")
        for claim in origin_claims(request.formula.claims)
        if share is not None and not claim.holds(share) and _held(claim, was)
    )


def _held(claim: OriginClaim, was: Fraction | None) -> bool:
    return was is None or claim.holds(was)


def _of_emulsion(now: Amounts) -> list[Remark]:
    made = emulsion_of(now)
    if made is None:
        return []
    found = [Remark("emulsion", text) for text in made.untold]
    if made.stabilisers:
        text = (
            f"{_names(made.stabilisers)}: stiffens the emulsion; counted in the oil phase, not as emulsifier."
        )
        found.append(Remark("emulsion", text, "common practice"))
    if made.demand is not None and made.blend is not None:
        found += _hlb_gap(made.demand, made.blend)
    return found


def _hlb_gap(demand: Hlb, blend: Hlb) -> list[Remark]:
    if blend.low <= demand.high and demand.low <= blend.high:
        return []
    side = "below" if blend.value < demand.value else "above"
    gap = _tenth(abs(blend.value - demand.value))
    text = (
        f"The emulsifiers stand {number(gap)} HLB {side} what the oils ask for, more than the data leave open"
    )
    return [Remark("emulsion", f"{text}; {emulsion.MODEL.reading}.", emulsion.MODEL.sources[0])]


def _percent(share: Fraction | None) -> str:
    return number(round(share or ZERO, 2))


def _names(names: tuple[str, ...]) -> str:
    more = len(names) - MOST_NAMES
    return ", ".join(names[:MOST_NAMES]) + (f" and {more} more" if more > 0 else "")


def density_words(will: Density) -> str:
    """Such as "a predicted 1.21 g/ml (1.11 to 1.24)"."""
    value, low, high = (f"{float(end):.2f}" for end in (will.value, will.low, will.high))
    return f"a predicted {value} g/ml ({low} to {high})"
