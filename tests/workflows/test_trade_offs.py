"""Two wishes set against each other on the demo: every formula shown is judged and none beats another."""

from __future__ import annotations

import csv
import io
import json
import sys
import xml.etree.ElementTree as ET
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import jsonschema
import pytest

import optimiser
from optimiser.checks import measures
from optimiser.domain.curve import Curve
from optimiser.domain.outcome import Impossible
from optimiser.errors import OptimiserError, UsageError
from optimiser.export.curve_csv import curve_csv
from optimiser.export.curve_html import curve_html
from optimiser.export.curve_json import curve_dict
from optimiser.export.curve_png import curve_png
from optimiser.export.curve_svg import curve_svg
from optimiser.export.curve_words import proof_of
from optimiser.workflows.ask import ask
from optimiser.workflows.propose import request_for
from optimiser.workflows.tradeoff import along, tradeoff, write_curve
from tests.cli.line import here
from tests.once import once
from tests.workflows.desk import DEMO, F, amounts, demo, is_sound, proposed, shares

FORMULA = "sunflower-balm"
SCHEMA = json.loads(
    (Path(optimiser.__file__).parent / "schema" / "tradeoff.schema.json").read_text(encoding="utf-8")
)


@pytest.fixture(scope="module")
def found() -> Curve:
    curve = once(
        "cost and natural origin of the balm",
        lambda: tradeoff(demo(), ask(demo(), FORMULA, {}), "cost", "natural-origin"),
    )
    assert isinstance(curve, Curve)
    return curve


def test_every_formula_passes_the_judge_and_has_what_it_is_said_to_have(found: Curve) -> None:
    assert len(found.points) >= 3
    for point in found.points:
        is_sound(point.proposal, found.request)
        now = amounts(point.proposal, found.request)
        assert point.first == measures.cost(now)
        origin = (now.ingredients[slot.ingredient].figure("natural_origin") for slot, _ in now.lines)
        by_hand = sum(
            (
                share * figure.value / 100
                for (_, share), figure in zip(now.lines, origin, strict=True)
                if figure
            ),
            F(0),
        )
        assert point.second == by_hand


def test_no_formula_is_beaten_by_another(found: Curve) -> None:
    for one, other in zip(found.points, found.points[1:], strict=False):
        assert one.first < other.first
        assert one.second < other.second


def test_its_cheap_end_is_the_cheapest_formula_under_the_same_rules(found: Curve) -> None:
    request = replace(request_for(demo(), ask(demo(), FORMULA, {})), aim=("cheapest",))
    from optimiser.search.propose import search
    from optimiser.solver.interface import Limits

    cheapest = search(request, limits=Limits()).proposals[0].cost_per_kg
    assert cheapest is not None
    assert abs(found.points[0].first - cheapest) < F("0.001")


def test_the_near_end_of_cost_and_departure_is_the_proposal() -> None:
    asked = ask(demo(), "sunflower-balm", {"leave_out": ("beeswax",)})
    curve = tradeoff(demo(), asked, "departure", "new-ingredients")
    first, _ = proposed(demo(), "sunflower-balm", leave_out=("beeswax",))
    assert isinstance(curve, Curve)
    departure = sum((part for _, part in first.departure_parts), F(0))
    assert abs(curve.points[0].first - departure) < F("0.01")


def test_changes_lead_from_each_formula_to_the_next(found: Curve) -> None:
    for one, other in zip(found.points, found.points[1:], strict=False):
        now = dict(shares(one.proposal))
        for shift in other.shifts:
            assert now.get(shift.ingredient, F(0)) == shift.before
            now[shift.ingredient] = shift.after
        assert {name: share for name, share in now.items() if share} == shares(other.proposal)


def test_the_json_is_as_its_schema_says(found: Curve) -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    told = json.loads(json.dumps(curve_dict(found)))
    jsonschema.Draft202012Validator(SCHEMA).validate(told)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(SCHEMA).validate(told | {"more": 1})


def test_the_table_holds_every_line_of_every_formula(found: Curve) -> None:
    rows = list(csv.DictReader(io.StringIO(curve_csv(found), newline="")))
    for point in found.points:
        own = [Fraction(row["percent"]) for row in rows if row["formula"] == str(point.number)]
        assert sum(own) == 100
        assert len(own) == len(point.proposal.lines)


def test_the_drawing_is_well_formed_and_shows_every_formula(found: Curve) -> None:
    drawn = ET.fromstring(curve_svg(found))  # noqa: S314  # our own text
    dots = [one for one in drawn.iter() if one.get("class") == "dot"]
    assert len(dots) == len(found.points)
    for dot in dots:
        assert 0 < float(dot.get("cx", "-1")) < 720
        assert 0 < float(dot.get("cy", "-1")) < 430


