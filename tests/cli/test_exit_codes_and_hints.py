"""Exit codes, hints for near names, and no traceback whatever is put in."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from optimiser.cli.funnel import MOST_SHOWN
from tests.cli.line import Ran, here
from tests.workflows.desk import DEMO, FLAGSHIP, copied, put

TWELVE = Path(__file__).parent.parent / "data" / "twelve_faults"
BALM = "sunflower-balm"
AT = ("-w", str(DEMO))
Capture = pytest.CaptureFixture[str]


def calm(ran: Ran) -> Ran:
    for text in (ran.out, ran.err):
        assert "Traceback" not in text
        assert "a fault in the program" not in text
        assert "\x1b" not in text
    return ran


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("propose", FLAGSHIP, *AT, "--brief", "sensitive-skin"), 0),
        (("propose", BALM, *AT, "--brief", "impossible-clay", "--json"), 3),
        (("propose", str(DEMO / "formulas" / f"{BALM}.yaml")), 0),
        (("check", str(DEMO)), 0),
        (("check", str(DEMO), FLAGSHIP), 0),
        (("check", str(DEMO), "--json"), 0),
        (("check", str(TWELVE)), 1),
        (("check", str(TWELVE), "--json"), 1),
        (("propose", "mask", "-w", str(TWELVE)), 1),
        (("propose", FLAGSHIP, *AT, "--batch", "250"), 2),
        (("propose", FLAGSHIP, *AT, "--batch", "0 g"), 2),
        (("propose", FLAGSHIP, *AT, "--seconds", "nan"), 2),
        (("propose", FLAGSHIP, *AT, "--alternatives", "-1"), 2),
        (("propose", FLAGSHIP, *AT, "--instead-of", "xanthan"), 2),
        (("propose", FLAGSHIP, *AT, "--leave-out", "water"), 2),
        (("propose",), 2),
        (("sheet", str(DEMO)), 2),
        (("--version",), 0),
        (("--help",), 0),
        (("propose", "--help"), 0),
    ],
    ids=lambda words: " ".join(str(w) for w in words)[-60:] if isinstance(words, tuple) else None,
)
def test_the_exit_code(capsys: Capture, words: tuple[str, ...], code: int) -> None:
    ran = calm(here(capsys, *words))
    assert ran.code == code, ran
    assert ran.out if code in (0, 3) or "--json" in words else ran.err


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("propos", FLAGSHIP), 'Did you mean "propose"?'),
        (("propose", "oat-rose-msk", *AT), 'did you mean "oat-rose-mask"?'),
        (("propose", FLAGSHIP, *AT, "--brief", "sensitive-skn"), 'did you mean "sensitive-skin"?'),
        (("propose", FLAGSHIP, *AT, "--leave-out", "xantan"), 'did you mean "xanthan"?'),
        (("propose", FLAGSHIP, *AT, "--leave-out", "flg:bee"), 'did you mean "flag"?'),
        (("propose", FLAGSHIP, *AT, "--leave-out", "flag:strong-cla"), 'did you mean "strong-clay"?'),
        (("propose", FLAGSHIP, *AT, "--leave-out", "substance:Linalol"), 'did you mean "linalool"?'),
        (("propose", FLAGSHIP, *AT, "--leave-out", "flag:"), "such as flag:"),
        (("propose", FLAGSHIP, *AT, "--leave-out", "nuts"), "write flag:tree-nut or flag:peanut"),
        (("across", *AT, "--leave-out", "clay"), "write kind:clay"),
        (("across", *AT, "--instead-of", "clay", "--use", "kaolin"), "name one here"),
        (("propose", FLAGSHIP, *AT, "--leav-out", "xanthan"), "--leave-out"),
        (("propose", FLAGSHIP, *AT, "--aim", "cheapst"), "'cheapest'"),
        (("check", str(DEMO), "oat-rose-msk"), 'did you mean "oat-rose-mask"?'),
        (("propose", FLAGSHIP, *AT, "--instead-of", "xanthan", "--use", "xanthan"), "another ingredient"),
        (("propose", FLAGSHIP, *AT, "--batch", "8 ozz"), 'did you mean "oz"?'),
        (("model", "solv", "x.json"), "solve"),
    ],
    ids=lambda words: " ".join(words)[-40:] if isinstance(words, tuple) else None,
)
def test_a_near_name_is_offered(capsys: Capture, words: tuple[str, ...], hint: str) -> None:
    ran = calm(here(capsys, *words))
    assert ran.code == 2
    assert hint in ran.err
    assert not ran.out


def test_undecided_leaves_with_four(capsys: Capture, tmp_path: Path) -> None:
    folder = copied(tmp_path)
    table = (folder / "properties.csv").read_text(encoding="utf-8")
    row = re.search(r"^xanthan,thickening,.*$", table, re.MULTILINE)
    assert row
    put(folder, "properties.csv", table.replace(row[0], "xanthan,thickening,1,0.5,9,g/g,assumed"))
    put(
        folder,
        "briefs/thick.yaml",
        "name: Thick\ntargets:\n  - {level: thickening, at_least: 2.5 %}\n  - {newcomers: {at_most: 0}}\n",
    )
    ran = calm(here(capsys, "propose", FLAGSHIP, "-w", str(folder), "--brief", "thick"))
    assert ran.code == 4
    said = (
        "Undecided: impossible with the assumed and remembered numbers as they stand, possible with others."
    )
    assert said in ran.out
    assert "hickening of Xanthan gum is assumed: 0.5 to 9 g/g" in ran.out
    assert "Read one of these numbers" in ran.out
    assert "Impossible" not in ran.out


def test_check_lists_all_twelve_faults_with_their_lines(capsys: Capture) -> None:
    ran = calm(here(capsys, "check", str(TWELVE)))
    assert ran.code == 1
    *faults, total = ran.err.splitlines()
    assert total == "12 problems in the data."
    assert len(faults) == 12
    for fault in faults:
        assert re.match(r"[\w/]+\.(csv|yaml):\d+(:[\w ]+)?: .+: expected .+, found .+", fault), fault
    assert len({fault.partition(":")[0] for fault in faults}) >= 8


def test_a_product_that_is_not_served_says_why_and_from_where(capsys: Capture, tmp_path: Path) -> None:
    folder = copied(tmp_path)
    put(folder, "briefs/eyes.yaml", "name: Eyes\nproduct: {area: eyes}\n")
    ran = calm(here(capsys, "propose", FLAGSHIP, "-w", str(folder), "--brief", "eyes"))
    assert ran.code == 1
    assert "Not served: No proposal for the eye area." in ran.err
    assert "source: Regulation (EC) No 1223/2009" in ran.err


def not_a_worktable(tmp_path: Path) -> dict[str, Path]:
    (tmp_path / "empty").mkdir()
    binary = tmp_path / "binary"
    binary.mkdir()
    (binary / "ingredients.csv").write_bytes(bytes(range(256)) * 40)
    (binary / "worktable.yaml").write_bytes(b"\x00\xff\xfe" * 100)
    folders = tmp_path / "folders"
    (folders / "ingredients.csv").mkdir(parents=True)
    (folders / "worktable.yaml").mkdir()
    file = tmp_path / "file"
    file.write_text("nothing", encoding="utf-8")
    return {
        "empty": tmp_path / "empty",
        "binary": binary,
        "folders": folders,
        "file": file,
        "none": tmp_path / "no",
    }


@pytest.mark.parametrize("kind", ["empty", "binary", "folders", "file", "none"])
@pytest.mark.parametrize("verb", ["check", "propose", "sheet", "model", "new"])
def test_what_is_no_worktable_gives_words_and_no_traceback(
    capsys: Capture, tmp_path: Path, kind: str, verb: str
) -> None:
    place = str(not_a_worktable(tmp_path)[kind])
    words = {
        "check": ("check", place),
        "propose": ("propose", "mask", "-w", place),
        "sheet": ("sheet", place),
        "model": ("model", "solve", place),
        "new": ("new", place),
    }[verb]
    ran = calm(here(capsys, *words))
    fresh = verb == "new" and kind in ("empty", "none")
    assert ran.code == 0 if fresh else ran.code in (1, 2)
    assert fresh or (ran.err and not ran.out)


@pytest.mark.parametrize("name", ["x.json", "x.mps", "x.txt"])
def test_a_model_file_of_odd_bytes_gives_words(capsys: Capture, tmp_path: Path, name: str) -> None:
    file = tmp_path / name
    file.write_bytes(b"\x00\x80\xff{[" * 50)
    ran = calm(here(capsys, "model", "solve", str(file)))
    assert ran.code in (1, 2)
    assert ran.err


def test_a_file_that_may_not_be_written_gives_words(capsys: Capture, tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (folder / "proposals").write_text("in the way", encoding="utf-8")
    ran = calm(here(capsys, "propose", BALM, "-w", str(folder), "--save"))
    assert ran.code == 1
    assert "proposals" in ran.err
    ran = calm(here(capsys, "propose", BALM, *AT, "--write-model", str(folder / "no" / "such" / "m.json")))
    assert ran.code == 1


def test_new_makes_a_worktable_that_checks_and_will_not_write_over_one(
    capsys: Capture, tmp_path: Path
) -> None:
    place = str(tmp_path / "mine")
    assert calm(here(capsys, "new", place)).code == 0
    ran = calm(here(capsys, "check", place))
    assert ran.code == 0
    assert "No faults" in ran.out
    assert calm(here(capsys, "new", place)).code == 2


def test_save_then_sheet(capsys: Capture, tmp_path: Path) -> None:
    folder = copied(tmp_path)
    said = ("propose", BALM, "-w", str(folder), "--brief", "vegan", "--save")
    ran = calm(here(capsys, *said))
    assert ran.code == 0
    (path,) = [Path(line.removeprefix("saved: ")) for line in ran.err.splitlines() if "saved: " in line]
    out = tmp_path / "out"
    ran = calm(
        here(capsys, "sheet", str(path), "--batch", "8 oz", "--to", str(out), "--format", "html,csv,json")
    )
    assert ran.code == 0
    assert sorted(Path(line).suffix for line in ran.out.split()) == [".csv", ".html", ".json"]
    assert calm(here(capsys, "sheet", str(path), "--to", str(out), "--format", "docx")).code == 2
    assert calm(here(capsys, "sheet", str(path), "--to", str(out), "--balance", "nothing")).code == 2


def test_nothing_is_saved_where_nothing_was_found(capsys: Capture, tmp_path: Path) -> None:
    folder = copied(tmp_path)
    ran = calm(here(capsys, "propose", BALM, "-w", str(folder), "--brief", "impossible-clay", "--save"))
    assert ran.code == 3
    assert "nothing to save" in ran.err
    assert not (folder / "proposals").exists()


def test_of_very_many_problems_the_first_are_written_out(capsys: Capture, tmp_path: Path) -> None:
    folder = copied(tmp_path)
    with (folder / "shelf.csv").open("a", encoding="utf-8") as shelf:
        shelf.write("nothing,L1,x,,,2027-01-01,\n" * 700)
    told = here(capsys, "check", str(folder)).err.splitlines()
    *_, more, total = told
    count = int(total.split()[0])
    assert count > MOST_SHOWN
    assert more.startswith(f"… and {count - MOST_SHOWN} more;")
    assert len(told) == MOST_SHOWN + 2
    listed = json.loads(here(capsys, "check", str(folder), "--json").out)["problems"]
    assert len(listed) == count
