"""A limit that cannot be is refused at once, by its name, with its fields marked."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.page.conftest import Visitor

PART = {"hx-request": "true"}


@pytest.fixture(scope="module")
def at(served: Visitor) -> str:
    return served.change("mask")


def fields(text: str, rule: str) -> list[str]:
    """The fields of the form with this rule."""
    form = next(one for one in re.findall(r"<form.*?</form>", text, re.DOTALL) if f'value="{rule}"' in one)
    return re.findall(r"<input type=\"text\"[^>]*>", form)


def asks(maker: Visitor, at: str, rule: str, low: str, high: str, **more: Any) -> Any:
    headers = more.pop("headers", {})
    return maker.post(f"{at}/limit", headers, rule=rule, low=low, high=high, revision="0", **more)


def test_ends_past_each_other_are_told_by_name(served: Visitor, at: str) -> None:
    answer = asks(served, at, "line:", "54", "30", name="kaolin", headers=PART)
    assert answer.status_code == 409
    assert answer.headers["hx-retarget"] == "#notice"
    assert "<bdi>White kaolin</bdi>: at least 54 is above at most 30." in answer.text
    assert (
        "Lower “at least” from 54 to 30 or below, or raise “at most” from 30 to 54 or above." in answer.text
    )
    assert 'data-rule="line:"' in answer.text


def test_without_script_both_fields_are_marked_and_hold_what_was_typed(served: Visitor, at: str) -> None:
    text = asks(served, at, "line:", "54", "30", name="kaolin").text
    assert "<bdi>White kaolin</bdi>: at least 54 is above at most 30." in text
    low, high = fields(text, "line:")
    assert 'value="54"' in low
    assert 'value="30"' in high
    for one in (low, high):
        assert 'aria-invalid="true" aria-describedby="refused"' in one
    assert 'id="refused"' in text
    assert re.search(r'<option value="kaolin" selected>', text)
    assert text.count("aria-invalid") == 2
    assert "aria-invalid" not in served.get(at).text


def test_a_limit_of_a_rule_is_marked_as_well(served: Visitor, at: str) -> None:
    text = asks(served, at, "range#kaolin", "50", "30").text
    assert "White kaolin" in text.partition('id="refused"')[2].partition("</bdi>")[0]
    assert all("aria-invalid" in one for one in fields(text, "range#kaolin"))


@pytest.mark.parametrize(("low", "high"), [("-1", ""), ("", "101"), ("-3", "-2")])
@pytest.mark.parametrize(("rule", "name"), [("line:", "kaolin"), ("range#kaolin", "")])
def test_what_is_no_share_is_refused(
    served: Visitor, at: str, rule: str, name: str, low: str, high: str
) -> None:
    answer = asks(served, at, rule, low, high, name=name, headers=PART)
    assert answer.status_code == 409
    assert "no share is below 0 % or above 100 %" in answer.text
    assert "Nothing is asked yet" in served.get(at).text


def test_what_is_no_number_is_told_by_name(served: Visitor, at: str) -> None:
    answer = asks(served, at, "line:", "a lot", "", name="kaolin", headers=PART)
    assert "<bdi>White kaolin</bdi>: &#34;a lot&#34; is not" in answer.text


def test_an_end_that_stood_there_before_may_stay(served: Visitor) -> None:
    """A tenth above a high share is more than the whole; who moves the other end may leave it."""
    at = served.change("mask")
    shown = {"high_shown": "104.5", "high_exact": "209/2"}
    answer = asks(served, at, "range#kaolin", "2", "104.5", headers=PART, **shown)
    assert answer.status_code == 200


def test_after_a_refused_limit_another_shows_all_anew(served: Visitor) -> None:
    """The fields of the refused one go back to what is asked."""
    at = served.change("mask")
    part = asks(served, at, "range#kaolin", "2", "40", whole="yes", headers=PART)
    assert part.headers["hx-retarget"] == "#work"
    assert 'id="hold"' in part.text
