"""What a process that solves sends back: whole, though it only names what both have."""

from __future__ import annotations

import pickle
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from types import MappingProxyType

import pytest

from optimiser.domain.outcome import Proposals
from optimiser.page.carrying import packed, unpacked
from tests.workflows.desk import asked_anew, demo


@pytest.fixture(scope="module")
def answer() -> Proposals:
    found = asked_anew(demo(), "sunflower-balm", "vegan")
    assert isinstance(found, Proposals)
    return found


def test_an_answer_comes_back_whole(answer: Proposals) -> None:
    for sources in (demo(), None):
        assert unpacked(packed(answer, sources), sources) == answer


def test_ingredients_that_both_have_are_named_only(answer: Proposals) -> None:
    back = unpacked(packed(answer, demo()), demo())
    known = demo().worktable.ingredients
    assert all(one is known[name] for name, one in back.request.ingredients.items())
    assert 2 * len(packed(answer, demo())) < len(packed(answer, None))


def test_what_was_left_out_is_never_made_up(answer: Proposals) -> None:
    with pytest.raises(KeyError):
        unpacked(packed(answer, demo()), None)


@dataclass(frozen=True, slots=True)
class One:
    only: Fraction


@dataclass
class Counted:
    name: str
    length: int = field(init=False)

    def __post_init__(self) -> None:
        self.length = len(self.name)


def test_values_of_every_shape_come_back() -> None:
    """One field, fields that the constructor does not take, exact numbers, the same one twice."""
    one = One(Fraction(-7, 3))
    told = (one, one, Counted("balm"), {"a": MappingProxyType({"b": date(2026, 11, 26)})}, One)
    back = unpacked(packed(told, demo()), demo())
    assert back == told
    assert back[0] is back[1]
    assert type(back[3]["a"]) is MappingProxyType


def test_words_of_how_far_it_is_are_read_the_same_way() -> None:
    assert unpacked(pickle.dumps(("told", "looking")), demo()) == ("told", "looking")
