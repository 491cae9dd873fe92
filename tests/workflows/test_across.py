"""The same asked of a whole range: the table, many worktables, what is kept, and the one new ingredient."""

from __future__ import annotations

import csv
import io
import json
import shutil
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import jsonschema
import pytest

import optimiser
from optimiser.cli.show_across import show_range
from optimiser.domain.across import Range
from optimiser.domain.outcome import Proposals
from optimiser.domain.request import Request
from optimiser.errors import OptimiserError, UsageError
from optimiser.export.across import range_csv, range_dict, range_html
from optimiser.requests.sources import Sources
from optimiser.search.rescue import Best
from optimiser.workflows import across_job
from optimiser.workflows import rescue as rescue_module
from optimiser.workflows.across import Means, across, pace, read_tables, write_range
from optimiser.workflows.across_job import Wishes
from optimiser.workflows.ask import ask
from optimiser.workflows.buy import shopping
from optimiser.workflows.propose import Asked, propose, request_for
from optimiser.workflows.rescue import rescue
from optimiser.workflows.worktable import open_worktable
from tests.ranges import FORMULAS, WAX, formula, range_of, small_table

F = Fraction
NO_WAX = Wishes((("leave_out", ("brown-wax",)),))
SCHEMA = json.loads(
    (Path(optimiser.__file__).parent / "schema" / "across.schema.json").read_text(encoding="utf-8")
)


def asked(folders: list[Path], wishes: Wishes = NO_WAX, to: Path | None = None, **means: object) -> Range:
    return across(read_tables(folders), wishes, Means(to=to, **means))  # type: ignore[arg-type]


def files(folder: Path) -> dict[str, bytes]:
    """Everything in a folder but locks, by name."""
    every = (p for p in sorted(folder.rglob("*")) if p.is_file() and not p.name.startswith("."))
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in every}


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_table(tmp_path_factory.mktemp("range") / "small")


def test_a_material_gone_is_told_formula_by_formula(small: Path) -> None:
    found = asked([small])
    told = {one.formula: (one.state, one.went, one.came) for one in found.answers}
    assert told == {
        "balm": ("works", ("Brown wax",), ("Grey wax",)),
        "butter": ("as it is", (), ()),
        "paste": ("works", ("Brown wax",), ("Grey wax",)),
        "polish": ("as it is", (), ()),
    }
    balm = found.answers[0]
    assert balm.cost_before == F(99, 100) + F(1, 100) * 40
    assert balm.cost_after == F(99, 100) + F(1, 100) * 60
    assert balm.departure == F(1, 2) * 2 + 1 + 5
    assert not found.stopped
    assert found.of == 4


def waxed_slate(folder: Path) -> Path:
    """A table whose slate brings some of the wax, with it in two formulas and in one beside the wax."""
    slate = {"field-oil": "to 100 %", "slate": "2 %"}
    formulas = {
        "balm": FORMULAS["balm"],
        "both": formula("Both", {**slate, "brown-wax": "1 %"}, WAX),
        "plain": formula("Plain", slate),
    }
    small_table(folder, formulas)
    path = folder / "composition.csv"
    text = path.read_text(encoding="utf-8")
    mixed = "slate,Slate,90,,,invented\nslate,Brown Wax,10,,,invented"
    path.write_text(text.replace("slate,Slate,100,,,invented", mixed), encoding="utf-8")
    return folder


def test_what_still_brings_the_material_is_told_wherever_the_table_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = waxed_slate(tmp_path / "waxed")
    told = ("Brown Wax is still in Slate. To be without it, leave out substance:Brown Wax.",)
    found = asked([folder], to=tmp_path / "to")
    assert {one.formula: (one.state, one.remarks) for one in found.answers} == {
        "balm": ("works", ()),
        "both": ("works", told),
        "plain": ("as it is", told),
    }
    sources = open_worktable(folder)
    proposed = propose(sources, ask(sources, "both", {"leave_out": ("brown-wax",)}))
    assert isinstance(proposed, Proposals)
    assert told[0] in [remark.text for remark in proposed.proposals[0].sets_off], "as propose says it"
    again = asked([folder], to=tmp_path / "to")
    assert (again.kept, again.answers) == (3, found.answers)
    jsonschema.validate(range_dict(found), SCHEMA)
    assert range_dict(found)["answers"][2]["remarks"] == list(told)
    rows = {row["formula"]: row["remarks"] for row in csv.DictReader(io.StringIO(range_csv(found)))}
    assert rows == {"balm": "", "both": told[0], "plain": told[0]}
    assert range_html(found).count(told[0]) == 2
    show_range(found)
    lines = capsys.readouterr().out.splitlines()
    assert [line.strip() for line in lines if told[0] in line] == [
        f"- both: {told[0]}",
        f"- plain: {told[0]}",
    ]
    whole = asked([folder], Wishes((("leave_out", ("substance:Brown Wax",)),)))
    assert not any(one.remarks for one in whole.answers)


