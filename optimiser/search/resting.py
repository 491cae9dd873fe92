"""Numbers that nobody looked up: which of them a proposal rests on, and which hold its sheet back."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from optimiser.checks.forecasts import FIGURES
from optimiser.domain.ingredient import Figure
from optimiser.domain.learned import in_words
from optimiser.domain.outcome import Verdict
from optimiser.domain.request import Remark, Request, Slot
from optimiser.domain.rules import Acidity, Covers, Forecast, Thickness
from optimiser.search.telling import totals

OF_POWDERS = ("buffer_slope", "powder_ph")
HOLDING = ("law", "safety")


def rests_on(
    request: Request, shares: Mapping[Slot, Fraction], verdicts: tuple[Verdict, ...]
) -> tuple[Remark, ...]:
    """Assumed numbers of the lines that are there, and what would settle them.

    A pH rests on what nobody looked up of the powders only where no line is dosed to a reading: that reading
    settles the others.
    """
    used = {getattr(v.rule, "strength", "") or getattr(v.rule, "figure", "") for v in verdicts} - {""}
    used |= {f"least_dose_{v.rule.group}" for v in verdicts if isinstance(v.rule, Covers)}
    if any(isinstance(v.rule, Thickness) and v.rule.predicted for v in verdicts):
        used |= {"viscosity_1pct"}
    used |= {name for v in verdicts if isinstance(v.rule, Forecast) for name in FIGURES[v.rule.of]}
    of_ph = OF_POWDERS if any(_undosed(v) for v in verdicts) else ()
    found = []
    for name, share in sorted(totals(shares).items()):
        for figure_name, figure in sorted(request.ingredients[name].figures.items()) if share else ():
            assumed = figure.status == "assumed" and figure_name in used
            if assumed or (figure_name in of_ph and not figure.sure):
                found.append(_told(request, name, figure_name, figure))
    return tuple(found)


def held(
    request: Request, shares: Mapping[Slot, Fraction], verdicts: tuple[Verdict, ...]
) -> tuple[Remark, ...]:
    """Those that hold the sheet: numbers that a must of law or safety rests on."""
    hard = (v for v in verdicts if v.rule.head.rank is None and v.rule.head.basis in HOLDING)
    return rests_on(request, shares, tuple(hard))


def _undosed(verdict: Verdict) -> bool:
    rule = verdict.rule
    return isinstance(rule, Acidity) and rule.predicted and not rule.adjusters and rule.head.rank is None


def _told(request: Request, ingredient: str, name: str, figure: Figure) -> Remark:
    how = "assumed" if figure.status == "assumed" else "from memory"
    text = (
        f"{in_words(name, request.ingredients[ingredient].name)} is {how} "
        f"({float(figure.value):g} {figure.unit}): a reading or the paper settles it."
    )
    return Remark(ingredient, text, figure.source)
