"""A kept proposal becomes a formula: shown before it is written, never over what is there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from optimiser.page.adopting import file_name
from tests.page.conftest import Visitor


@pytest.fixture(scope="module")
def kept(visitor: Visitor) -> str:
    """The address of a proposal whose limit was moved by hand."""
    at = visitor.change("coffee-sugar-scrub")
    fields = {"rule": "formulas/coffee-sugar-scrub#Grains 50 to 65 %", "low": "61", "high": "63"}
    visitor.post(f"{at}/limit", **fields, revision="0")
    visitor.answer(at)
    return str(visitor.post(f"{at}/save", which="0", revision="1").url.path)


def shown(visitor: Visitor, kept: str, **said: str) -> dict[str, str]:
    """The fields of the form that writes, as the page holds them."""
    text = visitor.client.get(f"{kept}/adopt", params=said).text
    return dict(re.findall(r'type="hidden" name="(called|title|of)" value="([^"]*)"', text))


def test_the_file_is_shown_first_and_written_by_a_press(visitor: Visitor, kept: str, folder: Path) -> None:
    assert f"{kept}/adopt" in visitor.get(kept).text
    path = folder / "formulas" / "soft-scrub.yaml"
    text = visitor.get(f"{kept}/adopt?title=Soft+scrub").text
    assert "Grains 50 to 65 %: now at least 61 %, at most 63 %" in text
    assert "moved by hand in coffee-sugar-scrub-" in text
    assert not path.exists()
    done = visitor.post(f"{kept}/adopt", **shown(visitor, kept, title="Soft scrub"))
    assert done.url.path == "/formula/soft-scrub"
    assert "As it stands every rule holds." in done.text
    assert "<bdi>Soft scrub</bdi>" in done.text
    assert "at_least: 61 %" in path.read_text(encoding="utf-8")
    path.unlink()


def test_no_step_of_the_work_is_marked_as_the_present_one(visitor: Visitor, kept: str) -> None:
    for address in (kept, f"{kept}/adopt"):
        text = visitor.get(address).text
        assert 'aria-current="step"' not in text
        assert '<li><a href="/">What I have</a></li>' in text
    assert text.count("<li>Print</li>") == 1
    assert '<li aria-current="step">What I have</li>' in visitor.get("/").text


def test_what_is_there_and_what_is_no_name_is_refused_with_what_was_typed(
    visitor: Visitor, kept: str, folder: Path
) -> None:
    before = {one: one.read_bytes() for one in (folder / "formulas").iterdir()}
    for called, told in (("rose-serum", "is called"), ("../up", "is no name"), ("A b", "is no name")):
        answer = visitor.client.get(f"{kept}/adopt", params={"called": called, "title": "Mine & yours"})
        assert (answer.status_code, told in answer.text) == (409, True)
        assert 'value="Mine &amp; yours"' in answer.text
        assert f'value="{called}"' in answer.text
        assert "Write this formula" not in answer.text
    assert visitor.post(f"{kept}/adopt", called="rose-serum", title="", of="x").status_code == 409
    assert {one: one.read_bytes() for one in (folder / "formulas").iterdir()} == before


def test_only_what_was_shown_is_written(visitor: Visitor, kept: str, folder: Path) -> None:
    fields = shown(visitor, kept, called="other-scrub", title="Other scrub")
    changed = visitor.post(f"{kept}/adopt", **{**fields, "title": "Another scrub"})
    assert changed.status_code == 409
    assert "changed meanwhile" in changed.text
    assert not (folder / "formulas" / "other-scrub.yaml").exists()


def test_a_title_makes_a_plain_name_for_the_file() -> None:
    assert file_name("  Milde Rosenmaske, 2. Fassung ") == "milde-rosenmaske-2-fassung"
    assert file_name("—") == ""
    assert len(file_name("a b " * 60)) <= 80
