"""The page as whole pages and posted forms, as it is without script."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from optimiser.page.guard import Keys
from tests.page.conftest import HOST, Visitor


def test_the_folder_is_told(visitor: Visitor) -> None:
    text = visitor.get("/").text
    assert "Sunflower cleansing balm" in text
    assert "rinse-off · face · balm · 250 g a batch" in text


def test_a_formula_by_phase_with_its_rules(visitor: Visitor) -> None:
    text = visitor.get("/formula/sunflower-balm").text
    assert "A · <bdi>Melt</bdi>" in text
    assert "49.200" in text
    assert "Share of wax: between 6.3 % and 7.7 %, as in the base (7)." in text
    assert "0.7\u00a0% to spare" in text
    assert "12.77 EUR/kg" in text


def test_from_a_brief_to_a_sheet(visitor: Visitor, folder: Path) -> None:
    path = visitor.change("sunflower-balm")
    visitor.post(f"{path}/say", what="brief", name="vegan", revision="0")
    text = visitor.answer(path)
    assert "Carnauba wax" in text
    assert "Beeswax 7 → 0 %: Nothing that is or may be flagged animal." in text
    assert "The ingredient list changes: print a new label." in text
    before = set(folder.rglob("*.yaml"))
    kept = visitor.post(f"{path}/save", which="0", revision="1")
    assert kept.url.path.startswith("/proposal/sunflower-balm-vegan-")
    assert len(set(folder.rglob("*.yaml")) - before) == 1
    sheet = visitor.weighed(f"{kept.url.path.replace('proposal', 'sheet')}?batch=100+g")
    assert "Carnauba wax" in sheet.text
    assert "script-src" not in sheet.headers["content-security-policy"]
    assert "default-src 'none'" in sheet.headers["content-security-policy"]


def test_a_moved_limit_gives_another_proposal_and_is_kept(visitor: Visitor) -> None:
    path = visitor.change("sunflower-balm")
    moved = {"rule": "carried#share-wax", "low": "3", "high": "4"}
    visitor.post(f"{path}/limit", **moved, revision="0")
    text = visitor.answer(path)
    assert "share of wax: 3 to 4" in text
    assert re.search(r"Beeswax.*?7\.000.*?4\.000.*?−3\.000", text, re.DOTALL)
    kept = visitor.post(f"{path}/save", which="0", revision="1")
    assert "Share of wax: between 3 % and 4 % (moved by hand)." in kept.text


def test_an_impossible_request_is_cured_by_a_press(visitor: Visitor) -> None:
    path = visitor.change("sunflower-balm")
    visitor.post(f"{path}/limit", rule="line:", name="shea-butter", low="15", high="", revision="0")
    text = visitor.answer(path)
    assert "These 2 rules cannot hold together" in text
    button = "Allow share of butter: at most 15 %"
    assert button in text
    assert "With this concession" in text
    number = re.search(rf'name="cure" value="(\d+)"><input type="hidden" name="press" value="{button}"', text)
    assert number is not None
    visitor.post(f"{path}/cure", cure=number[1], press=button, revision="1")
    cured = visitor.answer(path)
    assert "Departure from the base" in cured
    assert "15.000" in cured


def test_an_answer_says_how_long_it_was_worked_on(visitor: Visitor) -> None:
    path = visitor.change("sunflower-balm")
    assert "server-timing" not in visitor.get(f"{path}/answer").headers
    visitor.post(f"{path}/say", what="leave-out", name="beeswax", revision="0")
    visitor.answer(path)
    told = visitor.get(f"{path}/answer").headers["server-timing"]
    assert re.fullmatch(r"solve;dur=[1-9][0-9]*", told)


def test_what_was_left_out_comes_back_by_a_press(visitor: Visitor) -> None:
    path = visitor.change("sunflower-balm")
    visitor.post(f"{path}/say", what="leave-out", name="flag:bee", revision="0")
    visitor.post(f"{path}/limit", rule="line:", name="beeswax", low="2", high="", revision="1")
    text = visitor.answer(path)
    press = "Allow Beeswax (at least 2 %)"
    number = re.search(r'name="cure" value="(\d+)"><input type="hidden" name="press" value="Allow Bees', text)
    assert number is not None
    visitor.post(f"{path}/cure", cure=number[1], press=press, revision="2")
    assert "Nothing has to change." in visitor.answer(path)


def test_every_step_is_taken_back_and_on(visitor: Visitor) -> None:
    path = visitor.change("sunflower-balm")
    visitor.post(f"{path}/say", what="leave-out", name="beeswax", revision="0")
    visitor.post(f"{path}/say", what="aim", name="cheapest", revision="1")
    assert "as cheap as can be</bdi>" in visitor.get(path).text
    visitor.post(f"{path}/step", way="back", revision="2")
    assert "as cheap as can be</bdi>" not in visitor.get(path).text
    assert "without Beeswax</bdi>" in visitor.get(path).text
    visitor.post(f"{path}/step", way="on", revision="3")
    assert "as cheap as can be</bdi>" in visitor.get(path).text


def test_two_tabs_never_overwrite_each_other(visitor: Visitor) -> None:
    path = visitor.change("sunflower-balm")
    visitor.post(f"{path}/say", what="leave-out", name="beeswax", revision="0")
    second = visitor.post(f"{path}/say", what="leave-out", name="shea-butter", revision="0")
    assert second.status_code == 409
    assert "without Beeswax" in second.text
    assert "without Shea butter" in second.text
    assert "without Shea butter" not in visitor.get(path).text
    other = re.findall(r"/change/[0-9a-f]+", second.text)[-1]
    assert "without Shea butter</bdi>" in visitor.get(other).text


def test_the_same_tab_may_be_quicker_than_its_answers(visitor: Visitor) -> None:
    path = visitor.change("sunflower-balm")
    own = {"x-tab": "one"}
    for name in ("beeswax", "shea-butter"):
        visitor.post(f"{path}/say", own, what="leave-out", name=name, revision="0")
    assert "without Shea butter</bdi>" in visitor.get(path).text


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"rule": "carried#share-wax", "low": "x"}, "“x” is not a number"),
        ({"rule": "carried#share-wax", "low": "5", "high": "4"}, "at least 5 is above at most 4"),
        ({"rule": "carried#share-wax", "low": "1,000"}, "1,000"),
    ],
)
def test_what_is_no_limit_is_refused_in_words(visitor: Visitor, fields: dict[str, str], told: str) -> None:
    path = visitor.change("sunflower-balm")
    answer = visitor.post(f"{path}/limit", **fields, revision="0")
    assert answer.status_code == 409
    assert told.replace("“", "&#34;").replace("”", "&#34;") in answer.text


def test_the_law_is_not_for_moving(visitor: Visitor) -> None:
    text = visitor.get("/formula/oat-rose-mask").text
    assert "Limits of the law that concern it" in text
    page = visitor.get(visitor.change("oat-rose-mask")).text
    rules = set(re.findall(r'name="rule" value="([^"]*)"', page))
    assert any(rule.startswith("range#") for rule in rules)
    assert not {rule for rule in rules if rule.startswith(("law#", "limit#", "physics#"))}


def test_answers_are_fragments_when_asked_so(visitor: Visitor) -> None:
    path = visitor.change("sunflower-balm")
    part = visitor.post(f"{path}/say", {"hx-request": "true"}, what="leave-out", name="beeswax", revision="0")
    assert "<html" not in part.text
    assert 'id="make"' in part.text


def test_a_fault_of_the_data_is_told_with_its_place(tmp_path: Path) -> None:
    from starlette.testclient import TestClient

    from optimiser.page.app import make_app
    from optimiser.page.desk import Desk
    from optimiser.page.work import Work

    (tmp_path / "formulas").mkdir()
    (tmp_path / "ingredients.csv").write_text("id,name\nwax\n", encoding="utf-8")
    keys = Keys(frozenset({HOST}))
    client = TestClient(make_app(Desk(tmp_path), Work(tmp_path), keys), base_url=f"http://{HOST}")
    client.cookies.set(keys.cookie, keys.key)
    text = client.get("/").text
    assert "in the files" in text
    assert "ingredients.csv" in text
    assert client.get("/formula/x").status_code == 409


def test_what_goes_on_is_told_in_a_place_that_is_empty_until_then(visitor: Visitor) -> None:
    """Words that were there before are read out to nobody when they are shown."""
    text = visitor.get(visitor.change("sunflower-balm")).text
    work, _, after = text.partition('<p id="at-work" class="unseen" role="status"></p>')
    assert after
    assert '<div class="wait"><p>Looking for the formula …</p>' in work
