"""A saved proposal comes back, is judged again on today's data, and only then becomes a sheet."""

from __future__ import annotations

import csv
import json
import re
from fractions import Fraction
from io import StringIO
from pathlib import Path

import pytest

from optimiser.domain.outcome import Proposals
from optimiser.errors import OptimiserError, UsageError
from optimiser.requests.sources import Sources
from optimiser.workflows.ask import ask
from optimiser.workflows.save import save_proposals
from optimiser.workflows.sheet import SheetWanted, make_sheet, write_sheets
from tests.cli.line import here
from tests.workflows.desk import FLAGSHIP, F, asked, asked_anew, changed, copied, table_in

FORMATS = ("html", "csv", "json")
HALF_A_STEP = F(1, 200)
"""Of the balance that reads 0.01 g: a batch is what can be weighed."""


def saved(folder: Path, *briefs: str, formula: str = FLAGSHIP, **said: object) -> tuple[Path, ...]:
    sources: Sources = table_in(folder)
    question = ask(sources, formula, {"briefs": briefs, **said})
    outcome = asked(sources, formula, *briefs, **said)
    assert isinstance(outcome, Proposals)
    return save_proposals(outcome, sources, question, folder)


def test_the_sheet_of_a_saved_proposal_weighs_what_was_proposed(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder, "sensitive-skin")
    written = write_sheets(SheetWanted(path, tmp_path / "out", FORMATS, batch="500 g"))
    assert [file.suffix for file in written] == [".html", ".csv", ".json"]
    assert all("Kaolin, white" in file.read_text(encoding="utf-8") for file in written)
    sheet = json.loads(written[2].read_text(encoding="utf-8"))
    lines = {line["ingredient"]: line for phase in sheet["phases"] for line in phase["lines"]}
    assert "bentonite" not in lines
    assert sheet["batch"] == {"value": "500", "unit": "g"}
    percent, grams = (F(lines["kaolin"][key]["value"]) for key in ("percent", "weigh"))
    assert 18 <= percent + F(lines["rose-clay"]["percent"]["value"]) <= 30
    assert abs(percent * 5 - grams) <= F(1, 2)
    assert "bentonite" not in json.dumps(sheet["phases"]).casefold()


@pytest.mark.parametrize("briefs", [(), ("vegan",)])
def test_what_a_balance_rounds_is_no_change(tmp_path: Path, briefs: tuple[str, ...]) -> None:
    folder = copied(tmp_path)
    sources = table_in(folder)
    question = ask(sources, "sunflower-balm", {"briefs": briefs})
    outcome = asked(sources, "sunflower-balm", *briefs)
    assert isinstance(outcome, Proposals)
    (path,) = save_proposals(outcome, sources, question, folder)
    (proposal,) = outcome.proposals
    sheet = make_sheet(SheetWanted(path, tmp_path, batch="61.7 g"))
    assert sum(line.old != line.new for line in sheet.lines) > len(proposal.changes)
    assert {(row.old, row.new, row.because) for row in sheet.changes} == {
        (one.before, one.after, one.reasons) for one in proposal.changes
    }
    assert [one.text for one in sheet.sets_off] == [one.text for one in proposal.sets_off]
    assert all(row.because for row in sheet.changes if row.new)
    assert sheet.rounded is bool(briefs)


def test_a_name_of_ones_own_is_kept_and_never_written_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = copied(tmp_path)
    words = ("propose", "sunflower-balm", "-w", str(folder))
    assert here(capsys, *words, "--as", "first").code == 2
    assert "no name of a proposal" in here(capsys, *words, "--save", "--as", "../first").err
    assert here(capsys, *words, "--save", "--as", "first").code == 0
    path = folder / "proposals" / "first.yaml"
    before = path.read_bytes()
    again = here(capsys, *words, "--save", "--as", "first")
    assert again.code not in (0, 3)
    assert "first.yaml" in again.err
    assert path.read_bytes() == before


