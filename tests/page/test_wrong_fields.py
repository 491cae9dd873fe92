"""Every field of a trial's form that cannot be read is told beside it; what was typed stays."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from optimiser.workflows.worktable import start_worktable
from tests.page.conftest import Visitor, visiting

WRONG = {
    "weighed-beeswax": "much",
    "weighed-shea-butter": "12,5,1",
    "value": "acid",
    "felt": "softness",
    "score": "14",
    "spread": "-1",
    "setting": "stiring",
    "set_to": "800 rpm",
    "cycles": "a few",
    "day": "tomorrow",
}


@pytest.fixture(scope="module")
def tried(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Visitor, Path]]:
    place = tmp_path_factory.mktemp("wrong") / "table"
    start_worktable(place)
    with visiting(place) as maker:
        maker.open_trial("/formula/sunflower-balm", day="2026-11-25", size="100 g", called="one")
        yield maker, place / "trials" / "one.yaml"


def write(maker: Visitor, **fields: str) -> Any:
    return maker.post("/trial/one/record", **{"seen": "0", "day": "2026-11-25", "measure": "ph", **fields})


def marked(text: str) -> set[str]:
    """Fields that are marked and described by words which stand in the page."""
    found = re.findall(
        r'<input[^>]* name="([^"]+)"[^>]* aria-invalid="true" aria-describedby="w-([^"]+)"', text
    )
    assert all(name == what for name, what in found)
    assert all(re.search(rf'<small class="at" id="w-{name}"><bdi>.+?</bdi>', text) for name, _ in found)
    return {name for name, _ in found}


def test_every_wrong_field_is_told_at_once(tried: tuple[Visitor, Path]) -> None:
    maker, file = tried
    before = file.read_bytes()
    answer = write(maker, **WRONG, who="Ilse")
    assert answer.status_code == 409
    assert marked(answer.text) == set(WRONG) - {"felt", "set_to"}
    assert "8 fields cannot be read. Nothing was written." in answer.text
    for name, typed in WRONG.items():
        assert re.search(rf'name="{name}" value="{re.escape(typed)}"', answer.text), name
    assert file.read_bytes() == before


@pytest.mark.parametrize(
    ("fields", "name", "said"),
    [
        ({"score": "7"}, "felt", "a name of letters"),
        ({"felt": "ph", "score": "7"}, "felt", "write it as a reading"),
        ({"setting": "pressure", "set_to": "bar"}, "set_to", "a number with its unit"),
        ({"setting": "stirring", "set_to": "fast"}, "set_to", "is not"),
        ({"value": "5", "at_c": "warm"}, "at_c", "&#34;warm&#34;"),
    ],
)
def test_it_is_told_at_the_field_that_is_wrong(
    tried: tuple[Visitor, Path], fields: dict[str, str], name: str, said: str
) -> None:
    text = write(tried[0], **fields).text
    assert marked(text) == {name}
    assert said in text.partition(f'id="w-{name}"')[2].partition("</small>")[0]
    assert "--" not in text.partition("<main")[2]


def test_what_is_wrong_of_no_field_is_told_above(tried: tuple[Visitor, Path]) -> None:
    text = write(tried[0]).text
    assert "nothing to write down" in text
    assert marked(text) == set()
