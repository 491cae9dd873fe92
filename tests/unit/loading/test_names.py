"""How a word finds its ingredient."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimiser.loading.names import NotFound, find_ingredient
from tests.unit.loading.folders import loaded, row


@pytest.mark.parametrize("word", ["kaolin", "White Kaolin", "  china   CLAY ", "white clay"])
def test_an_id_a_name_or_an_alias_will_do(tmp_path: Path, word: str) -> None:
    assert find_ingredient(loaded(tmp_path).ingredients, word) == "kaolin"


@pytest.mark.parametrize(
    ("word", "hint", "near"),
    [
        ("kaolim", 'did you mean "kaolin"?', ("kaolin",)),
        ("pink clai", 'did you mean "pink clay"? (rose-clay)', ("rose-clay",)),
        ("zzz", "", ()),
        ("", "", ()),
    ],
)
def test_a_near_word_is_offered(tmp_path: Path, word: str, hint: str, near: tuple[str, ...]) -> None:
    assert find_ingredient(loaded(tmp_path).ingredients, word) == NotFound(word, hint, near)


def test_a_name_of_two_is_asked_about(tmp_path: Path) -> None:
    worktable = loaded(tmp_path, row("ingredients.csv", "rain,Water,,Aqua,water,,,,,,,,,,"))
    assert find_ingredient(worktable.ingredients, "WATER") == "water"
    worktable = loaded(
        tmp_path, row("ingredients.csv", "rock-flour,White kaolin,,Kaolin,clay-plain,,,,,,,,,,")
    )
    found = find_ingredient(worktable.ingredients, "white kaolin")
    assert isinstance(found, NotFound)
    assert found.near == ("kaolin", "rock-flour")
    assert "write the id" in found.hint
