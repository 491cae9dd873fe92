"""The forms of an ingredient's rows in the further tables, filled in as a browser does."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

from tests.page.conftest import Visitor

FIELD = re.compile(
    r'<input type="(?:text|hidden)"[^>]*? name="(?P<input>\w+)" value="(?P<value>[^"]*)"'
    r'|<select id="f-\w+" name="(?P<select>\w+)".*?</select>',
    re.DOTALL,
)
CHOSEN = re.compile(r'value="([^"]*)" selected')


def fields_of(text: str) -> dict[str, str]:
    """The fields of the row's form as a browser would send them."""
    form = text[text.index('class="columns"') :].partition("</form>")[0]
    found = {}
    for one in FIELD.finditer(form):
        chosen = CHOSEN.search(one[0])
        found[one["input"] or one["select"]] = unescape(one["value"] or (chosen[1] if chosen else ""))
    return {name: value for name, value in found.items() if name != "token"}


def links(text: str, words: str) -> list[str]:
    """Where links with these words lead."""
    return [unescape(one) for one in re.findall(rf'<a href="([^"]*)"[^>]*>{re.escape(words)}</a>', text)]


def added(maker: Visitor, who: str, table: str, **cells: str) -> Any:
    """A row added by its form; the preview, or what is wrong."""
    path = f"/ingredient/{who}/{table}/add"
    return maker.post(path, **{**fields_of(maker.get(path).text), **cells})


def row_at(maker: Visitor, who: str, table: str, nth: int = 0) -> str:
    """The address of the ingredient's own row in the table."""
    found = links(maker.get(f"/ingredient/{who}").text, "Change")
    return [one for one in found if f"/{table}/row?" in one][nth]


def retyped(maker: Visitor, path: str, **cells: str) -> Any:
    """The form of a row with these cells typed anew."""
    return maker.post(path, **{**fields_of(maker.get(path).text), **cells})


def back(maker: Visitor, answer: Any, way: str = "back") -> Any:
    """The button that takes the last write back, or writes it again."""
    part = answer.text.partition(f'action="/ingredients/{way}"')[2]
    which = re.search(r'name="which" value="(\w+)"', part)
    assert which is not None
    at = re.search(r'name="from" value="([^"]*)"', part)
    assert at is not None
    return maker.post(f"/ingredients/{way}", which=which[1], **{"from": unescape(at[1])})
