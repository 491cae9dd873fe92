"""Remarks beside lines of which the water does not hold all."""

from __future__ import annotations

from optimiser.checks.amounts import Amounts
from optimiser.checks.dissolving import Undissolved, undissolved
from optimiser.domain.request import Remark, Request
from optimiser.requests.sentences import number
from optimiser.science import solubility

ERROR = "the sum errs by about a third"


def will_not_dissolve(request: Request, now: Amounts) -> list[Remark]:
    """What surely stays out, by the middle of the data."""
    return [_remark(one) for one in _all(request, now) if one.surely]


def may_not_dissolve(request: Request, now: Amounts) -> list[Remark]:
    """What stays out at the worst of the data, or if nothing beside the water helps."""
    return [_remark(one) for one in _all(request, now) if not one.surely]


def _all(request: Request, now: Amounts) -> tuple[Undissolved, ...]:
    return undissolved(now, request.ph_window, request.substances)


def _remark(one: Undissolved) -> Remark:
    where = f" at pH {number(one.ph)}, the lowest of the window" if one.ph is not None else ""
    out, worst, dose = (number(round(share, 2)) for share in (one.out, one.worst, one.dose))
    cure = (
        "it needs a carrier, more water or a higher pH"
        if one.ph is not None
        else "it needs a carrier or more water"
    )
    if one.surely:
        most = f" (at worst {worst} %)" if worst != out else ""
        text = f"{out} % of its {dose} % will not dissolve{where}{most}; {ERROR}: {cure}."
    else:
        look = "look for crystals after a day in the cold"
        text = f"up to {worst} % of its {dose} % may not dissolve{where}; {ERROR}: {look}."
    return Remark(one.ingredient.id, f"{one.ingredient.name}: {text}", solubility.MODEL.sources[0])
