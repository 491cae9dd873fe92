"""Names of the model's variables: the part before the colon tells what a variable is."""

from __future__ import annotations

from optimiser.domain.request import Slot
from optimiser.domain.selector import AnyOf, Selector


def share(slot: Slot) -> str:
    """Share of one line, % w/w."""
    return f"x:{slot}"


def used(ingredient: str) -> str:
    """1 when the ingredient is in the formula."""
    return f"y:{ingredient}"


def sum_of(selector: Selector, side: str, phase: str | None) -> str:
    """What very many lines hold together of what the selector counts, % w/w."""
    picks = selector.picks if isinstance(selector, AnyOf) else (selector,)
    of = " or ".join(f"{pick.field}:{pick.name}" for pick in picks)
    return f"sum:{side}:{of} in {'all' if phase is None else f'phase {phase}'}"


def is_amount(name: str) -> bool:
    """Whether a variable is the share of a line, or the sum of such."""
    return name.startswith(("x:", "sum:"))


def doses(group: str, ingredient: str) -> str:
    """1 when this preservative covers the microbe group by itself."""
    return f"c:{group}:{ingredient}"


def side(rule: str) -> str:
    """1 when a clash gives its first side the place, or a need is called for."""
    return f"s:{rule}"


def held(slot: Slot) -> str:
    """1 when a line dosed to a reading is kept."""
    return f"h:{slot}"


READING = "r:pH"
"""The pH read at the table: one for all windows asked."""


def slack(rule: str, where: str) -> str:
    """How far a wish is missed, in the unit of its limit."""
    return f"w:{rule}:{where}"


def worst(rule: str, where: str) -> str:
    """What one more number at its worst would cost a firm rule's row."""
    return f"f:{rule}:{where}"


def beyond(rule: str, where: str, ingredient: str) -> str:
    """What this ingredient's number at its worst costs beyond that."""
    return f"f:{rule}:{where}:{ingredient}"


def up(slot: Slot) -> str:
    return f"up:{slot}"


def down(slot: Slot) -> str:
    return f"down:{slot}"


def off(pull: str) -> str:
    """Distance of a carried measure from its target."""
    return f"off:{pull}"


def changed(slot: Slot) -> str:
    """1 when the line differs from the base."""
    return f"d:{slot}"


def packs(ingredient: str) -> str:
    """Whole packs to buy now."""
    return f"p:{ingredient}"