def test_papers_are_deaf_to_hostile_names(found: Curve) -> None:
    evil = '</svg><script>alert(1)</script>"&\u202e<img src=x>'
    request = replace(found.request, name=evil)
    known = {name: replace(one, name=evil) for name, one in request.ingredients.items()}
    hostile = replace(found, request=replace(request, ingredients=known))
    svg, page = curve_svg(hostile), curve_html(hostile)
    for text in (svg, page):
        assert "<script" not in text
        assert "<img" not in text
        assert "\u202e" not in svg
    ET.fromstring(svg)  # noqa: S314  # our own text
    assert all(not row.startswith(("=", "+", "@")) for row in curve_csv(hostile).splitlines())


def test_the_curve_is_proved_and_never_falls_back_up_to_its_very_end(found: Curve) -> None:
    """Lines of some sets run on beyond the end, at more cost for less: they are no part of the curve."""
    assert found.exact
    spots = [spot for piece in found.pieces for spot in piece]
    assert spots == sorted(spots)
    assert [second for _, second in spots] == sorted(second for _, second in spots)
    assert found.points[-1].second == max(one.second for one in found.points)
    assert abs(found.points[-1].second - spots[-1][1]) <= F("0.01")


def test_the_png_shows_the_drawing(found: Curve) -> None:
    """Every numbered corner is there: a ring of the line's ink round a white middle, at twice the size."""
    from PIL import Image

    data = curve_png(found)
    picture = Image.open(io.BytesIO(data)).convert("RGB")
    assert picture.size == (1440, 860)
    drawn = ET.fromstring(curve_svg(found))  # noqa: S314  # our own text
    rings = [part for part in drawn if part.tag.endswith("circle")]
    assert len(rings) == len(found.points)
    for ring in rings:
        x, y, r = (round(2 * float(ring.get(name, ""))) for name in ("cx", "cy", "r"))
        red, green, blue = picture.getpixel((x + r, y))  # type: ignore[misc]
        assert red < green
        assert red + green + blue < 400
    assert picture.getpixel((2, 2)) == (255, 255, 255)


def test_without_the_library_a_png_is_refused_with_what_to_do(
    found: Curve, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setitem(sys.modules, "matplotlib.figure", None)
    with pytest.raises(OptimiserError, match="PNG") as fault:
        write_curve(found, tmp_path, ("png",))
    assert "formula-optimiser[png]" in fault.value.fix


def test_files_are_written_in_every_format_and_twice_alike(found: Curve, tmp_path: Path) -> None:
    formats = ("html", "svg", "png", "csv", "json")
    first = [path.read_bytes() for path in write_curve(found, tmp_path / "a", formats)]
    second = [path.read_bytes() for path in write_curve(found, tmp_path / "b", formats)]
    assert first == second
    with pytest.raises(UsageError, match="gif"):
        write_curve(found, tmp_path, ("gif",))


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        ("closeness", "departure"),
        ("cots", "cost"),
        ("share:clay", "most share:clay"),
        ("most share:", "share:WHAT"),
        ("most cost:clay", "share:WHAT"),
        ("most share:kind:clai", "clay"),
        ("most mean:solid", "solids"),
        ("most departure", "least departure"),
        ("most pH", "another measure"),
    ],
)
def test_a_word_that_is_no_measure_is_told_what_is(words: str, hint: str) -> None:
    request = request_for(demo(), ask(demo(), FORMULA, {}))
    with pytest.raises(UsageError) as told:
        along(words, request, demo())
    assert hint in f"{told.value} {told.value.fix}"


def test_where_no_formula_meets_the_musts_the_plain_answer_says_why() -> None:
    outcome = tradeoff(demo(), ask(demo(), FORMULA, {"briefs": ("impossible-clay",)}), "cost", "departure")
    assert isinstance(outcome, Impossible)


def test_the_command_prints_a_table_and_what_was_proved(capsys: pytest.CaptureFixture[str]) -> None:
    words = ("tradeoff", FORMULA, "-w", str(DEMO), "--between", "cost", "--and", "new-ingredients")
    ran = here(capsys, *words)
    assert ran.code == 0
    assert "Proved: no formula lies beyond the curve" in ran.out
    assert "What changes from the one before" in ran.out


def test_where_one_formula_is_best_in_both_there_is_nothing_to_trade() -> None:
    asked = ask(demo(), "matt-hair-clay", {})
    curve = tradeoff(demo(), asked, "most share:clay", "most level:thickening")
    assert isinstance(curve, Curve)
    assert [float(point.first) for point in curve.points] == [18]
    assert proof_of(curve)[0].startswith("One formula is the best in both")
