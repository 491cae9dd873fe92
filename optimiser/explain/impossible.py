"""'Impossible' is said only when two solvers agree and no number that nobody looked up carries it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from optimiser.certify.proof import Cases, Feasible
from optimiser.checks.forecasts import FIGURES
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.outcome import Conflict, Impossible, Undecided, Verdict
from optimiser.domain.request import Remark, Request
from optimiser.domain.rules import Acidity, Covers, Forecast, Level, Mean, Reaches, Rule, Thickness
from optimiser.explain.concession import concessions
from optimiser.explain.conflict import Found, UnsureError, find_conflict, hard_model
from optimiser.explain.mix import least_mix
from optimiser.explain.proof import in_words, settle
from optimiser.lp.build import build
from optimiser.model.rows import Model
from optimiser.science.body import FIGURES as OF_BODY
from optimiser.search.propose import untold
from optimiser.search.stages import bent
from optimiser.solver.interface import Limits, Outcome
from optimiser.solver.pulp_backend import Engine, solve

Tell = Callable[[str], None]
OFF_GRID = "possible in theory, but no formula in whole steps of 0.001 % was found that the judge accepts"
ENGINES: tuple[tuple[str, Engine], ...] = (("HiGHS", "highs"), ("CBC", "cbc"))
EXACT = "exact fractions"
UNSETTLED = "what can be predicted cannot settle this: no formula surely holds, none is proved impossible"
RESTS = "impossible with the assumed and remembered numbers as they stand, possible with others"


def explain_impossible(
    request: Request, base: tuple[Verdict, ...], limits: Limits, *, off_grid: bool, tell: Tell
) -> Impossible | Undecided:
    """The verdict on a request no formula was found for.

    HiGHS and CBC must both find the musts infeasible, or a proof by cases in exact fractions must; such a
    proof needs no second opinion, and an exact answer overrules both solvers.
    """
    tell("asking a second solver")
    model = hard_model(request)
    agreed = tuple(name for name, engine in ENGINES if _infeasible(model, engine, limits))
    if off_grid or len(agreed) < len(ENGINES):
        tell("summing the contradiction up in fractions")
        if not isinstance(settle(model, limits), Cases):
            return (
                Undecided(request, base, OFF_GRID) if off_grid else _not_proved(request, base, agreed, limits)
            )
        agreed = (*agreed, EXACT)
    return _explained(request, base, limits, agreed, nearly=off_grid, tell=tell)


def _infeasible(model: Model, engine: str, limits: Limits) -> bool:
    return (
        solve(model, engine="cbc" if engine == "cbc" else "highs", limits=limits).outcome
        is Outcome.INFEASIBLE
    )


def _explained(
    request: Request,
    base: tuple[Verdict, ...],
    limits: Limits,
    agreed: tuple[str, ...],
    *,
    nearly: bool,
    tell: Tell,
) -> Impossible | Undecided:
    tell("looking for the rules that clash")
    try:
        found = find_conflict(request, limits)
    except UnsureError as fault:
        return Undecided(request, base, fault.what)
    conflict = _told(found, limits)
    if conflict is None:
        return Undecided(
            request, base, "possible by less than the solvers can tell apart; the exact rows have an answer"
        )
    tell("looking for the smallest concession")
    cures = concessions(request, found.rules, limits)
    if not cures:
        mix = least_mix(request, limits)
        cures = (mix,) if mix is not None else ()
    best = tuple(
        Remark(c.rule.head.id, c.sentence) for c in cures if c.enough not in ("without it", "together")
    )
    return Impossible(request, base, (replace(conflict, best=best),), cures, agreed, nearly)


def _not_proved(
    request: Request, base: tuple[Verdict, ...], agreed: tuple[str, ...], limits: Limits
) -> Undecided:
    if agreed:
        return Undecided(request, base, "the two solvers do not agree whether a formula exists")
    wishes = {r.head.id for r in request.rules if r.head.rank is not None}
    strict = build(request, without=wishes)
    if _infeasible(strict, "highs", limits):
        why = untold(request)
        straight = build(request, without=wishes | {r.head.id for r in request.rules if bent(r)})
        if why and not _infeasible(straight, "highs", limits):
            return Undecided(request, base, why, assumed(request, request.rules))
        numbers = assumed(request, request.rules)
        return Undecided(request, base, RESTS if numbers else UNSETTLED, numbers)
    return Undecided(request, base, "the solver could not decide")


def assumed(request: Request, rules: tuple[Rule, ...]) -> tuple[Remark, ...]:
    """Assumed or remembered numbers that the rules use, of the base's lines or else of others.

    Each with what settles it.
    """
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
    own = [request.ingredients[name] for name in sorted(request.formula.ingredients)]
    others = [i for name, i in sorted(request.ingredients.items()) if name not in request.formula.ingredients]
    made_of = any(isinstance(r, Acidity) and r.predicted for r in rules)
    return _said_of(own, names, made_of=made_of) or _said_of(others, names, made_of=made_of)


def _said_of(ingredients: Iterable[Ingredient], names: Iterable[str], *, made_of: bool) -> tuple[Remark, ...]:
    """`made_of` speaks of shares in ingredients as well."""
    found = []
    wanted = sorted(names)
    for ingredient in ingredients:
        for name in wanted:
            figure = ingredient.figure(name)
            if figure is not None and not figure.sure:
                how = "assumed" if figure.status == "assumed" else "from memory"
                text = (
                    f"{name.replace('_', ' ')} of {ingredient.name} is {how}: {float(figure.low):g} to "
                    f"{float(figure.high):g} {figure.unit}. A reading or the supplier's paper settles it."
                )
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
