"""Whether what trials taught can be used, and the bounds within which it holds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from optimiser.domain.request import Remark
from optimiser.domain.response import Reach
from optimiser.domain.rules import Amount, Head, Response, Rule, Share
from optimiser.domain.selector import AnyOf, Pick
from optimiser.requests.draft import Draft
from optimiser.requests.predicting import Predicted, newcomers, without
from optimiser.requests.sentences import first_upper, span

ORIGIN = "trials"
"""How the id of a rule begins that keeps a formula where the trials were."""
NOT_TRIED = "no trial had it"


def predict_responses(found: Predicted, made: Draft) -> Predicted:
    """Each is predicted where the trials had every ingredient of the base; others are set aside then.

    The formula is held where the trials were, ingredient by ingredient. Where the base has something that no
    trial had, the rule is held by reading, and the remark says why.
    """
    for rule in found.rules:
        if isinstance(rule, Response):
            found = _predicted(found, rule, made)
    return found


def _predicted(found: Predicted, rule: Response, made: Draft) -> Predicted:
    fitted = rule.fitted
    strange = [made.ingredients[name].name for name in sorted(made.formula.ingredients - fitted.known)]
    if strange:
        text = (
            f"{first_upper(fitted.name)} is not predicted: no trial had {', '.join(strange)}. "
            "What is felt or read at the bench decides."
        )
        return replace(found, remarks=(*found.remarks, Remark(fitted.name, text)))
    unknown = {name: NOT_TRIED for name in newcomers(found.slots, made) if name not in fitted.known}
    rules = [replace(one, predicted=True) if one is rule else one for one in found.rules]
    rules += _bounds(rule, made)
    return without(replace(found, rules=tuple(rules)), unknown, fitted.name, made)


def is_bound(rule: Rule) -> bool:
    """Whether a rule only keeps a formula where the trials were."""
    return rule.head.id.startswith(f"{ORIGIN}#")


def _bounds(rule: Response, made: Draft) -> Iterator[Rule]:
    fitted = rule.fitted
    dosed = {line.ingredient for _, line in made.formula.lines if line.dosed}
    for one in (*fitted.varied, *fitted.others):
        if one.ingredient not in dosed:
            yield _bound(rule, one, made)
    low, high = fitted.together
    names = [made.ingredients[one.ingredient].name for one in fitted.varied]
    head = _head(rule, "together", f"{' + '.join(names)}: {span(low, high)}, as the trials had it.")
    yield Share(head, AnyOf(tuple(Pick("ingredient", one.ingredient) for one in fitted.varied)), low, high)


def _bound(rule: Response, one: Reach, made: Draft) -> Amount:
    text = f"{made.ingredients[one.ingredient].name}: {span(one.low, one.high)}, as the trials had it."
    return Amount(_head(rule, one.ingredient, text), one.ingredient, one.low, one.high)


def _head(rule: Response, what: str, text: str) -> Head:
    own = rule.head
    return Head(
        f"{ORIGIN}#{rule.fitted.id} {what}",
        text,
        own.source,
        f"{rule.fitted.name} is known there",
        "character",
        own.rank,
    )


def unpredicted(rules: tuple[Rule, ...]) -> tuple[Rule, ...]:
    """The rules without predicted responses and the bounds that come with them."""
    return tuple(r for r in rules if not is_bound(r) and not (isinstance(r, Response) and r.predicted))
