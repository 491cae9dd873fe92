"""A proposal becomes a formula that knows its parent; two formulas stand side by side."""

from __future__ import annotations

import csv
import json
from io import StringIO
from pathlib import Path

import pytest

from optimiser.checks.judge import broken
from optimiser.domain.moved import Moved
from optimiser.errors import OptimiserError, UsageError
from optimiser.export.comparison import comparison_csv, comparison_dict, comparison_html, picture_svg
from optimiser.workflows.adopt import adopt, lineage, plan_adoption
from optimiser.workflows.compare import compare, history, write_comparison
from optimiser.workflows.propose import as_it_stands
from tests.workflows.desk import FLAGSHIP, F, changed, copied, table_in
from tests.workflows.test_saving_and_sheets import saved


def test_an_adopted_formula_stands_as_it_was_proposed_and_holds_its_own_rules(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder, "sensitive-skin")
    done = adopt(path, "mild-mask")
    assert done.path == (folder / "formulas" / "mild-mask.yaml").resolve()
    assert not done.broken
    sources = table_in(folder)
    formula = sources.worktable.formulas["mild-mask"]
    assert formula == done.formula
    assert formula.parent is not None
    assert (formula.parent.formula, formula.parent.proposal) == (FLAGSHIP, path.name)
    found = compare(sources, path.name, "mild-mask")
    assert not found.apart
    assert found.moved == 0
    told, _ = as_it_stands(sources, formula)
    assert not broken(told.verdicts)


def test_targets_that_spoke_of_the_base_become_numbers(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder, "sensitive-skin")
    adopt(path, "mild-mask")
    text = (folder / "formulas" / "mild-mask.yaml").read_text(encoding="utf-8")
    assert "of base" not in text
    targets = {one.label: one for one in table_in(folder).worktable.formulas["mild-mask"].targets}
    thick = targets["As thick as the base"].span
    assert (thick.low, thick.high) == (F("0.648"), F("0.792"))
    assert targets["Calendula stays"].span.low == F("0.8")
    assert targets["Calendula stays"].rank == 1


def test_steps_about_what_went_go_with_it(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder, "sensitive-skin")
    formula = adopt(path, "mild-mask", "Mild mask").formula
    assert formula.name == "Mild mask"
    steps = [step for phase in formula.phases for step in phase.steps]
    assert steps
    assert all("bentonite" not in step.about for step in steps)
    assert not any("swelling clay" in step.text for step in steps)


def test_what_is_there_is_never_written_over(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder, "sensitive-skin")
    before = (folder / "formulas" / f"{FLAGSHIP}.yaml").read_bytes()
    with pytest.raises(UsageError, match="called"):
        adopt(path, FLAGSHIP)
    for name in ("../mask", "Mask", "a b", "", "a/b", ".."):
        with pytest.raises(UsageError, match="no name for a file"):
            adopt(path, name)
    assert (folder / "formulas" / f"{FLAGSHIP}.yaml").read_bytes() == before


def test_what_the_judge_does_not_pass_today_is_not_adopted(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder, "sensitive-skin")
    changed(
        folder, f"formulas/{FLAGSHIP}.yaml", lambda text: text.replace("at_least: 18 %", "at_least: 29 %")
    )
    with pytest.raises(OptimiserError, match="judge does not pass"):
        adopt(path, "mild-mask")
    assert not (folder / "formulas" / "mild-mask.yaml").exists()


def test_a_history_goes_back_to_the_first_formula(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder, "vegan", formula="sunflower-balm")
    adopt(path, "wax-balm")
    (second,) = saved(folder, "fragrance-free", formula="wax-balm")
    adopt(second, "wax-balm-2")
    sources = table_in(folder)
    line = lineage(sources.worktable, sources.worktable.formulas["wax-balm-2"])
    assert [one.id for one in line] == ["wax-balm-2", "wax-balm", "sunflower-balm"]
    steps = history(sources, "wax-balm-2")
    assert [(one.first.id, one.second.id) for one in steps] == [
        ("wax-balm", "wax-balm-2"),
        ("sunflower-balm", "wax-balm"),
    ]
    assert history(sources, "sunflower-balm") == ()


