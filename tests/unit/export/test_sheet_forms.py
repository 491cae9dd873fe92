"""The sheet as HTML, CSV and JSON: complete, and harmless whatever the texts say."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable
from fractions import Fraction
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tinyhtml5.parser import HTMLParser as HtmlReader

from optimiser.domain.outcome import Proposal
from optimiser.domain.request import Request
from optimiser.export.pages import together
from optimiser.export.sheet import Sheet
from optimiser.export.sheet_csv import COLUMNS, guard, sheet_csv
from optimiser.export.sheet_html import sheet_html
from optimiser.export.sheet_json import sheet_json
from optimiser.export.sheet_paper import record_html, table_html
from tests.unit.export.jobs import hostile, sheet_of

F = Fraction

TAGS = {
    "html",
    "head",
    "meta",
    "title",
    "style",
    "body",
    "header",
    "main",
    "div",
    "span",
    "h1",
    "h2",
    "p",
    "dl",
    "dt",
    "dd",
    "section",
    "ul",
    "ol",
    "li",
    "table",
    "colgroup",
    "col",
    "thead",
    "tbody",
    "tr",
    "th",
    "td",
    "bdi",
    "br",
    "strong",
    "footer",
    "figure",
    "svg",
    "rect",
    "polygon",
    "polyline",
    "line",
    "text",
}
VOID = {"meta", "col", "br"}
ATTACKS = (
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    '"><svg/onload=alert(1)>',
    "</style><script>1</script>",
    "{{ 7 * 7 }}{% for x in y %}",
    "' onmouseover='alert(1)",
    "\u202egnitset\u202c\u2066x",
    "&lt;script&gt;",
    "]]>--><b>",
    '=HYPERLINK("http://x.example","y")',
    "@SUM(1)",
    "+1+cmd|' /C calc'!A0",
    "－1",
    "\t=1+1",
    "\r\n=2",
    "|x",
    "a" * 400,
)


class _Page(HTMLParser):
    """Tags, attributes and text as an independent reader sees them; unbalanced tags are noted."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self.open: list[str] = []
        self.unbalanced: list[str] = []
        self.text: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.unbalanced.append(tag)

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.text.append(data)


def _words(page: str) -> str:
    return " ".join(" ".join(_Page(page).text).split())


def test_the_page_is_whole_and_says_what_the_sheet_says(mask_sheet: Sheet) -> None:
    page = _Page(sheet_html(mask_sheet))
    assert page.tags <= TAGS
    assert not page.unbalanced
    assert not page.open
    words = _words(sheet_html(mask_sheet))
    assert "Computed proposal, not tested" in words
    for line in mask_sheet.lines:
        assert line.name.replace(" %", " %") in words
        assert line.inci in words
        assert f"{float(line.grams):.2f}" in words
    for phase in mask_sheet.phases:
        for step in phase.steps:
            assert step.text in words
    for note in (*mask_sheet.sets_off, *mask_sheet.by_hand, *mask_sheet.rests_on, *mask_sheet.unmet):
        assert note.text in words


def test_the_page_runs_nothing_and_fetches_nothing(mask_sheet: Sheet) -> None:
    page = sheet_html(mask_sheet)
    assert "default-src 'none'" in page
    assert not re.search(r"https?:|@import|url\(|javascript:", page)


def test_the_page_never_promises(mask_sheet: Sheet, balm_sheet: Sheet) -> None:
    for sheet in (mask_sheet, balm_sheet):
        assert not re.search(r"\b(safe|nut-free|preserved)\b", _words(sheet_html(sheet)), re.IGNORECASE)


@pytest.mark.parametrize("paper", [sheet_html, table_html, record_html])
def test_the_page_holds_to_the_standard_of_html(paper: Callable[[Sheet], str], mask_sheet: Sheet) -> None:
    for sheet in (mask_sheet, sheet_of(*hostile(ATTACKS[0]))):
        page = paper(sheet)
        reader = HtmlReader()
        reader.parse(page)
        assert reader.errors == []
    broken = HtmlReader()
    broken.parse(page.replace("</section>", "</div>", 1))
    assert broken.errors


@pytest.mark.parametrize("attack", ATTACKS)
def test_hostile_text_stays_text(attack: str) -> None:
    sheet = sheet_of(*hostile(attack))
    page = _Page(sheet_html(sheet))
    assert page.tags <= TAGS
    assert not page.unbalanced
    assert not {name for name in page.attributes if name.startswith("on") or name in ("src", "href")}
    assert not re.search("[\u200e\u200f\u202a-\u202e\u2066-\u2069\u0000-\u0008]", sheet_html(sheet))
    assert "49" not in {line.strip() for line in page.text}