def test_what_is_impossible_says_why_and_what_would_do(small: Path) -> None:
    wishes = Wishes((("leave_out", ("brown-wax", "grey-wax")),))
    balm = asked([small], wishes).answers[0]
    assert balm.state == "impossible"
    assert "left out" in balm.why
    assert "Share of wax" in balm.why
    assert balm.concession.endswith("0 % is the most. 1 ingredient goes, 1 comes.")
    assert balm.cost_after is None


def test_a_filler_cannot_be_left_out_and_the_others_are_told_all_the_same(small: Path) -> None:
    found = asked([small], Wishes((("leave_out", ("field-oil",)),)))
    assert {one.state for one in found.answers} == {"not asked"}
    assert "makes up this formula to 100 %" in found.answers[0].why


def test_a_price_risen_moves_costs_and_with_cheapest_the_formulas(small: Path) -> None:
    dear = asked([small], Wishes((("aim", ("cheapest",)),), prices=(("brown-wax", "90/kg"),)))
    balm = dear.answers[0]
    assert balm.cost_before == F(139, 100)
    assert balm.cost_unchanged == F(99, 100) + F(1, 100) * 90
    assert balm.cost_after is not None
    assert balm.cost_after < balm.cost_unchanged
    assert balm.went == ("Brown wax",)
    same = asked([small], Wishes(prices=(("Brown wax", "90 EUR/kg"),)))
    assert {one.state for one in same.answers} == {"as it is"}
    with pytest.raises(UsageError, match="no price"):
        asked([small], Wishes(prices=(("brown-wax", "dear"),)))


def test_one_instead_of_another_is_asked_only_where_the_first_stands(small: Path) -> None:
    found = asked([small], Wishes((("instead_of", ("brown-wax",)), ("use", ("grey-wax",)))))
    assert [one.state for one in found.answers] == ["works", "as it is", "works", "as it is"]
    with pytest.raises(UsageError, match="pairs"):
        asked([small], Wishes((("instead_of", ("brown-wax",)),)))


def test_a_law_changes_on_its_day(tmp_path: Path) -> None:
    folder = small_table(tmp_path / "law")
    (folder / "composition.csv").write_text(
        (folder / "composition.csv")
        .read_text(encoding="utf-8")
        .replace("chalk,Chalk,100", "chalk,Hexyl Salicylate,3,,,invented\nchalk,Chalk,97"),
        encoding="utf-8",
    )
    before = asked([folder], Wishes(on=date(2026, 4, 30)))
    after = asked([folder], Wishes(on=date(2026, 5, 1)))
    assert {one.formula: one.state for one in before.answers}["paste"] == "as it is"
    assert {one.formula: one.state for one in after.answers}["paste"] == "works"
    assert {one.formula: one.state for one in after.answers}["polish"] == "as it is"


def test_names_are_checked_before_anything_is_done(small: Path, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="brown-wacks"):
        asked([small], Wishes((("leave_out", ("brown-wacks",)),)), to=tmp_path / "to")
    with pytest.raises(UsageError, match="no brief"):
        asked([small], Wishes((("briefs", ("nowhere",)),)))
    with pytest.raises(UsageError, match="twice"):
        asked([small, small])
    assert not (tmp_path / "to").exists()