def test_a_circle_of_parents_ends(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder, "sensitive-skin")
    adopt(path, "mild-mask")
    changed(folder, f"formulas/{FLAGSHIP}.yaml", lambda text: text + "parent: {formula: mild-mask}\n")
    table = table_in(folder).worktable
    assert [one.id for one in lineage(table, table.formulas[FLAGSHIP])] == [FLAGSHIP, "mild-mask"]


def test_sides_swapped_are_the_same_numbers_with_the_other_sign(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder, "sensitive-skin")
    sources = table_in(folder)
    there, back = compare(sources, FLAGSHIP, path.name), compare(sources, path.name, FLAGSHIP)
    assert {(p.ingredient, p.moved) for p in there.lines} == {(p.ingredient, -p.moved) for p in back.lines}
    assert sum(p.moved for p in there.lines) == 0
    assert there.moved == back.moved > 0
    assert {p.ingredient for p in there.apart if not p.second} == {"bentonite"}


def test_every_form_holds_every_line_and_hostile_names_are_inert(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    hostile = '=cmd<script>alert(1)</script>"'
    changed(folder, "ingredients.csv", lambda text: text.replace("Bentonite", hostile.replace('"', ""), 1))
    sources = table_in(folder)
    found = compare(sources, FLAGSHIP, "aloe-gel-mask")
    page = comparison_html(found)
    assert "<script>" not in page
    assert page.count('<td class="n">out</td>') == sum(not p.second for p in found.lines)
    assert "<script" not in picture_svg(found)
    rows = list(csv.reader(StringIO(comparison_csv(found))))
    assert len([row for row in rows if row[0] == "line"]) == len(found.lines)
    assert not any(cell.startswith("=") for row in rows for cell in row)
    assert len(comparison_dict(found)["lines"]) == len(found.lines)


def test_files_are_written_and_an_unknown_form_is_refused(tmp_path: Path) -> None:
    sources = table_in(copied(tmp_path))
    found = compare(sources, FLAGSHIP, "aloe-gel-mask")
    written = write_comparison(found, tmp_path / "out", ("html", "csv", "svg", "json"))
    assert all(path.stat().st_size for path in written)
    assert json.loads(written[3].read_text(encoding="utf-8"))["first"]["id"] == FLAGSHIP
    with pytest.raises(UsageError, match="pfd"):
        write_comparison(found, tmp_path / "out", ("pfd",))
    with pytest.raises(UsageError, match="oat-rose-mask"):
        compare(sources, "oat-rose-maks", "aloe-gel-mask")


SCRUB = "coffee-sugar-scrub"
MOVED = (
    Moved(f"formulas/{SCRUB}#Grains 50 to 65 %", F("61"), F("63")),
    Moved(f"formulas/{SCRUB}#Material at most 9 EUR/kg", None, F("8.9")),
    Moved(f"formulas/{SCRUB}#Rinses off", gone=True),
    Moved(f"formulas/{SCRUB}#Two new ingredients at most", None, F(1)),
    Moved("line:sugar", F("30")),
)


@pytest.fixture(scope="module")
def scrubbed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A proposal of a request whose limits were moved by hand."""
    folder = copied(tmp_path_factory.mktemp("moved"))
    (path,) = saved(folder, formula=SCRUB, moved=MOVED)
    return path


def test_limits_moved_by_hand_are_the_targets_of_the_adopted_formula(scrubbed: Path) -> None:
    planned = plan_adoption(scrubbed, "soft-scrub")
    assert not planned.path.exists()
    assert "Grains 50 to 65 %: now at least 61 %, at most 63 %" in planned.kept
    assert "Rinses off: given up, so it is no target any more" in planned.kept
    assert [text for text in planned.left if "at least 30 %" in text] == list(planned.left)
    done = adopt(scrubbed, "soft-scrub")
    assert done.broken == ()
    assert done.path.read_text(encoding="utf-8") == planned.text
    targets = {one.label: one for one in done.formula.targets}
    assert "Grains 50 to 65 %" not in targets
    assert "Rinses off" not in targets
    grains = next(one for one in done.formula.targets if one.span.high == F("63"))
    assert (grains.span.low, grains.source) == (F("61"), f"moved by hand in {scrubbed.name}")
    assert {one.span.high for one in done.formula.targets} >= {F("8.9"), F(1)}
    assert targets["Coffee stays"].source != grains.source