@settings(deadline=None)
@given(st.text(max_size=40))
def test_any_text_leaves_the_page_whole(text: str) -> None:
    page = _Page(sheet_html(sheet_of(*hostile(text))))
    assert page.tags <= TAGS
    assert not page.unbalanced


def test_digits_of_a_column_line_up_and_unread_ones_are_not_shown(mask: tuple[Proposal, Request]) -> None:
    page = sheet_html(sheet_of(*mask, F(2000)))
    assert '360<span class="open" aria-hidden="true">.00</span>' in page
    assert "360.00" not in page


def test_a_number_stays_with_its_unit() -> None:
    assert together("60 to 80 % at 40 °C for 5 min, 3 grams") == (
        "60 to 80\u00a0% at 40\u00a0°C for 5\u00a0min, 3 grams"
    )


def _rows(sheet: Sheet) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(sheet_csv(sheet).removeprefix("\ufeff"), newline="")))


def test_the_table_reads_back_and_adds_up(mask_sheet: Sheet) -> None:
    rows = _rows(mask_sheet)
    assert all(set(row) == set(COLUMNS) for row in rows)
    lines = [row for row in rows if row["part"] == "line"]
    assert sum(F(row["weigh [g]"]) for row in lines) == 250
    assert sum(F(row["new [%]"]) for row in lines) == 100
    assert {row["name"] for row in rows if row["part"] == "head"} >= {"Trial no.", "Made by", "Checked by"}
    steps = [step for phase in mask_sheet.phases for step in phase.steps]
    assert [row["no"] for row in rows if row["part"] == "step"] == [str(step.number) for step in steps]


@pytest.mark.parametrize("attack", ATTACKS)
def test_no_cell_of_the_table_is_live(attack: str) -> None:
    for row in _rows(sheet_of(*hostile(attack))):
        for cell in row.values():
            assert (
                not cell
                or cell[0] not in "=+-@\t\r\n|＝＋－＠｜"
                or re.fullmatch(r"[+-]?[0-9]+(\.[0-9]+)?", cell)
            )


@pytest.mark.parametrize(
    ("text", "guarded"),
    [
        ("-3.5", "-3.5"),
        ("+2", "+2"),
        ("-3.5a", "'-3.5a"),
        ("=1", "'=1"),
        ("＝1", "'＝1"),
        ("", ""),
        ("Kaolin", "Kaolin"),
        ("-\u0663", "'-\u0663"),
        ("\t1", "'\t1"),
        ("-1\n", "'-1\n"),
    ],
)
def test_only_plain_numbers_may_begin_with_a_sign(text: str, guarded: str) -> None:
    assert guard(text) == guarded


def test_the_json_holds_the_same_weights(mask_sheet: Sheet) -> None:
    read = json.loads(sheet_json(mask_sheet), parse_float=_no_bare_numbers)
    lines = [line for phase in read["phases"] for line in phase["lines"]]
    assert sum(F(line["weigh"]["value"]) for line in lines) == F(read["batch"]["value"]) == 250
    assert {line["weigh"]["unit"] for line in lines} == {"g"}
    assert read["provenance"]["code"] == "0f1e2d3c4b5a"
    assert [step["ready"] for phase in read["phases"] for step in phase["steps"]].count(False) == 1


def _no_bare_numbers(text: str) -> float:
    raise AssertionError(text)


def test_the_same_sheet_gives_the_same_bytes(mask: tuple[Proposal, Request]) -> None:
    for write in (sheet_html, sheet_csv, sheet_json):
        assert write(sheet_of(*mask)) == write(sheet_of(*mask))


def test_a_narrow_screen_finds_the_heading_of_each_cell_at_the_cell(mask_sheet: Sheet) -> None:
    for page in (sheet_html(mask_sheet), table_html(mask_sheet), record_html(mask_sheet)):
        tables = re.findall(r'<table class="stack weighing">.*?</table>', page, re.DOTALL)
        rows = 0
        for table in tables:
            heads = re.findall(r"<th[^>]*>([^<]*)</th>", table)
            for row in re.findall(r"<tr[^>]*>\s*<td>.*?</tr>", table, re.DOTALL):
                if "weigh" in row:
                    told = re.findall(r'data-h="([^"]*)"', row)
                    assert told == heads[1 : 1 + len(told)]
                    assert {"Weigh g", "Lot"} <= set(told)
                    rows += 1
        assert rows == len(mask_sheet.lines)
