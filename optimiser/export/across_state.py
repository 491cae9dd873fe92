"""What is kept of one formula of a range, so that a stopped run can go on."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from fractions import Fraction
from typing import Any

from optimiser.domain.across import STATES, FormulaAnswer

FORMAT = 1
NUMBERS = ("departure", "cost_before", "cost_unchanged", "cost_after")
NAMES = ("went", "came", "remarks")


@dataclass(frozen=True, slots=True)
class Kept:
    """`key` is the digest of what was asked, `proposal` that of the proposal's file ("" where none is)."""

    key: str
    proposal: str
    answer: FormulaAnswer


def state_text(kept: Kept) -> str:
    """JSON of fixed keys; numbers as exact fractions. The same answer gives the same bytes."""
    told: dict[str, Any] = asdict(kept.answer)
    for name in NUMBERS:
        told[name] = None if told[name] is None else str(told[name])
    content = {"format": FORMAT, "key": kept.key, "proposal": kept.proposal, "answer": told}
    return json.dumps(content, ensure_ascii=False, indent=1, sort_keys=True) + "\n"


def read_state(text: str) -> Kept | None:
    """What `state_text` wrote; None for anything else: then the formula is asked again."""
    try:
        content = json.loads(text)
        told = dict(content["answer"])
        for name in NUMBERS:
            told[name] = None if told[name] is None else Fraction(told[name])
        for name in NAMES:
            told[name] = tuple(str(one) for one in told[name])
        answer = FormulaAnswer(**told)
        kept = Kept(str(content["key"]), str(content["proposal"]), answer)
    except (ValueError, KeyError, TypeError, RecursionError, ZeroDivisionError):
        return None
    return kept if content["format"] == FORMAT and answer.state in STATES else None
