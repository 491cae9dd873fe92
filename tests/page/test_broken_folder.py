"""A folder whose tables cannot be read: what lies in it is not called nothing."""

from __future__ import annotations

from pathlib import Path

from tests.page.conftest import Visitor
from tests.unit.loading.folders import MASK

NONE = "No formula yet"


def test_formulas_that_cannot_be_shown_are_not_said_to_be_none(maker: Visitor, place: Path) -> None:
    (place / "formulas/second.yaml").write_text(MASK, encoding="utf-8")
    assert NONE not in maker.get("/").text
    settings = place / "worktable.yaml"
    settings.write_text(settings.read_text(encoding="utf-8").replace("currency: EUR", "currency: euros"))
    text = maker.get("/").text
    assert NONE not in text
    assert "2 files lie in <code>formulas/</code>." in text
    assert "No formula can be shown until the fault above is mended." in text


def test_a_sound_folder_without_formulas_says_so(maker: Visitor, place: Path) -> None:
    for one in (place / "formulas").iterdir():
        one.unlink()
    assert NONE in maker.get("/").text
