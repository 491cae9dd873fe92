"""'Impossible' is said only when two solvers agree and no number that nobody looked up carries it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace

from optimiser.certify.proof import Cases, Feasible
from optimiser.checks.forecasts import FIGURES
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.learned import in_words as named
from optimiser.domain.outcome import Conflict, Impossible, Undecided, Verdict
from optimiser.domain.request import Remark, Request
from optimiser.domain.rules import Acidity, Covers, Forecast, Level, Mean, Reaches, Rule, Thickness
from optimiser.domain.vocabulary import unit_words
from optimiser.explain.beyond import bare, beyond_trials
from optimiser.explain.concession import concessions
from optimiser.explain.conflict import Found, UnsureError, find_conflict
from optimiser.explain.giving import with_ceilings
from optimiser.explain.members import nearly_there, told_of, ways_out
from optimiser.explain.mix import least_mix
from optimiser.explain.outside import Again, finer_grid, outside
from optimiser.explain.proof import in_words, settle
from optimiser.explain.rest import Rest
from optimiser.explain.unknown import unknown_of
from optimiser.explain.vanishing import vanishes
from optimiser.explain.words import Tongue
from optimiser.explain.words_ph import ph_told
from optimiser.lp.build import build
from optimiser.model.rows import Model
from optimiser.science.body import FIGURES as OF_BODY
from optimiser.search.propose import untold
from optimiser.search.stages import bent
from optimiser.solver.interface import Limits, Outcome
from optimiser.solver.solving import Engine, solve

Tell = Callable[[str], None]
OFF_GRID = "possible in theory, but no formula in whole steps of 0.001 % was found that the judge accepts"
ENGINES: tuple[tuple[str, Engine], ...] = (("HiGHS", "highs"), ("CBC", "cbc"))
EXACT = "exact fractions"
UNSETTLED = "what can be predicted cannot settle this: no formula surely holds, none is proved impossible"
NOT_AGREED = "the two solvers do not agree whether a formula exists"
NOT_DECIDED = "the solver could not decide"
SETTLES = "A reading or the supplier's paper settles it."
"""After it stands, of a number that decides alone, at which value the verdict would turn."""
RESTS = "impossible with the assumed and remembered numbers as they stand, possible with others"


def explain_impossible(
    request: Request,
    base: tuple[Verdict, ...],
    limits: Limits,
    *,
    off_grid: bool,
    tell: Tell,
    again: Again | None = None,
) -> Impossible | Undecided:
    """The verdict on a request no formula was found for.

    HiGHS and CBC must both find the musts infeasible, or a proof by cases in exact fractions must; such a
    proof needs no second opinion, and an exact answer overrules both solvers. `again` closes the request with
    an ingredient left out, for ways out that lie beyond it. What trials taught is never part of a proof.
    """
    if (plain := bare(request)) != request:
        if off_grid:
            return Undecided(request, base, OFF_GRID, concessions=finer_grid(request, limits))
        tell("looking beyond what the trials had")
        told = beyond_trials(request, base, limits)
        if told is not None:
            return told
        request = plain
    tell("asking a second solver")
    rest = Rest(with_ceilings(request), limits)
    agreed = tuple(name for name, engine in ENGINES if _infeasible(rest.model, engine, limits))
    if off_grid or len(agreed) < len(ENGINES):
        tell("proving that no formula can do it")
        if not isinstance(settle(rest.model, limits), Cases):
            if off_grid:
                ways = finer_grid(request, limits)
                return Undecided(request, base, OFF_GRID, concessions=ways)
            return _not_proved(request, base, agreed, limits)
        agreed = (*agreed, EXACT)
    return _explained(rest, request, base, agreed, nearly=off_grid, tell=tell, again=again)


def _infeasible(model: Model, engine: str, limits: Limits) -> bool:
    return (
        solve(model, engine="cbc" if engine == "cbc" else "highs", limits=limits).outcome
        is Outcome.INFEASIBLE
    )


def _explained(
    rest: Rest,
    request: Request,
    base: tuple[Verdict, ...],
    agreed: tuple[str, ...],
    *,
    nearly: bool,
    tell: Tell,
    again: Again | None,
) -> Impossible | Undecided:
    tell("looking for the rules that clash")
    limits = rest.limits
    try:
        found = find_conflict(rest.request, limits, rest.model)
    except UnsureError as fault:
        return Undecided(request, base, fault.what)
    conflict = _told(found, limits)
    if conflict is None:
        return Undecided(
            request, base, "possible by less than the solvers can tell apart; the exact rows have an answer"
        )
    tell("looking for the smallest concession")
    tongue = Tongue(request)
    ways = ways_out(rest, found.rules, tongue)
    cures = concessions([cure for rule in found.rules for cure in ways[rule.head.id]], limits)
    if not cures:
        mix = least_mix(rest.request, limits)
        cures = (mix,) if mix is not None else ()
    told = ph_told(rest, found.rules, tongue)
    conflict = replace(conflict, best=told_of(rest, found.rules, ways), told=told)
    nearly = nearly or nearly_there(rest, cures)
    return Impossible(
        request,
        base,
        (conflict,),
        (*cures, *outside(request, found.rules, limits, again)),
        agreed,
        nearly,
        unknown=unknown_of(request, found.rules),
    )


def _not_proved(
    request: Request, base: tuple[Verdict, ...], agreed: tuple[str, ...], limits: Limits
) -> Undecided:
    if agreed:
        return Undecided(request, base, NOT_AGREED)
    wishes = {r.head.id for r in request.rules if r.head.rank is not None}
    strict = build(request, without=wishes)
    if _infeasible(strict, "highs", limits):
        why = untold(request)
        straight = build(request, without=wishes | {r.head.id for r in request.rules if bent(r)})
        if why and not _infeasible(straight, "highs", limits):
            return Undecided(request, base, why, assumed(request, request.rules))
        turning = vanishes(request, limits, _unsure(request))
        numbers = assumed(request, request.rules, turning)
        return Undecided(request, base, RESTS if numbers else UNSETTLED, numbers)
    return Undecided(request, base, NOT_DECIDED)


def assumed(
    request: Request, rules: tuple[Rule, ...], turning: Mapping[str, str] | None = None
) -> tuple[Remark, ...]:
    """Assumed or remembered numbers that the rules use, of the base's lines or else of others.

    Each with what settles it; `turning` tells of `ingredient figure` at which value the verdict would turn.
    """
    names, turning = _names_read(rules), turning or {}
    own = [request.ingredients[name] for name in sorted(request.formula.ingredients)]
    others = [i for name, i in sorted(request.ingredients.items()) if name not in request.formula.ingredients]
    made_of = any(isinstance(r, Acidity) and r.predicted for r in rules)
    turned = [i for i in others if any(key.split(" ")[0] == i.id for key in turning)]
    if turned:
        return _said_of([*own, *turned], names, turning, made_of=made_of)
    return _said_of(own, names, turning, made_of=made_of) or _said_of(others, names, {}, made_of=made_of)


def _unsure(request: Request) -> list[tuple[str, str]]:
    """(ingredient, figure) that nobody looked up and the rules use, the base's own first."""
    names = sorted(_names_read(request.rules))
    own = request.formula.ingredients
    ranked = sorted(request.ingredients, key=lambda name: (name not in own, name))
    pairs = [(i, name, request.ingredients[i].figure(name)) for i in ranked for name in names]
    return [(i, name) for i, name, figure in pairs if figure is not None and not figure.sure]


