"""How many batches would meet every rule, in sentences."""

from __future__ import annotations

from fractions import Fraction

from optimiser.cli.console import short
from optimiser.domain.outcome import Batches

TITLE = "Weighed out again and again"
MOST_NAMED = 3


def batches_lines(found: Batches, batch_g: Fraction) -> tuple[str, ...]:
    """The count first, then what was missed most, then how it was drawn."""
    part, low, high = (_per_cent(one) for one in (Fraction(found.met, found.tried), found.low, found.high))
    count = f"Of {found.tried:,} batches weighed like this, {found.met:,} would meet every rule"
    lines = [f"{count}: {part} % (95 % interval {low} to {high} %)."]
    lines += [
        f"{'Most often missed' if at == 0 else 'Also missed'}: {one.rule.head.sentence.removesuffix('.')} "
        f"({one.count:,} batches)."
        for at, one in enumerate(found.missed[:MOST_NAMED])
    ]
    more = len(found.missed) - MOST_NAMED
    if more > 0:
        lines.append(f"{more} more rule{'' if more == 1 else 's'} missed less often.")
    numbers = f"{found.numbers} number{'' if found.numbers == 1 else 's'} of the data"
    lines.append(
        f"Drawn anew for each: every weighing for {short(batch_g)} g, off by a step of its balance at most, "
        f"and {numbers} from low to high. A limit on weights alone counts as missed past 1 % of it."
    )
    return tuple(lines)


def _per_cent(part: Fraction) -> str:
    return short(part * 100, 1)
