"""Whether what a rule asks can be foretold, and what that asks of newcomers."""

from __future__ import annotations

from dataclasses import replace

from optimiser.checks.forecasts import foretell, gap
from optimiser.domain.request import Remark, SetAside
from optimiser.domain.rules import Forecast
from optimiser.requests.draft import Draft
from optimiser.requests.predicting import Predicted
from optimiser.requests.sentences import first_upper
from optimiser.science.charge import Unknown


def predict_forecasts(found: Predicted, made: Draft) -> Predicted:
    """Each forecast is held where the base has all its numbers; newcomers without them are set aside.

    Where the base has a gap the rule is held by reading, and the remark says why.
    """
    for rule in found.rules:
        if isinstance(rule, Forecast):
            found = _predicted(found, rule, made)
    return found


def _predicted(found: Predicted, rule: Forecast, made: Draft) -> Predicted:
    what = rule.of.replace("_", " ")
    told = foretell(rule.of, made.amounts, made.window, made.sources.constants)
    if isinstance(told, Unknown):
        text = f"{first_upper(what)} is not predicted: {told.reason}. A reading at the bench decides."
        return replace(found, remarks=(*found.remarks, Remark(what, text)))
    new = sorted({slot.ingredient for slot in found.slots} - made.formula.ingredients)
    unknown = {
        name: why for name in new if (why := gap(rule.of, made.ingredients[name], made.sources.constants))
    }
    aside = tuple(
        SetAside(
            name,
            f"so no {what} could be predicted with it: {why}",
            made.ingredients[name].name,
            made.ingredients[name].place,
        )
        for name, why in unknown.items()
    )
    rules = tuple(replace(one, predicted=True) if one is rule else one for one in found.rules)
    return replace(
        found,
        rules=rules,
        slots=tuple(slot for slot in found.slots if slot.ingredient not in unknown),
        aside=tuple(sorted((*found.aside, *aside), key=lambda item: item.ingredient)),
    )