def test_what_is_fine_as_it_is_is_what_solving_finds(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Judging the base saves the solving; the proposals are the same, byte for byte."""
    quick = asked([small], to=tmp_path / "quick")
    monkeypatch.setattr(across_job, "as_it_is", lambda _: None)
    slow = asked([small], to=tmp_path / "slow")
    assert quick.answers == slow.answers
    assert files(tmp_path / "quick") == files(tmp_path / "slow")


def test_only_some_formulas(small: Path) -> None:
    tables = read_tables([small], ["Balm", "polish"])
    assert [one.formula for one in across(tables, NO_WAX, Means()).answers] == ["balm", "polish"]
    with pytest.raises(UsageError, match="no formula"):
        read_tables([small], ["blam"])


def test_a_fault_of_the_program_in_one_formula_leaves_the_others(
    small: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = request_for

    def broken(sources: Sources, one: Asked) -> Request:
        if one.formula.id == "paste":
            raise ZeroDivisionError("division by zero")
        return real(sources, one)

    monkeypatch.setattr(across_job, "request_for", broken)
    found = {one.formula: one for one in asked([small]).answers}
    assert found["paste"].state == "not asked"
    assert "ZeroDivisionError" in found["paste"].why
    assert found["balm"].state == "works"


def test_many_worktables_one_of_them_faulty_and_hostile_names(tmp_path: Path) -> None:
    names = ["a; rm -rf $HOME 'x\"", "..hidden", "naïve\nline", "=cmd|' /C calc'!A0", "x" * 200]
    folders = [small_table(tmp_path / name, {"balm": FORMULAS["balm"]}) for name in names]
    folders.append(small_table(tmp_path / "deep" / names[0], {"balm": FORMULAS["balm"]}))
    faulty = small_table(tmp_path / "faulty")
    (faulty / "formulas" / "balm.yaml").write_text("phases: [", encoding="utf-8")
    found = asked([*folders[:2], faulty, *folders[2:]], to=tmp_path / "to")
    write_range(found, read_tables(folders), tmp_path / "to")
    assert [one.state for one in found.answers].count("works") == 6
    told = found.answers[2]
    assert told.state == "not asked"
    assert len([p for p in (tmp_path / "to").iterdir() if p.is_dir()]) == 6
    assert (told.worktable, told.formula) == ("faulty", "")
    assert "balm.yaml" in told.why
    assert len({one.proposal for one in found.answers if one.proposal}) == 6
    kept = list((tmp_path / "to").rglob("*.yaml"))
    assert len(kept) == 6
    assert all(p.resolve().is_relative_to(tmp_path / "to") for p in kept)
    assert {p.parent.name for p in kept} == {"proposals"}
    rows = list(csv.DictReader(io.StringIO(range_csv(found))))
    assert not any(cell.startswith(("=", "+", "-", "@")) for row in rows for cell in row.values())
    assert "<script" not in range_html(replace(found, asked="<script>alert(1)</script>"))


def test_an_ingredient_that_one_worktable_lacks_is_nothing_to_leave_out_there(tmp_path: Path) -> None:
    first, second = (
        small_table(tmp_path / "one"),
        small_table(tmp_path / "two", {"polish": FORMULAS["polish"]}),
    )
    for name in ("ingredients.csv", "composition.csv", "shelf.csv"):
        text = (second / name).read_text(encoding="utf-8")
        kept = [line for line in text.splitlines() if not line.startswith("brown-wax")]
        (second / name).write_text("\n".join(kept) + "\n", encoding="utf-8")
    found = asked([second, first])
    assert [one.worktable for one in found.answers] == ["two", "one", "one", "one", "one"]
    assert found.answers[0].state == "as it is"


def test_processes_and_one_by_one_write_the_same_bytes(small: Path, tmp_path: Path) -> None:
    for jobs, to in ((1, "one"), (2, "two")):
        found = asked([small], to=tmp_path / to, jobs=jobs)
        write_range(found, read_tables([small]), tmp_path / to)
    one, two = files(tmp_path / "one"), files(tmp_path / "two")
    assert one == two
    assert {"across.csv", "across.html", "across.json", "proposals/balm.yaml", "states/balm.json"} <= set(one)


def test_what_is_kept_is_not_done_again_and_what_was_tampered_with_is(small: Path, tmp_path: Path) -> None:
    folder, to = tmp_path / "own", tmp_path / "to"
    shutil.copytree(small, folder)
    asked([folder], to=to)
    whole = files(to)
    assert asked([folder], to=to).kept == 4
    (to / "states" / "balm.json").write_bytes(whole["states/balm.json"][:-40])
    (to / "proposals" / "paste.yaml").write_bytes(whole["proposals/paste.yaml"] + b"x")
    (to / "states" / "polish.json").write_bytes(b'{"format": 1}')
    (to / "states" / "butter.json").write_bytes(b"\xff\xfe")
    assert asked([folder], to=to).kept == 0
    assert files(to) == whole
    path = folder / "formulas" / "balm.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("1 %", "1.5 %"), encoding="utf-8")
    again = asked([folder], to=to)
    assert again.kept == 3
    assert again.answers[0].cost_before == F(985, 1000) + F(15, 1000) * 40


def test_a_proposal_goes_when_its_formula_turns_impossible(small: Path, tmp_path: Path) -> None:
    asked([small], to=tmp_path)
    assert (tmp_path / "proposals" / "balm.yaml").exists()
    asked([small], Wishes((("leave_out", ("brown-wax", "grey-wax")),)), to=tmp_path)
    assert not (tmp_path / "proposals" / "balm.yaml").exists()
    assert (tmp_path / "proposals" / "polish.yaml").exists()


def test_an_interrupt_keeps_what_is_done(tmp_path: Path) -> None:
    folder = small_table(tmp_path / "many", range_of(6))
    told: list[str] = []

    def stop(text: str) -> None:
        told.append(text)
        if text.startswith("3 of 6"):
            raise KeyboardInterrupt

    found = across(read_tables([folder]), NO_WAX, Means(to=tmp_path / "to"), stop)
    assert found.stopped
    assert len(found.answers) == 3
    assert "Stopped: 3 of 6 formulas are still to do." in range_html(found)
    rest = asked([folder], to=tmp_path / "to")
    assert (rest.kept, len(rest.answers), rest.stopped) == (3, 6, False)


def test_the_pace_is_told() -> None:
    assert pace(0, 40, 0.0) == "0 of 40 formulas"
    assert pace(10, 40, 5.0) == "10 of 40 formulas · 2.0 a second · about 15 s to go"
    assert pace(10, 40, 1000.0) == "10 of 40 formulas · 100.0 s each · about 50 min to go"
    assert pace(40, 40, 20.0) == "40 of 40 formulas · 2.0 a second"


def test_the_table_as_json_follows_its_schema(small: Path) -> None:
    jsonschema.validate(range_dict(asked([small])), SCHEMA)
    ranged = rescue(read_tables([small]), NO_WAX, Means(), "shelf")
    jsonschema.validate(range_dict(ranged), SCHEMA)


def test_packs_for_the_new_proposals_are_bought(small: Path, tmp_path: Path) -> None:
    asked([small], to=tmp_path)
    words = tuple(str(tmp_path / "proposals" / f"{name}.yaml") for name in ("balm", "paste"))
    found = shopping(open_worktable(small), words, 60)
    needed = {one.ingredient: one.needed for one in found.needs}
    assert "brown-wax" not in needed
    assert needed["grey-wax"] == 60 * (2 + 1)
    assert found.basket.proved


def test_one_new_ingredient_for_the_range(small: Path) -> None:
    wishes = Wishes((("leave_out", ("brown-wax", "pale-butter")),))
    found = rescue(read_tables([small]), wishes, Means(), "shelf")
    assert found.rescue is not None
    assert (found.rescue.ingredient, found.rescue.proved) == ("grey-wax", True)
    assert found.rescue.candidates == 2, "the dark butter's lot is out of date"
    assert {one.formula: one.state for one in found.answers} == {
        "balm": "works",
        "butter": "impossible",
        "paste": "works",
        "polish": "as it is",
    }


def test_of_ingredients_that_do_the_same_the_cheapest_comes(tmp_path: Path) -> None:
    folder = small_table(tmp_path / "own")
    for name, old, new in (
        ("ingredients.csv", "grey-wax,Grey wax,Grey Wax", "amber-wax,Amber wax,Amber Wax"),
        ("composition.csv", "grey-wax,Grey Wax", "amber-wax,Amber Wax"),
    ):
        text = (folder / name).read_text(encoding="utf-8")
        line = next(one for one in text.splitlines() if one.startswith("grey-wax"))
        (folder / name).write_text(text + line.replace(old, new) + "\n", encoding="utf-8")
    same = rescue(read_tables([folder]), NO_WAX, Means(), "table").rescue
    dearer = replace(NO_WAX, prices=(("amber-wax", "90/kg"),))
    other = rescue(read_tables([folder]), dearer, Means(), "table").rescue
    assert same is not None
    assert other is not None
    assert (same.ingredient, other.ingredient) == ("amber-wax", "grey-wax")


def test_where_no_single_ingredient_helps_that_is_proved(small: Path) -> None:
    wishes = Wishes((("leave_out", ("brown-wax", "grey-wax")),))
    none = rescue(read_tables([small]), wishes, Means(), "shelf")
    assert none.rescue is not None
    assert (none.rescue.ingredient, none.rescue.proved) == ("", True)
    assert [one.state for one in none.answers] == ["impossible", "as it is", "impossible", "as it is"]


def test_what_was_tried_last_does_not_stay_in_the_folder(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The model may promise more of an ingredient than the judge passes; then the next one is tried."""
    promised = iter([Best("grey-wax", (0, 1, 2, 3)), Best("dark-butter", (0, 1, 2, 3)), Best("slate", (3,))])
    monkeypatch.setattr(rescue_module, "best_newcomer", lambda *_: next(promised))
    wishes = Wishes((("leave_out", ("brown-wax", "pale-butter")),))
    found = rescue(read_tables([small]), wishes, Means(to=tmp_path), "table")
    assert found.rescue is not None
    assert found.rescue.proved
    assert [(one.ingredient, one.works) for one in found.rescue.tried] == [
        ("grey-wax", 3),
        ("dark-butter", 2),
    ]
    kept = {path.stem for path in (tmp_path / "proposals").iterdir()}
    assert kept == {"balm", "paste", "polish"}


def test_a_cluster_that_does_not_answer_is_told(small: Path) -> None:
    pytest.importorskip("distributed", reason="the cluster's library is not installed")
    with pytest.raises((OptimiserError, UsageError)):
        asked([small], cluster="nonsense://127.0.0.1:1")
