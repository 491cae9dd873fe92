"""What a process that solves sends back: whole, though it only names what both have."""

from __future__ import annotations

import pickle

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


def test_words_of_how_far_it_is_are_read_the_same_way() -> None:
    assert unpacked(pickle.dumps(("told", "looking")), demo()) == ("told", "looking")
