"""What a process that solves sends back: whole, though it only names what both have."""

from __future__ import annotations

import importlib
import inspect
import pickle
import pkgutil
from dataclasses import dataclass, field, fields, is_dataclass
from datetime import date
from fractions import Fraction
from types import MappingProxyType

import pytest

import optimiser
from optimiser.domain.outcome import Proposals
from optimiser.page.carrying import _fields_of, packed, unpacked
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


def test_every_value_of_the_program_is_made_again_by_its_fields_or_left_to_pickle() -> None:
    kinds = {
        kind
        for found in pkgutil.walk_packages(optimiser.__path__, "optimiser.")
        if not found.name.endswith("__main__")
        for kind in vars(importlib.import_module(found.name)).values()
        if isinstance(kind, type) and is_dataclass(kind)
    }
    assert len(kinds) > 400
    by_fields = [kind for kind in kinds if _fields_of(kind) is not None]
    assert len(by_fields) > 0.95 * len(kinds)
    for kind in by_fields:
        assert tuple(inspect.signature(kind).parameters) == tuple(one.name for one in fields(kind))
        assert not [one for one in fields(kind) if not one.init or one.kw_only]
    assert _fields_of(Counted) is None
