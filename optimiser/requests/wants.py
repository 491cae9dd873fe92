"""What a formula or brief wants, as rules with settled numbers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import assert_never

from optimiser.checks.amounts import Amounts, counted
from optimiser.checks.measures import cost, middle, unit_of
from optimiser.checks.thickness import Thick, thickness_of
from optimiser.domain.response import Fitted
from optimiser.domain.rules import (
    Acidity,
    Amount,
    Basis,
    Cost,
    Covers,
    Forecast,
    ForecastOf,
    FreeLiquid,
    Head,
    Level,
    LineCount,
    Mean,
    Newcomers,
    Ratio,
    Reaches,
    Response,
    Rule,
    Share,
    Thickness,
)
from optimiser.domain.selector import Selector
from optimiser.domain.substance import Substance
from optimiser.domain.wanted import Span, Wanted
from optimiser.requests.sentences import first_upper, number, reckoned, says_nothing, span

LEAST_DOSE = "least_dose_"


@dataclass(frozen=True, slots=True)
class Base:
    """The base formula as numbers, for spans that speak of it."""

    amounts: Amounts
    currency: str
    ph_top: Fraction | None = None
    window: tuple[Fraction, Fraction] | None = None
    substances: Mapping[str, Substance] = field(default_factory=dict)
    responses: Mapping[str, Fitted] = field(default_factory=dict)


Settled = tuple[Fraction | None, Fraction | None]


def settle(asked: Span, base: Callable[[], Fraction]) -> Settled:
    """Limits of a span; `base` is asked only when the span speaks of it."""
    low, high = asked.low, asked.high
    if asked.within_part is not None:
        low, high = base() * (1 - asked.within_part), base() * (1 + asked.within_part)
    if asked.within_points is not None:
        low, high = base() - asked.within_points, base() + asked.within_points
    if asked.low_part is not None:
        low = base() * asked.low_part
    if asked.high_part is not None:
        high = base() * asked.high_part
    return (None if low is None else max(low, Fraction(0)) if asked.low is None else low), high


def rules_from(wanted: Wanted, base: Base, *, origin: str, basis: Basis = "character") -> tuple[Rule, ...]:
    """The rules of one want; `origin` is the file they come from."""
    head = Head(
        id=f"{origin}#{wanted.label}",
        sentence="",
        source=wanted.source or origin,
        why=wanted.why,
        basis="wish" if wanted.rank is not None else basis,
        rank=wanted.rank,
        surely=wanted.surely,
    )
    match wanted.topic:
        case "share" | "level" | "mean":
            return (_measured(wanted, head, base),)
        case "ratio":
            return (_ratio(wanted, head, base),)
        case "keep":
            return (_keep(wanted, head, base),)
        case "ph":
            low, high = wanted.span.low or Fraction(0), wanted.span.high or Fraction(14)
            text = f"pH {span(low, high, '')}, set at the table by reading."
            return (Acidity(replace(head, sentence=text), low, high),)
        case "covers":
            return tuple(covers(head, group, base.ph_top) for group in wanted.name.split())
        case "reaches_water":
            return tuple(_reaches(head, group, base.ph_top) for group in wanted.name.split())
        case "free_liquid":
            asked = wanted.span
            text = f"Free liquid: {span(asked.low, asked.high)} of the formula, after what the powders drink."
            return (FreeLiquid(replace(head, sentence=text), asked.low, asked.high),)
        case "water_activity" | "frost_proof" | "powder_volume" | "buffer" | "hlb" | "undissolved":
            return (_forecast(wanted.topic, wanted, head),)
        case "density" | "allergens":
            return (_forecast(wanted.topic, wanted, head),)
        case "response":
            return (_response(wanted, head, base),)
        case "thickness":
            return (_thickness(wanted, head, base),)
        case "cost":
            high = settle(wanted.span, lambda: _base_cost(base))[1] or Fraction(0)
            text = f"Material cost: at most {number(high)} {base.currency} per kg."
            return (Cost(replace(head, sentence=text), high),)
        case "newcomers" | "lines":
            return (_count(wanted, head),)
        case _:
            assert_never(wanted.topic)


FORETOLD: dict[ForecastOf, tuple[str, str]] = {
    "water_activity": ("Water activity", ""),
    "frost_proof": ("No ice down to so far below 0 °C", "°C"),
    "powder_volume": ("Powders by volume", "%"),
    "buffer": ("Buffer at both ends of the pH window", "mmol/kg per pH"),
    "hlb": ("HLB of the emulsifiers from what the oils ask for", ""),
    "undissolved": ("What water and oil do not hold dissolved", "%"),
    "density": ("Density without air", "g/ml"),
    "allergens": ("Listed allergens that the label has to name", ""),
}


def _forecast(of: ForecastOf, wanted: Wanted, head: Head) -> Forecast:
    what, unit = FORETOLD[of]
    asked = wanted.span
    text = f"{what}: {span(asked.low, asked.high, unit)}."
    return Forecast(replace(head, sentence=text), of, asked.low, asked.high)


def _response(wanted: Wanted, head: Head, base: Base) -> Response:
    fitted = base.responses[wanted.name].made_so(dict(wanted.made))
    asked = wanted.span
    names = " … ".join(dict.fromkeys((*fitted.trials[:1], *fitted.trials[-1:])))
    how = ", ".join(f"{one.name} at {number(one.low)} {one.unit}".rstrip() for one in fitted.settings)
    made = f", made with {how}" if how else ""
    text = f"{first_upper(fitted.name)}{made}: {span(asked.low, asked.high, fitted.unit)}."
    source = wanted.source or f"fitted from trials {names}, ± {float(fitted.deviation):.2g}"
    return Response(replace(head, sentence=text, source=source), fitted, asked.low, asked.high)


def _reaches(head: Head, group: str, ph_top: Fraction | None) -> Reaches:
    where = f" at pH {number(ph_top)}" if ph_top is not None else ""
    text = f"Against {group}, one least free dose or more reaches the water{where}, past powders and oil."
    return Reaches(replace(head, id=f"{head.id}-{group}", sentence=text), group, ph_top)


def covers(head: Head, group: str, ph_top: Fraction | None) -> Covers:
    """Coverage is a safety rule: it holds at worst values, wish or must."""
    basis: Basis = "wish" if head.rank is not None else "safety"
    where = f" at pH up to {number(ph_top)}" if ph_top is not None else ""
    text = f"{first_upper(group)} covered on paper{where} by one preservative at or above its own least dose."
    return Covers(replace(head, id=f"{head.id}-{group}", sentence=text, basis=basis), group, ph_top)


def _thickness(wanted: Wanted, head: Head, base: Base) -> Thickness:
    """Limits stay open where they speak of a base whose thickness cannot be told."""
    told = thickness_of(base.amounts, wanted.shear, base.window, base.substances)
    at = f" at {number(wanted.shear)}/s"
    if isinstance(told, Thick):
        value = told.value
        low, high = settle(wanted.span, lambda: value)
        text = f"Thickness: {_spoken(wanted.span, low, high, 'Pa.s', at)}."
        return Thickness(replace(head, sentence=text), low, high, wanted.shear)
    low, high = wanted.span.low, wanted.span.high
    asked = span(low, high, "Pa.s") if low is not None or high is not None else "as asked"
    text = f"Thickness: {asked}{at}{_of_base(wanted.span)}, held by reading."
    return Thickness(replace(head, sentence=text), low, high, wanted.shear)


def _base_cost(base: Base) -> Fraction:
    return cost(base.amounts) or Fraction(0)


def _selector(wanted: Wanted) -> Selector:
    if wanted.of is None:
        raise ValueError(f"{wanted.label}: a {wanted.topic} needs a selector")
    return wanted.of


def _measured(wanted: Wanted, head: Head, base: Base) -> Rule:
    bare: Share | Level | Mean
    if wanted.topic == "share":
        bare = Share(head, _selector(wanted), phase=wanted.phase)
        name = f"share of {bare.of}"
    elif wanted.topic == "level":
        bare = Level(head, wanted.name, phase=wanted.phase)
        name = f"level of {wanted.name.removeprefix(LEAST_DOSE)}"
    else:
        bare = Mean(head, wanted.name)
        name = f"mean {wanted.name.replace('_', ' ')}"
    low, high = settle(wanted.span, lambda: middle(bare, base.amounts))
    where = f" in phase {wanted.phase}" if wanted.phase else ""
    text = f"{first_upper(name)}{where}: {_spoken(wanted.span, low, high, unit_of(bare))}."
    return replace(bare, head=replace(head, sentence=text), low=low, high=high)


def _spoken(asked: Span, low: Fraction | None, high: Fraction | None, unit: str = "%", at: str = "") -> str:
    """Limits as they were written, or as they are reckoned from the base, with how."""
    if asked.low_part is not None and asked.high_part is not None and says_nothing(low, high, unit):
        asked = replace(asked, high_part=None)
    how = _of_base(asked)
    written = "low" if asked.low is not None else "high" if asked.high is not None else ""
    return f"{reckoned(low, high, unit, written=written) if how else span(low, high, unit)}{at}{how}"


def _of_base(asked: Span) -> str:
    if asked.within_part is not None:
        return f" (within {number(asked.within_part * 100)} % of the base)"
    if asked.within_points is not None:
        return f" (within {number(asked.within_points)} points of the base)"
    parts = [part for part in (asked.low_part, asked.high_part) if part is not None]
    told = " and ".join(f"{number(part * 100)} %" for part in dict.fromkeys(parts))
    if asked.low is not None or asked.high is not None:
        side = "least" if asked.low_part is not None else "most"
        return f" (the {side}: {told} of the base)" if told else ""
    return f" ({told} of the base)" if told else ""


def _ratio(wanted: Wanted, head: Head, base: Base) -> Ratio:
    top, bottom = _selector(wanted), wanted.over
    if bottom is None:
        raise ValueError(f"{wanted.label}: a ratio needs two selectors")

    def of_base() -> Fraction:
        below = base.amounts.sum(lambda i: counted(bottom, i).surely, wanted.phase)
        above = base.amounts.sum(lambda i: counted(top, i).surely, wanted.phase)
        return above / below if below else Fraction(0)

    low, high = settle(wanted.span, of_base)
    where = f" in phase {wanted.phase}" if wanted.phase else ""
    text = f"{first_upper(str(top))} to {bottom}{where}: {_spoken(wanted.span, low, high, '')}."
    return Ratio(replace(head, sentence=text), top, bottom, low, high, wanted.phase)


def _keep(wanted: Wanted, head: Head, base: Base) -> Amount:
    low, high = settle(wanted.span, lambda: base.amounts.of(wanted.name))
    ingredient = base.amounts.ingredients.get(wanted.name)
    name = ingredient.name if ingredient else wanted.name
    text = f"{name}: {_spoken(wanted.span, low, high)}."
    return Amount(replace(head, sentence=text), wanted.name, low, high)


def _count(wanted: Wanted, head: Head) -> Rule:
    most = int(wanted.span.high or 0)
    if wanted.topic == "newcomers":
        text = f"At most {most} ingredient{'' if most == 1 else 's'} that the base does not have."
        return Newcomers(replace(head, sentence=text), most)
    text = f"At most {most} ingredients in all."
    return LineCount(replace(head, sentence=text), most)