def test_the_same_request_again_writes_the_same_bytes(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (first,) = saved(folder, "sensitive-skin")
    before = first.read_bytes()
    sources = table_in(folder)
    anew = asked_anew(sources, FLAGSHIP, "sensitive-skin")
    assert isinstance(anew, Proposals)
    (second,) = save_proposals(anew, sources, ask(sources, FLAGSHIP, {"briefs": ("sensitive-skin",)}), folder)
    assert second == first
    assert second.read_bytes() == before
    assert [p.name for p in (folder / "proposals").iterdir()] == [first.name]
    (other,) = saved(folder, "no-strong-clay")
    assert other != first


def test_every_alternative_has_a_file_of_its_own_that_passes_again(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    paths = saved(folder, "another-thickener", formula="rose-serum", alternatives=2)
    assert len({path.name for path in paths}) == len(paths) == 2
    for path in paths:
        make_sheet(SheetWanted(path, tmp_path))


def test_options_beside_the_briefs_come_back_with_the_proposal(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder, instead_of=("glycerin",), use=("propanediol",), leave_out=("flag:strong-clay",))
    changed(
        folder,
        str(path.relative_to(folder)),
        lambda text: text.replace("propanediol: ", "glycerin: ").replace("'propanediol'", "'glycerin'"),
    )
    with pytest.raises((OptimiserError, UsageError)):
        make_sheet(SheetWanted(path, tmp_path))


def test_a_price_that_rose_since_stops_the_sheet_with_the_rule_in_words(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder, "sensitive-skin")
    set_cell(folder, "kaolin", "pack_price", "990.00")
    with pytest.raises(OptimiserError, match=r"Material cost: at most 9\.5 EUR per kg") as refused:
        make_sheet(SheetWanted(path, tmp_path / "out"))
    assert "propose again" in refused.value.fix
    assert not (tmp_path / "out").exists()


def set_cell(folder: Path, ingredient: str, column: str, value: str) -> None:
    """Another value in one cell of ingredients.csv."""
    path = folder / "ingredients.csv"
    head, *rows = csv.reader(StringIO(path.read_text(encoding="utf-8")))
    at = next(number for number, name in enumerate(head) if name.startswith(column))
    (row,) = [row for row in rows if row[0] == ingredient]
    assert row[at] != value
    row[at] = value
    out = StringIO()
    csv.writer(out, lineterminator="\n").writerows([head, *rows])
    path.write_text(out.getvalue(), encoding="utf-8")


def test_a_limit_of_the_formula_that_moved_since_stops_the_sheet(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder, "sensitive-skin")
    make_sheet(SheetWanted(path, tmp_path))
    changed(
        folder,
        f"formulas/{FLAGSHIP}.yaml",
        lambda text: text.replace("at_least: 18 %\n    at_most: 30 %", "at_least: 26 %\n    at_most: 30 %"),
    )
    with pytest.raises(OptimiserError, match="the judge does not pass this proposal"):
        make_sheet(SheetWanted(path, tmp_path))


def test_a_newcomer_that_cannot_be_bought_any_more_is_named(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder, "another-thickener")
    own = table_in(folder).worktable.formulas[FLAGSHIP].ingredients
    (came,) = {
        name for name in table_in(folder).worktable.ingredients if f"- {name}: " in path.read_text()
    } - own
    set_cell(folder, came, "pack_price", "")
    set_cell(folder, came, "pack_size", "")
    with pytest.raises(
        OptimiserError, match=f"{came} of the proposal is not considered any more: .*no price"
    ):
        make_sheet(SheetWanted(path, tmp_path))


def test_a_line_outside_its_suppliers_range_prints_only_with_a_reason_and_prints_the_reason(
    tmp_path: Path,
) -> None:
    folder = copied(tmp_path)
    set_cell(folder, "calendula-extract", "use_max", "0.9")
    (path,) = saved(folder, "sensitive-skin")
    with pytest.raises(UsageError, match=r"outside the supplier's range of .*0\.9 %") as held:
        make_sheet(SheetWanted(path, tmp_path))
    assert "--because" in held.value.fix
    with pytest.raises(UsageError):
        make_sheet(SheetWanted(path, tmp_path, because="   "))
    reason = "an older paper of the trader allowed twice as much"
    written = write_sheets(SheetWanted(path, tmp_path / "out", FORMATS, because=reason))
    for file in written:
        text = file.read_text(encoding="utf-8")
        assert reason in text, file
        assert "outside the supplier" in text, file


@pytest.mark.parametrize(
    ("batch", "grams"), [("8 oz", F("226.796185")), ("0.5 kg", F(500)), ("1 lb", F("453.59237"))]
)
def test_a_batch_in_any_weight_is_that_many_grams(tmp_path: Path, batch: str, grams: Fraction) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder, formula="sunflower-balm")
    sheet = make_sheet(SheetWanted(path, tmp_path, batch=batch))
    assert abs(sheet.batch_g - grams) <= HALF_A_STEP


def test_an_unknown_format_is_refused(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder, formula="sunflower-balm")
    with pytest.raises(UsageError, match="no sheet format"):
        write_sheets(SheetWanted(path, tmp_path, ("docx",)))


def test_a_batch_in_volume_takes_the_density_given_or_the_one_predicted(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder, formula="sunflower-balm")
    given = make_sheet(SheetWanted(path, tmp_path, batch="8 fl oz", density="1.2 g/ml"))
    assert given.batch_g > 280
    assert "predicted" not in given.batch_note
    said: list[str] = []
    written = write_sheets(SheetWanted(path, tmp_path / "out", ("html",), batch="8 fl oz"), said.append)
    (note,) = said
    assert note.startswith("batch: 8 fl oz at a predicted 0.")
    assert note.removeprefix("batch: ").partition(";")[0] in written[0].read_text(encoding="utf-8")


def test_a_batch_in_volume_with_a_density_missing_is_refused(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder)
    changed(folder, "properties.csv", lambda text: re.sub(r"(?m)^kaolin,density,.*\n", "", text))
    with pytest.raises(UsageError, match="density cannot be predicted"):
        make_sheet(SheetWanted(path, tmp_path, batch="8 fl oz"))
