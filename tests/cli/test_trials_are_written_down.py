"""`optimiser trial`: opened, written down, imported and shown as a maker would."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from tests.cli.line import here
from tests.workflows.desk import copied

DAY = ("--on", "2026-11-20")


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = copied(tmp_path_factory.mktemp("bench"))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sys.argv", ["optimiser", "trial", "new", "rose-serum", "-w", str(folder), *DAY])
        from optimiser.cli.main import cli

        with pytest.raises(SystemExit) as left:
            cli(prog_name="optimiser")
    assert not left.value.code
    return folder


@pytest.fixture
def bench(opened: Path, tmp_path: Path) -> Path:
    shutil.copytree(opened, tmp_path / "bench")
    return tmp_path / "bench"


def recorded(capsys: pytest.CaptureFixture[str], bench: Path, *words: str) -> dict[str, Any]:
    ran = here(capsys, "trial", "record", "rose-serum-1", "-w", str(bench), *DAY, "--json", *words)
    assert ran.code == 0, ran.err
    found: dict[str, Any] = json.loads(ran.out)
    return found


def test_several_readings_in_one_call_each_with_what_belongs_to_it(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = (
        "--read",
        "ph=4.8",
        "--read",
        "thickness=3800 mPa.s",
        "--rate",
        "10 1/s",
        "--spindle",
        "4",
        "--at",
        "22C",
    )
    entries = recorded(capsys, bench, *words)["entries"]
    assert [one["measure"] for one in entries] == ["ph", "thickness"]
    text = (bench / "trials" / "rose-serum-1.yaml").read_text(encoding="utf-8").splitlines()[-2:]
    assert text[0] == "- {n: 1, day: 2026-11-20, what: read, measure: ph, value: 4.8, at_c: 22}"
    assert "value: 3.8, unit: Pa.s, spindle: '4', at_c: 22, rate: 10}" in text[1]


def test_a_thousandth_of_what_was_foretold_is_asked_about(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("trial", "record", "rose-serum-1", "-w", str(bench), *DAY)
    ran = here(capsys, *words, "--read", "thickness=4 mPa.s")
    assert ran.code == 0
    assert "was another unit meant?" in ran.err
    assert "--correct 1" in ran.err
    assert here(capsys, *words, "--read", "thickness=4 Pa.s", "--rate", "1/s").err == ""


def test_a_thickness_without_its_shear_is_written_and_said_to_teach_nothing(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("trial", "record", "rose-serum-1", "-w", str(bench), *DAY)
    ran = here(capsys, *words, "--read", "ph=4.8", "--read", "thickness=4 Pa.s", "--rpm", "20")
    assert ran.code == 0
    assert "thickness 4 Pa.s was written down without its shear (1/s)" in ran.err
    assert "nothing is learned" in ran.err
    assert "such as --rate 10/s, and take this back with --correct 2" in ran.err
    assert "value: 4, unit: Pa.s" in (bench / "trials" / "rose-serum-1.yaml").read_text(encoding="utf-8")
    assert here(capsys, *words, "--read", "ph=4.8").err == ""


def test_the_rest_is_weighed_as_planned_but_what_is_dosed(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = recorded(capsys, bench, "--as-planned", "--weighed", "glycerin=7.8 g", "--by", "Mila")
    weighed = {one["ingredient"]: one["grams"] for one in told["entries"]}
    planned = {one["ingredient"]: one["planned"]["value"] for one in told["lines"] if not one["dosed"]}
    assert weighed == {**planned, "glycerin": "7.8"}
    assert {one["who"] for one in told["entries"]} == {"Mila"}
    assert told["dosed_not_weighed"] == ["citric-acid-20"]
    again = here(capsys, "trial", "record", "rose-serum-1", "-w", str(bench), *DAY, "--as-planned")
    assert again.code == 2
    assert "has been weighed" in again.err
    first = told["entries"][0]["ingredient"]
    mended = recorded(capsys, bench, "--correct", "1", "--as-planned")
    assert [one.get("ingredient") for one in mended["entries"]].count(first) == 2


def test_what_drying_and_titration_told_is_taken_from_a_table_too(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = bench / "readings.csv"
    rows = ("solids,12.4,%", "loss-on-drying,87.6,%", "water,80.1,%")
    lines = ["trial,day,measure,value,unit", *(f"rose-serum-1,2026-11-21,{row}" for row in rows)]
    table.write_text("\n".join(lines), encoding="utf-8")
    assert here(capsys, "trial", "import", str(table), "-w", str(bench), "--write").code == 0
    words = [word for row in rows for word in ("--read", "{}={} {}".format(*row.split(",")))]
    read = [one["value"] for one in recorded(capsys, bench, *words)["entries"]]
    assert read == ["12.4", "87.6", "80.1"] * 2


def test_a_table_of_thicknesses_without_shear_is_told_so(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = bench / "readings.csv"
    rows = ("thickness,3.2,Pa.s,", "thickness,3.1,Pa.s,", "thickness,3.0,Pa.s,10")
    lines = ["trial,day,measure,value,unit,rate", *(f"rose-serum-1,2026-11-21,{row}" for row in rows)]
    table.write_text("\n".join(lines), encoding="utf-8")
    told = here(capsys, "trial", "import", str(table), "-w", str(bench)).err
    assert "2 thicknesses have no shear (1/s), and nothing is learned from them without it" in told
    table.write_text("\n".join([lines[0], lines[3]]), encoding="utf-8")
    assert here(capsys, "trial", "import", str(table), "-w", str(bench)).err == ""


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--read", "ph=52"), "from 0 to 14"),
        (("--read", "thickness=38"), "Pa.s"),
        (("--read", "ph=4,8"), "write 4.8"),
        (("--weighed", "glycerin=7"), "an amount with its unit"),
        (("--weighed", "kaolin=7 g"), "no line of trial"),
        (("--correct", "3"), "no entry 3"),
        (("--read", "ph=5", "--at", "22 K"), "a temperature in C or F"),
        (("--read", "ph=5", "--spread", "-0.1"), "above 0"),
        (("--accept", "--drop"), "not both"),
        (("--stored", "40 C"), "nothing was seen"),
        ((), "nothing to write down"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(
    bench: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], told: str
) -> None:
    path = bench / "trials" / "rose-serum-1.yaml"
    before = path.read_bytes()
    ran = here(capsys, "trial", "record", "rose-serum-1", "-w", str(bench), *DAY, *words)
    assert ran.code == 2
    assert told in ran.err
    assert path.read_bytes() == before


def test_a_table_with_one_fault_is_shown_with_its_line_and_nothing_is_kept(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = bench / "trials" / "rose-serum-1.yaml"
    before = path.read_bytes()
    table = bench / "readings.csv"
    sound = "trial,day,measure,value,unit,text\nrose-serum-1,2026-11-21,ph,4.8,,'=cmd()\n"
    table.write_text(sound + 'rose-serum-1,2026-11-21,ph,"4,7",,\n', encoding="utf-8")
    wrong = here(capsys, "trial", "import", str(table), "-w", str(bench), "--write")
    assert wrong.code == 1
    assert "readings.csv:3" in wrong.err
    assert path.read_bytes() == before
    table.write_text(sound, encoding="utf-8")
    assert "nothing is kept yet" in here(capsys, "trial", "import", str(table), "-w", str(bench)).out
    assert path.read_bytes() == before
    assert here(capsys, "trial", "import", str(table), "-w", str(bench), "--write").code == 0
    shown = here(capsys, "trial", "show", "rose-serum-1", "-w", str(bench))
    assert "pH of the finished batch              4.8" in shown.out
    assert "rose-serum-1" in here(capsys, "trial", "list", "-w", str(bench)).out


def test_a_folder_that_is_none_holds_no_trials_or_batches(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    away = bench.with_name(bench.name + "x")
    for words in (("trial", "list"), ("batch", "list")):
        ran = here(capsys, *words, "-w", str(away))
        assert ran.code == 1
        assert f'did you mean "{bench}"?' in " ".join(ran.err.split())
