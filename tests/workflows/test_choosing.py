"""A word that names no ingredient: what is flagged so, of that kind or in that role is told first."""

from __future__ import annotations

import pytest

from optimiser.domain.selector import Pick
from optimiser.errors import UsageError
from optimiser.workflows.choosing import ingredient, selector
from optimiser.workflows.worktable import find
from tests.workflows.desk import demo


def fault(word: str) -> UsageError:
    with pytest.raises(UsageError) as raised:
        selector(word, demo())
    return raised.value


@pytest.mark.parametrize(
    ("word", "fix"),
    [
        ("tree-nut", "write flag:tree-nut (all that is flagged so)"),
        ("Tree nuts", "write flag:tree-nut (all that is flagged so)"),
        ("nuts", "write flag:tree-nut or flag:peanut or flag:coconut or flag:shea (all that is flagged so)"),
        (
            "flag:nuts",
            "write flag:tree-nut or flag:peanut or flag:coconut or flag:shea (all that is flagged so)",
        ),
        ("wool", "write flag:lanolin (all that is flagged so)"),
        ("clay", "write kind:clay (all of that kind)"),
        ("clays", "write kind:clay (all of that kind)"),
        ("claay", 'did you mean "red clay"? Or write kind:clay (all of that kind)'),
        ("humectants", "write role:humectant (all with that role)"),
        (
            "preservatives",
            "write kind:preservative (all of that kind) or role:preservative (all with that role)",
        ),
        ("xantan", 'did you mean "xanthan"?'),
    ],
)
def test_what_to_write_is_told(word: str, fix: str) -> None:
    assert fault(word).fix == fix


def test_what_is_told_to_write_can_be_written() -> None:
    assert selector("flag:tree-nut", demo()) == Pick("flag", "tree-nut")
    assert selector("kind:clay", demo()) == Pick("kind", "clay")
    assert selector("Kaolin", demo()) == Pick("ingredient", "kaolin")


@pytest.mark.parametrize("word", ["unicorn", "", "s"])
def test_a_word_near_nothing_is_told_of_choosing_several_and_of_a_list_cut_short(word: str) -> None:
    fix = fault(word).fix
    assert fix.startswith("there are: acacia, ")
    assert ", …; for several at once write flag:, kind:, group:, role: or substance:" in fix


def test_a_list_told_whole_has_no_dots() -> None:
    sources = demo()
    some = dict(sorted(sources.worktable.ingredients.items())[:12])
    with pytest.raises(UsageError) as raised:
        find("unicorn", some, "ingredient")
    assert raised.value.fix == f"there are: {', '.join(some)}"
    some = dict(sorted(sources.worktable.ingredients.items())[:13])
    with pytest.raises(UsageError) as raised:
        find("unicorn", some, "ingredient")
    assert raised.value.fix == f"there are: {', '.join([*some][:12])}, …"


def test_where_one_is_named_several_are_refused_with_some_of_them() -> None:
    with pytest.raises(UsageError, match='"polyols" is no single ingredient') as raised:
        ingredient("polyols", demo())
    assert raised.value.fix.startswith("name one here, of butylene-glycol, ")
    assert raised.value.fix.endswith("; --leave-out kind:polyol takes them all out")
    assert ingredient("glycerin", demo()).id == "glycerin"
    with pytest.raises(UsageError, match="no ingredient"):
        ingredient("unicorn", demo())
