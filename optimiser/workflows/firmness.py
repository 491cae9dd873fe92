"""What firmness costs: the same request at middle values, as asked, and for every value in the data."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from optimiser.domain.firm import Firm
from optimiser.domain.outcome import Firmness, FirmPrice, Proposal
from optimiser.domain.request import Request
from optimiser.requests.firm import held_firm, is_held, notes
from optimiser.search.propose import search
from optimiser.solver.interface import Limits

Tell = Callable[[str], None]


def firmness_of(
    plain: Request, firm: Request, found: Proposal | None, limits: Limits, tell: Tell
) -> Firmness | None:
    """The price of firmness of `firm`, which is `plain` held firm; `found` is its first proposal, if any."""
    asked = firm.firm
    if asked is None:
        return None
    levels: list[tuple[Firm | None, Request | None]] = [(None, plain), (asked, None)]
    if asked.off_at_once is not None:
        levels.append((Firm(), held_firm(plain, Firm())))
    prices = []
    for level, request in levels:
        tell("pricing firmness")
        answer = found if request is None else _first(request, limits)
        prices.append(_price(level, answer))
    held = tuple(rule for rule in firm.rules if rule not in plain.rules and is_held(rule))
    return Firmness(asked, held, notes(firm), tuple(prices))


def _first(request: Request, limits: Limits) -> Proposal | None:
    found = search(request, limits=limits).proposals
    return found[0] if found else None


def _price(level: Firm | None, proposal: Proposal | None) -> FirmPrice:
    if proposal is None:
        return FirmPrice(level, False)
    departure = sum((part for _, part in proposal.departure_parts), Fraction(0))
    return FirmPrice(level, True, proposal.cost_per_kg, departure, len(proposal.unmet_wishes))
