"""The judge on a pH window: the full charge balance, at the ends of what the data allow."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.domain.outcome import Verdict
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Acidity, Basis
from optimiser.science.acidity import MODEL_ERROR, PhResult, kept_off, ph_range, solve_ph
from optimiser.science.charge import ChargeProfile, Unknown
from optimiser.science.formula import profiles_for
from optimiser.units.numbers import show_number

ROLES = ("acid-adjuster", "alkali-adjuster", "buffering")
PLACES = 6
USUAL_STRENGTH = Fraction(1, 10)


@dataclass(frozen=True, slots=True)
class Reach:
    """The pH at its most alkaline and at its most acid that the adjusters allow, each with its range."""

    alkaline: PhResult
    alkaline_range: tuple[float, float]
    acid: PhResult
    acid_range: tuple[float, float]


def judge_acidity(rule: Acidity, amounts: Amounts, request: Request) -> Verdict:
    """Whether some dose reaches the window for every value in the data; without data: is one there?"""
    able = [i.name for i in amounts.present if any(role in i.roles for role in ROLES)]
    by_reading = f"set by reading, with {', '.join(able)}" if able else "no line to adjust with"
    apart = [o for o in _musts(rule, request) if o.low > rule.high or o.high < rule.low]
    if apart:
        note = f"no one reading lies in this window and also in: {apart[0].head.sentence}"
        return Verdict(rule, False, None, rule.low, rule.high, "pH", None, note)
    if not rule.predicted:
        return Verdict(rule, bool(able), None, rule.low, rule.high, "pH", None, by_reading)
    reach = reach_of(rule.adjusters, amounts, request)
    if reach is None or not (reach.acid.valid and reach.alkaline.valid):
        why = "no pH can be told" if reach is None else "; ".join(reach.acid.why or reach.alkaline.why)
        note = f"outside what can be predicted: {why}; {by_reading}"
        return Verdict(rule, False, None, rule.low, rule.high, "pH", None, note)
    return _of_reach(rule, reach, amounts, able=bool(able))


def _of_reach(rule: Acidity, reach: Reach, amounts: Amounts, *, able: bool) -> Verdict:
    """The window drawn in by the model's own error; the rule speaks of safety where one hangs on it here."""
    worst = rule.at_worst({one.id for one in amounts.present})
    foot = reach.alkaline_range[0] if worst else reach.alkaline.ph or 0.0
    top = reach.acid_range[1] if worst else reach.acid.ph or 14.0
    off = kept_off(rule.low, rule.high, dosed=bool(rule.adjusters))
    low, high = rule.low + off, rule.high - off
    margin = Fraction(repr(round(min(foot - float(low), float(high) - top), PLACES)))
    met = margin >= 0 and (able or not rule.adjusters)
    value = None if rule.adjusters else Fraction(repr(round(reach.acid.ph or 0.0, 2)))
    note = in_words(reach, bool(rule.adjusters), raises=raises(rule.adjusters, amounts))
    if off < MODEL_ERROR:
        note += f"; the window is too narrow for that error, so its middle is held: {_middle(rule)}"
    return Verdict(_told(rule, worst=worst), met, value, rule.low, rule.high, "pH", margin, note)


def _middle(rule: Acidity) -> str:
    return f"pH {show_number((rule.low + rule.high) / 2, 2)}"


def _told(rule: Acidity, *, worst: bool) -> Acidity:
    """The rule as it stands for what is there: without an acid preservative it is no matter of safety."""
    if rule.head.rank is not None or not rule.preservatives:
        return rule
    basis: Basis = "safety" if worst else "character"
    return rule if rule.head.surely else replace(rule, head=replace(rule.head, basis=basis))


def _musts(rule: Acidity, request: Request) -> list[Acidity]:
    """The other pH windows that must hold."""
    every = (o for o in request.rules if isinstance(o, Acidity) and o.head.id != rule.head.id)
    return [other for other in every if other.head.rank is None]


def reach_of(adjusters: tuple[str, ...], amounts: Amounts, request: Request) -> Reach | None:
    """None where the pH cannot be told at all.

    The extremes lie where each adjuster is at none or at its ceiling: those that pull higher than some pH are
    in and the others out, or the other way round.
    """
    profiles = profiles_for(amounts.present, request.substances)
    grams = {i.id: amounts.of(i.id) for i in amounts.present}
    pulling = sorted((name for name in adjusters if name in grams), key=lambda a: (_own_ph(profiles[a]), a))
    ends = [end for at in range(len(pulling) + 1) for end in (tuple(pulling[:at]), tuple(pulling[at:]))]
    pots = [{name: share for name, share in grams.items() if name not in out} for out in dict.fromkeys(ends)]
    ranges = [ph_range(pot, profiles) for pot in pots]
    results = [solve_ph(pot, profiles) for pot in pots]
    spans = [span for span in ranges if span is not None]
    if len(spans) < len(pots):
        return None
    highest, lowest = max(results, key=_ph), min(results, key=_ph)
    up, down = (tuple(pick(span[end] for span in spans) for end in (0, 1)) for pick in (max, min))
    return Reach(highest, (up[0], up[1]), lowest, (down[0], down[1]))


def _ph(result: PhResult) -> float:
    return 0.0 if result.ph is None else result.ph


def strength_of(request: Request, shares: Mapping[Slot, float]) -> Fraction:
    """Ionic strength of the water phase, mol/kg, to four decimals; the usual 0.1 where it cannot be told."""
    grams: dict[str, Fraction] = {}
    for slot, share in shares.items():
        grams[slot.ingredient] = grams.get(slot.ingredient, Fraction(0)) + Fraction(str(round(share, 6)))
    present = [request.ingredients[name] for name in grams]
    result = solve_ph(grams, profiles_for(present, request.substances))
    return USUAL_STRENGTH if result.ph is None else Fraction(str(round(result.ionic_strength, 4)))


def _own_ph(profile: ChargeProfile | Unknown) -> float:
    """The pH that one part in water makes, towards which a dose of it pulls; 7 where it is not known."""
    if not isinstance(profile, ChargeProfile):
        return 7.0
    alone = solve_ph({"it": Fraction(1), "water": Fraction(99)}, {"it": profile, "water": _WATER})
    return 7.0 if alone.ph is None else alone.ph


_WATER = ChargeProfile(water=Fraction(1))


def raises(adjusters: Iterable[str], amounts: Amounts) -> bool:
    """Whether all of the adjusters that are there raise the pH, so that the pot starts at its lowest."""
    there = [one.group for one in amounts.present if one.id in set(adjusters)]
    return bool(there) and all(group == "alkali" for group in there)


def in_words(reach: Reach, dosed: bool, *, raises: bool = False) -> str:
    """`predicted 4.4, by the data 4.1 to 5.5 …`, and from where to where a dosed line reaches."""
    low, high = reach.acid_range
    error = max(reach.acid.model_error, reach.alkaline.model_error)
    spread = f"by the data {low:.1f} to {high:.1f}; the model errs by about {error:.2f}"
    if not dosed:
        return f"predicted {reach.acid.ph:.1f}, {spread}"
    before, span, after = reach.alkaline, reach.alkaline_range, reach.acid
    if raises:
        before, span, after = reach.acid, reach.acid_range, reach.alkaline
        low, high = reach.alkaline_range
        spread = f"by the data {low:.1f} to {high:.1f}; the model errs by about {error:.2f}"
    return (
        f"predicted {before.ph:.1f} ({span[0]:.1f} to {span[1]:.1f}) before the adjuster and "
        f"{after.ph:.1f} with all of it, {spread}"
    )
