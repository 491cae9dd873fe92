"""Whether what a rule asks can be foretold, and what that asks of newcomers."""

from __future__ import annotations

from dataclasses import replace

from optimiser.checks.forecasts import foretell, gap
from optimiser.domain.request import Remark
from optimiser.domain.rules import Forecast, ForecastOf
from optimiser.law.allergens import label_limits
from optimiser.requests.draft import Draft
from optimiser.requests.predicting import Predicted, newcomers, without
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
    what = "HLB" if rule.of == "hlb" else rule.of.replace("_", " ")
    labels = label_limits(made.limits())
    told = foretell(rule.of, made.amounts, made.window, made.sources.constants, labels)
    if isinstance(told, Unknown):
        decides = "The seller's papers decide" if rule.of == "allergens" else "A reading at the bench decides"
        text = f"{first_upper(what)} {_is(rule.of)} not predicted: {told.reason}. {decides}."
        return replace(found, remarks=(*found.remarks, Remark(what, text)))
    unknown = {
        name: why
        for name in newcomers(found.slots, made)
        if (why := gap(rule.of, made.ingredients[name], made.sources.constants))
    }
    rules = tuple(replace(one, predicted=True) if one is rule else one for one in found.rules)
    return without(replace(found, rules=rules), unknown, what, made)


def _is(of: ForecastOf) -> str:
    return "are" if of == "allergens" else "is"
