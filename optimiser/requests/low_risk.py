"""Products that count as low risk for microbes: no coverage is asked, but they have to stay what they are."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from optimiser.checks.amounts import Amounts, counted
from optimiser.domain.request import Remark
from optimiser.domain.rules import Forecast, Head, Rule, Share
from optimiser.domain.selector import AnyOf, Pick
from optimiser.requests.sentences import number
from optimiser.science.preservation import LOW_RISK_SOURCE, Span, low_risk
from optimiser.science.water_activity import MODEL

ETHANOL = AnyOf((Pick("substance", "Alcohol"), Pick("substance", "Alcohol Denat.")))
ENOUGH_ETHANOL = Fraction(20)
STEP = Fraction(1, 1000)
ABOUT = "low risk"
BOUND_WATER = Fraction(15)
"""% of water up to which it is what powders hold by nature and gives nothing off (common practice)."""


@dataclass(frozen=True, slots=True)
class LowRisk:
    """Whether it counts as low risk, the rules that keep it so, and what is said of it."""

    counts: bool = False
    rules: tuple[Rule, ...] = ()
    remarks: tuple[Remark, ...] = ()


def driest(stated: Iterable[Rule]) -> Span | None:
    """The highest water activity that a predicted must lets through, with the error of the prediction."""
    limits = [
        rule.high
        for rule in stated
        if isinstance(rule, Forecast) and rule.of == "water_activity" and rule.predicted
        if rule.head.rank is None and rule.high is not None
    ]
    return Span(Fraction(0), MODEL.band.around(min(limits))[1]) if limits else None


def low_risk_of(base: Amounts, window: tuple[Fraction, Fraction] | None, dry: Span | None = None) -> LowRisk:
    """By ethanol, by a pH window or by a rule on water activity, on what surely holds."""
    surely = base.sum(lambda one: counted(ETHANOL, one).surely)
    at_most = base.sum(lambda one: counted(ETHANOL, one).at_most)
    lines = low_risk(
        ethanol=Span(surely, max(surely, at_most)),
        ph=None if window is None else Span(*window),
        water_activity=dry,
    )
    if not lines:
        return LowRisk()
    what = f"Counts as low risk for microbes ({' and '.join(lines)}), so no coverage is asked."
    keep = "It has to stay so, and a microbial count still belongs to each batch."
    remark = Remark(ABOUT, f"{what} {keep}", LOW_RISK_SOURCE)
    return LowRisk(True, _staying(surely, window), (remark,))


def water_free(base: Amounts) -> tuple[Remark, ...]:
    """What is said of a product none of whose lines brings water; nothing where one may."""
    waters = [one.figure("water_content") for one in base.present]
    if any(water is None or water.high > BOUND_WATER for water in waters):
        return ()
    text = (
        "Free of water, so it counts as low risk for microbes and no coverage is asked. Wet hands or shower "
        "water end that: a scoop or a tube, dry hands on the label, or a preservative that works there."
    )
    return (Remark(ABOUT, text, LOW_RISK_SOURCE),)


def _staying(ethanol: Fraction, window: tuple[Fraction, Fraction] | None) -> tuple[Rule, ...]:
    """A pH window keeps itself; the ethanol must not fall to the line."""
    if ethanol <= ENOUGH_ETHANOL or (window is not None and low_risk(ph=Span(*window))):
        return ()
    low = ENOUGH_ETHANOL + STEP
    text = f"Ethanol: at least {number(low)} %, above the line for low risk."
    return (Share(Head("house#low-risk", text, LOW_RISK_SOURCE, basis="safety"), ETHANOL, low),)
