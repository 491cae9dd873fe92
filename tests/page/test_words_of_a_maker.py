"""Numbers of an ingredient stand under the names a maker gives them, in units a maker reads."""

from __future__ import annotations

import re

import pytest

from optimiser.loading.reference import load_vocabulary
from tests.page.conftest import Visitor

TITLES = {one.title for one in load_vocabulary().properties.values()}
RAW = {name.replace("_", " ") for name in load_vocabulary().properties}


@pytest.mark.parametrize(
    ("ingredient", "words"),
    [("glycerin", "hold on water (Norrish constant)"), ("shea-butter", "HLB it asks for")],
)
def test_a_property_is_called_by_its_title(visitor: Visitor, ingredient: str, words: str) -> None:
    text = visitor.get(f"/ingredient/{ingredient}").text
    cells = {cell.strip() for cell in re.findall(r">([^<]+)<", re.sub("</?bdi>", "", text))}
    assert words in cells
    assert cells & (RAW - TITLES) == set()
    assert cells & {"-", "C"} == set()