def _names_read(rules: tuple[Rule, ...]) -> set[str]:
    """Figures that the rules read."""
    names = {r.strength for r in rules if isinstance(r, Level)} | {
        r.figure for r in rules if isinstance(r, Mean)
    }
    names |= {f"least_dose_{r.group}" for r in rules if isinstance(r, Covers)}
    if any(isinstance(r, Thickness) and r.predicted for r in rules):
        names |= set(OF_BODY)
    if any(isinstance(r, Reaches) for r in rules):
        names |= {"preservative_binding", "oil_partition"}
        names |= {f"free_dose_{r.group}" for r in rules if isinstance(r, Reaches)}
    if any(isinstance(r, Acidity) and r.predicted for r in rules):
        names |= {"buffer_slope", "powder_ph"}
    if any(isinstance(r, Covers) for r in rules):
        names.add("ph_works_max")
    names |= {name for r in rules if isinstance(r, Forecast) and r.predicted for name in FIGURES[r.of]}
    return names


def _said_of(
    ingredients: Iterable[Ingredient], names: Iterable[str], turning: Mapping[str, str], *, made_of: bool
) -> tuple[Remark, ...]:
    """`made_of` speaks of shares in ingredients as well."""
    found = []
    wanted = sorted(names)
    for ingredient in ingredients:
        for name in wanted:
            figure = ingredient.figure(name)
            if figure is not None and not figure.sure:
                how = "assumed" if figure.status == "assumed" else "from memory"
                unit = unit_words(figure.unit)
                spread = f"{float(figure.low):g} to {float(figure.high):g}{f' {unit}' if unit else ''}"
                text = f"{named(name, ingredient.name)} is {how}: {spread}. {SETTLES}"
                if turn := turning.get(f"{ingredient.id} {name}"):
                    text += f" {turn}"
                found.append(Remark(ingredient.id, text, figure.source))
        for part in ingredient.composition or () if made_of else ():
            if part.low < part.high and not part.sure:
                share = f"{float(part.low):g} to {float(part.high):g} %"
                text = (
                    f"{part.substance} in {ingredient.name} is {share}, which nobody looked up. "
                    "The supplier's paper settles it."
                )
                found.append(Remark(ingredient.id, text, part.source))
    return tuple(found)


def _told(found: Found, limits: Limits) -> Conflict | None:
    """The conflict with its exact proof; None when exact arithmetic finds an answer after all."""
    proof = settle(found.model, limits)
    if isinstance(proof, Feasible):
        return None
    words = in_words(found.model, proof) if proof is not None else ()
    return Conflict(found.rules, True, found.witnesses, proof is not None, words)
