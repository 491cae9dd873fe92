"""What can be said beside the briefs."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.domain.brief import Aim
from optimiser.domain.firm import Firm
from optimiser.domain.moved import Moved
from optimiser.domain.selector import Selector


@dataclass(frozen=True, slots=True)
class Options:
    """Wishes of the moment. `bare` lifts the carried targets of `cheapest`, and says so.

    `moved` are limits moved by hand, in the order they were moved.
    """

    briefs: tuple[str, ...] = ()
    leave_out: tuple[Selector, ...] = ()
    instead_of: tuple[tuple[str, str], ...] = ()
    only_from: str = ""
    aim: tuple[Aim, ...] = ()
    bare: bool = False
    firm: Firm | None = None
    moved: tuple[Moved, ...] = ()
