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


def test_what_is_under_way_is_stopped(visitor: Visitor) -> None:
    path = visitor.change("almond-body-lotion")
    visitor.post(f"{path}/say", what="leave-out", name="glycerin", revision="0")
    under_way = visitor.get(f"{path}/why").text
    assert 'role="status"' in under_way
    assert "Stopped. Nothing was changed." in visitor.post(f"{path}/why/stop").text
