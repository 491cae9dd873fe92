"""A limit that was moved for one request: what a maker turned by hand, beside briefs and options."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

LINE = "line:"
"""`rule` of a limit on an ingredient that no rule speaks of: this, and the ingredient's id."""


@dataclass(frozen=True, slots=True)
class Moved:
    """The rule with this id has these limits (None: that side is open), in the rule's own unit.

    `gone`: the rule is given up. `but_for`: ids of ingredients it does not count, such as one that is allowed
    again or is bought; the limits stay then.
    """

    rule: str
    low: Fraction | None = None
    high: Fraction | None = None
    gone: bool = False
    but_for: tuple[str, ...] = ()
