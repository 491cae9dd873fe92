"""What nobody asked to hold and the models foretell moved far: thickness and pH, base beside proposal."""

from __future__ import annotations

import math
from collections.abc import Iterable
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.checks.thickness import PACKED, Thick, thickness_of
from optimiser.domain.outcome import Measure
from optimiser.domain.request import Remark, Request
from optimiser.domain.rules import Acidity, Thickness
from optimiser.requests.sentences import number
from optimiser.science.body import GRAINS
from optimiser.science.charge import Unknown
from optimiser.search.by_models import BODY_ERRS, LEAST_BODY, gives_body

FAR = Fraction(3, 2)
"""Times as thick, or as thin: less is not worth a word."""
FAR_PH = Fraction(3, 10)
SHEAR = Fraction(1)
PH = "pH, predicted"
ERRS = f"The sum may be off {BODY_ERRS.removeprefix('the thickness ')}"


def moved(request: Request, base: Amounts, now: Amounts, measured: Iterable[Measure]) -> tuple[Remark, ...]:
    """A sentence each for thickness and pH; none where a rule holds it or it is not foretold of both.

    Powders that pack solid are told whatever holds the thickness: then there is none to foretell.
    """
    return (*_thickness(request, base, now), *_acidity(request, measured))


def _thickness(request: Request, base: Amounts, now: Amounts) -> list[Remark]:
    if not (gives_body(base) or gives_body(now)):
        return []
    was, will = (thickness_of(one, SHEAR, request.ph_window, request.substances) for one in (base, now))
    if isinstance(was, Unknown):
        return []
    if isinstance(will, Unknown):
        return _packed(was, base) if will.reason == PACKED else []
    if any(isinstance(rule, Thickness) for rule in request.rules):
        return []
    thin, thick = sorted((was.value, will.value))
    if thick < LEAST_BODY or thick <= FAR * thin:
        return []
    text = (
        f"Foretold {_three(will.value)} Pa.s at {number(SHEAR)}/s, the base {_three(was.value)}: "
        f"{_times(will.value / was.value)}. {ERRS}: weigh a trial and read it, "
        "or ask for a thickness."
    )
    return [Remark("thickness", text)]


def _packed(was: Thick, base: Amounts) -> list[Remark]:
    """So much powder that no law of thickness holds, where the base still has one."""
    what = "paste" if any(one.group in GRAINS for one in base.present) else "liquid"
    text = (
        f"As much powder as this takes up all the liquid: it will not be the {what} that the base is "
        f"(foretold {_three(was.value)} Pa.s at {number(SHEAR)}/s). Weigh a small trial and look, "
        "or ask for less powder."
    )
    return [Remark("thickness", text)]


def _acidity(request: Request, measured: Iterable[Measure]) -> list[Remark]:
    """Only where no line is dosed to a pH: then the pH before and after it are no pH of the jar."""
    if request.ph_window is not None or any(isinstance(rule, Acidity) for rule in request.rules):
        return []
    return [
        Remark(
            "pH",
            f"Foretold {float(one.value):.2f}, the base {float(one.base):.2f}, and nothing asked holds it: "
            "weigh a trial and read it, or ask for a pH.",
        )
        for one in measured
        if one.name == PH and one.base is not None and one.value is not None
        if abs(one.value - one.base) > FAR_PH
    ]


def _times(ratio: Fraction) -> str:
    """`less than half as thick`, `60 % as thick`, `1.8 times as thick`."""
    if ratio < Fraction(1, 10):
        return "less than a tenth as thick"
    if ratio < Fraction(1, 2):
        return "less than half as thick"
    if ratio < 1:
        return f"about {round(100 * ratio)} % as thick"
    return f"about {_two(ratio)} times as thick"


def _three(value: Fraction) -> str:
    """As the table of measures rounds it: 89.6 there is 89.6 here."""
    return number(_digits(round(value, 2) or value, 3))


def _two(value: Fraction) -> str:
    return number(_digits(value, 2))


def _digits(value: Fraction, digits: int) -> Fraction:
    return round(value, digits - 1 - math.floor(math.log10(value))) if value > 0 else value
