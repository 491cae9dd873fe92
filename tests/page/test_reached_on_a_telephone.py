"""On a narrow screen the answer is one press away, and steps of a key are one step to take back."""

from __future__ import annotations

from typing import Any

import pytest

from optimiser.domain.moved import Moved
from optimiser.page.drafts import Asking, Drafts
from tests.page.conftest import Visitor
from tests.page.test_in_a_browser import SLOW, begin
from tests.workflows.desk import F

WAX = "carried#share-wax"


def test_steps_of_one_limit_in_a_row_are_one_to_go_back() -> None:
    drafts = Drafts()
    name = drafts.start("balm").id
    limits = [Moved(WAX, None, F(one)) for one in ("7.6", "7.5", "7.4")]
    for revision, one in enumerate(limits):
        drafts.change(name, Asking(moved=(one,)), revision, "", WAX)
    other = Moved("carried#share-oil", None, F("50"))
    drafts.change(name, Asking(moved=(limits[-1], other)), 3, "", other.rule)
    assert drafts.undo(name, 4).asking == Asking(moved=(limits[-1],))
    assert drafts.undo(name, 5).asking == Asking()
    assert drafts.redo(name, 6).asking == Asking(moved=(limits[-1],))


def test_a_step_there_and_back_is_none_to_go_back() -> None:
    drafts = Drafts()
    name = drafts.start("balm").id
    first = Asking(moved=(Moved(WAX, None, F("7.6")),))
    drafts.change(name, first, 0, "", WAX)
    there = drafts.change(name, Asking(), 1, "", WAX)
    assert (there.asking, there.past) == (Asking(), ())


def test_what_was_typed_and_what_follows_an_undo_stay_steps_of_their_own() -> None:
    drafts = Drafts()
    name = drafts.start("balm").id
    first, second = (Asking(moved=(Moved(WAX, None, F(one)),)) for one in ("7.6", "7.5"))
    drafts.change(name, first, 0)
    drafts.change(name, second, 1)
    assert drafts.undo(name, 2).asking == first
    drafts.change(name, second, 3, "", WAX)
    assert drafts.undo(name, 4).asking == first


@pytest.mark.parametrize(("low", "words"), [("12", "To the formula"), ("15", "to the ways out")])
def test_what_leads_to_the_answer_says_what_it_is(visitor: Visitor, low: str, words: str) -> None:
    path = visitor.change("sunflower-balm")
    assert '<p class="leap" id="leap"></p>' in visitor.get(path).text
    visitor.post(f"{path}/limit", rule="line:", name="shea-butter", low=low, revision="0")
    leap = visitor.answer(path).partition('id="leap"')[2].partition("</p>")[0]
    assert '<a href="#make">' in leap
    assert words in leap


def test_on_a_narrow_screen_the_answer_is_one_press_away(tab: Any) -> None:
    tab.set_viewport_size({"width": 360, "height": 740})
    begin(tab)
    tab.wait_for_load_state()
    assert not tab.is_visible("#leap")
    tab.click("details.folds summary")
    field = tab.locator("form.limit", has_text="Share of wax").locator("input[name=high]")
    field.focus()
    for _ in range(2):
        tab.keyboard.press("ArrowDown")
    tab.wait_for_selector("article.proposal", timeout=SLOW)
    tab.wait_for_selector("#said :text('6.3 to 7.5')")
    place = tab.locator("#leap").bounding_box()
    assert 0 < place["y"] < place["y"] + place["height"] <= 740
    tab.click("#leap a")
    tab.wait_for_url("**#make")
    assert tab.locator("#make").bounding_box()["y"] < 100
    tab.click("button:text-is('Undo')")
    tab.wait_for_selector("#said :text('Nothing is asked yet')")
    assert tab.evaluate("document.documentElement.scrollWidth") <= 360


def test_what_was_folded_stays_folded(tab: Any) -> None:
    tab.set_viewport_size({"width": 360, "height": 740})
    begin(tab)
    tab.wait_for_selector("details.folds:not([open])")
    tab.select_option("#aim", "cheapest")
    tab.click("text=Take this aim")
    tab.wait_for_selector("article.proposal", timeout=SLOW)
    assert tab.locator("details.folds:not([open])").count() == 1


HIDDEN = """[...document.querySelectorAll('table td')].filter(cell => cell.innerText.trim() === ''
    && cell.textContent.trim() !== '').map(cell => cell.textContent.trim())"""
"""Cells of tables that say something and are not shown."""


def test_every_figure_of_a_formula_is_shown_on_a_telephone(tab: Any) -> None:
    tab.set_viewport_size({"width": 360, "height": 740})
    tab.goto(f"{tab.url}formula/sunflower-balm")
    tab.wait_for_load_state()
    assert tab.evaluate(HIDDEN) == []
    row = " ".join(tab.inner_text("table.shares tr:has-text('Shea butter')").split())
    assert row == "Shea butter 12.000 emollient, refatting, occlusive 1.51"
    assert tab.evaluate("document.documentElement.scrollWidth") <= 360
