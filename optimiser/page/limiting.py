"""A limit as it was typed: read, or refused with what is wrong of it."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import NamedTuple

from starlette.datastructures import FormData

from optimiser.domain.moved import LINE, Moved
from optimiser.domain.rules import Amount, Rule, Share, UseRange
from optimiser.page.show import word
from optimiser.units.numbers import DecimalMark, NumberFault, read_number
from optimiser.workflows.moving import past_each_other

EXACT = re.compile(r"-?[0-9]{1,40}(?:/[1-9][0-9]{0,39})?", re.ASCII)
WHOLE = Fraction(100)
NO_SHARE = ("no share is below 0 % or above 100 %", "write a number from 0 to 100")


class Typed(NamedTuple):
    """The fields of one limit as they came; `name` is the ingredient of a limit that no rule speaks of."""

    rule: str
    name: str
    low: str
    high: str


class LimitRefused(Exception):  # noqa: N818  # it is no fault of the program
    """What was typed cannot be a limit: `what` is wrong, as a clause, and `fix` helps."""

    def __init__(self, typed: Typed, what: str, fix: str) -> None:
        super().__init__(what)
        self.typed, self.what, self.fix = typed, what, fix


def typed_of(form: FormData) -> Typed:
    rule, name = word(form, "rule"), word(form, "name")
    return Typed(f"{LINE}{name}" if rule == LINE else rule, name, word(form, "low"), word(form, "high"))


def moved_of(form: FormData, decimal: DecimalMark) -> tuple[str, Moved | None]:
    """The rule and its limits; None where a limit on an ingredient goes. Raises LimitRefused."""
    typed = typed_of(form)
    low, high = (_limit(form, key, typed, decimal) for key in ("low", "high"))
    if typed.rule.startswith(LINE) and low is None and high is None:
        return typed.rule, None
    if low is not None and high is not None and low > high:
        raise LimitRefused(typed, *past_each_other(typed.low, typed.high))
    return typed.rule, Moved(typed.rule, low, high)


def no_share(form: FormData, moved: Moved) -> bool:
    """Whether an end that was typed is none that a share can have; what stood there already may stay."""
    ends = (("low", moved.low), ("high", moved.high))
    typed = [end for key, end in ends if word(form, key) != word(form, f"{key}_shown")]
    return any(end is not None and not 0 <= end <= WHOLE for end in typed)


def is_share(rule: str, rules: tuple[Rule, ...]) -> bool:
    """Whether the rule limits a share in %."""
    if rule.startswith(LINE):
        return True
    return any(one.head.id == rule and isinstance(one, Share | Amount | UseRange) for one in rules)


def _limit(form: FormData, key: str, typed: Typed, decimal: DecimalMark) -> Fraction | None:
    """What was typed; a field left as it was shown stands for the exact number behind it."""
    text, shown = word(form, key), word(form, f"{key}_shown")
    exact = word(form, f"{key}_exact")
    if text and text == shown and EXACT.fullmatch(exact):
        return Fraction(exact)
    if not text:
        return None
    number = read_number(text.removesuffix("%").strip(), decimal=decimal)
    if isinstance(number, NumberFault):
        raise LimitRefused(typed, f'"{text}" is not {number.expected}', number.fix)
    return number
