"""The trade-off of a request and the reasons of its proposal, on the page."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from tests.page.conftest import Visitor

HELD = {
    "coconut-mct": "22",
    "polyglyceryl-4-caprate": "9",
    "vitamin-e": "0.5",
    "sweet-orange-oil": "0.3",
    "beeswax": "7",
}
PAIR = "between=cost&against=departure"


def ended(visitor: Visitor, path: str) -> str:
    """The page once nothing is under way; waits as the page itself does."""
    text = str(visitor.get(path).text)
    for _ in range(200):
        seen = re.search(r'hx-get="([^"]+seen=\d+)"', text)
        if seen is None:
            return text
        text = str(visitor.get(seen[1].replace("&amp;", "&"), **{"hx-request": "true"}).text)
    raise AssertionError("no answer came")


@pytest.fixture(scope="module")
def path(visitor: Visitor) -> str:
    """A request in which only two lines are free, so that its curve is found quickly."""
    path = visitor.change("sunflower-balm")
    for revision, (name, share) in enumerate(HELD.items()):
        fields = {"rule": "line:", "name": name, "low": share, "high": share, "revision": str(revision)}
        visitor.post(f"{path}/limit", **fields)
    return path


def take(visitor: Visitor, path: str, point: int) -> Any:
    fields = {"between": "cost", "against": "departure", "point": str(point)}
    return visitor.post(f"{path}/trade/take", **fields)


def test_a_point_of_the_curve_is_kept_and_no_other_is_lost(visitor: Visitor, path: str, folder: Path) -> None:
    text = ended(visitor, f"{path}/trade?{PAIR}")
    assert "Cost against departure" in text
    points = re.findall(r'aria-label="Keep formula (\d+)"', text)
    assert len(points) > 1
    drawing = visitor.get(f"{path}/trade/curve.svg?{PAIR}")
    assert drawing.headers["content-type"].startswith("image/svg")
    assert drawing.text.count('class="dot"') == len(points)
    before = set((folder / "proposals").glob("*.yaml"))
    first = take(visitor, path, 1)
    kept = (set((folder / "proposals").glob("*.yaml")) - before).pop()
    held = kept.read_bytes()
    last = take(visitor, path, int(points[-1]))
    assert first.url.path.startswith("/proposal/sunflower-balm-")
    assert last.url.path != first.url.path
    assert kept.read_bytes() == held
    assert take(visitor, path, 99).status_code == 409


def test_only_two_measures_of_the_list_make_a_curve(visitor: Visitor, path: str) -> None:
    assert "Show the curve" in visitor.get(f"{path}/trade").text
    assert visitor.get(f"{path}/trade?between=cost&against=cost").status_code == 409
    assert visitor.get(f"{path}/trade?between=share:../x&against=cost").status_code == 409
    assert visitor.get(f"{path}/trade/curve.svg?between=natural-origin&against=cost").status_code == 404


def test_why_and_what_a_limit_costs(visitor: Visitor, path: str) -> None:
    text = ended(visitor, f"{path}/why")
    assert "What the next step of a limit costs" in text
    assert re.search(r"<bdi>Beeswax</bdi>.*?What the next step", text, re.DOTALL)
    assert "EUR/kg" in text
    lines = text.partition('id="lines"')[2].partition('id="another"')[0]
    assert re.search(r'data-label="Without it"><bdi>[^<]*EUR/kg', lines)
    assert not re.search(r'class="[^"]*\bwide\b', lines), "nothing is left out on a narrow screen"


def test_a_corner_that_is_pressed_shows_its_formula(visitor: Visitor, path: str) -> None:
    text = ended(visitor, f"{path}/trade?{PAIR}")
    links = re.findall(
        r'<a href="([^"]+)" aria-label="Formula (\d+): cost [^"]+"><circle class="touch"', text
    )
    assert len(links) == text.count('class="dot"') > 1
    assert "<style" not in text
    assert 'id="formula"' not in text
    address, number = links[-1]
    shown = visitor.get(address.replace("&amp;", "&").partition("#")[0]).text
    assert f'<h2 id="formula" tabindex="-1">Formula {number}</h2>' in shown
    assert re.search(r'id="formula".*?Sunflower oil, high oleic.*?Shea butter', shown, re.DOTALL)
    assert f"Keep formula {number}</button>" in shown
    assert 'id="formula"' not in visitor.get(f"{path}/trade?{PAIR}&point=99").text


def test_another_way_stands_beside_the_free_one(visitor: Visitor) -> None:
    path = visitor.change("sunflower-balm")
    visitor.post(f"{path}/say", what="brief", name="vegan", revision="0")
    ended(visitor, f"{path}/why/another?without=shea-butter&use=cocoa-butter")
    text = visitor.get(f"{path}/why/another?without=shea-butter&use=cocoa-butter").text
    assert re.search(r"<h1><bdi>And with Cocoa butter[^<]* instead of Shea butter\?</bdi></h1>", text)
    assert re.search(r"Departure[^<]*: 13 becomes \d+", text)
    assert re.search(r"Cocoa butter.*?new", text, re.DOTALL)
    assert visitor.get(f"{path}/why/another?without=../x").status_code == 404
    assert visitor.get(f"{path}/why/another?without=beeswax&use=<b>").status_code == 404


def test_every_way_a_request_clashes_and_every_way_out(visitor: Visitor) -> None:
    path = visitor.change("sunflower-balm")
    visitor.post(f"{path}/limit", rule="line:", name="shea-butter", low="15", high="", revision="0")
    assert f'href="{path}/why"' in visitor.answer(path)
    text = ended(visitor, f"{path}/why")
    assert "Every way it clashes" in text
    assert re.search(r"Every way out</h3>.*?<li>.*?Then [^<]+Shea butter \d+", text, re.DOTALL)
    assert "These are all there are" in text


def test_a_kept_proposal_is_asked_for_anew(visitor: Visitor) -> None:
    path = visitor.change("sunflower-balm")
    visitor.post(f"{path}/say", what="brief", name="vegan", revision="0")
    visitor.post(f"{path}/say", what="leave-out", name="flag:bee", revision="1")
    visitor.post(f"{path}/limit", rule="carried#share-wax", low="6.5", high="7.5", revision="2")
    visitor.answer(path)
    kept = visitor.post(f"{path}/save", which="0", revision="3").url.path
    again = visitor.post(f"{kept}/ask", then="trade")
    assert re.fullmatch(r"/change/[0-9a-f]+/trade", again.url.path)
    text = visitor.get(again.url.path.removesuffix("/trade")).text
    for said in ("brief: Vegan", "without flag bee", "share of wax: 6.5 to 7.5"):
        assert f"<bdi>{said}</bdi>" in text
    assert visitor.post(f"{kept}/ask", then="https://evil.example").url.path.startswith("/change/")


def test_what_is_under_way_is_stopped(visitor: Visitor) -> None:
    path = visitor.change("almond-body-lotion")
    visitor.post(f"{path}/say", what="leave-out", name="glycerin", revision="0")
    under_way = visitor.get(f"{path}/why").text
    assert 'role="status"' in under_way
    assert "Stopped. Nothing was changed." in visitor.post(f"{path}/why/stop").text


def test_no_figure_of_a_curve_is_left_out_on_a_narrow_screen(visitor: Visitor, path: str) -> None:
    """Each has its label with it, for where the heads of the columns are not shown."""
    text = ended(visitor, f"{path}/trade?{PAIR}")
    table = text.partition('<table class="lines lesson stacked">')[2].partition("</table>")[0]
    rows = table.count("<tr>") - 1
    for label in ("Cost, EUR/kg", "Departure, points", "Changes, points of %"):
        assert table.count(f'data-label="{label}"') == rows, label
    assert "wide" not in table
