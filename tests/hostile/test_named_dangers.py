"""Dangers that have a name, one by one: each is refused or done with, quickly and with nothing written."""

from __future__ import annotations

import io
import json
import os
import zipfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest

from optimiser.loading.findings import Findings
from optimiser.loading.tables import MOST_ROWS, Columns, read_csv
from optimiser.loading.workbooks import read_xlsx
from optimiser.loading.worktable import load_worktable
from optimiser.loading.yaml_nodes import parse_yaml
from optimiser.model.mps import read_mps
from optimiser.model.neutral import read_neutral
from optimiser.problems import Problem
from tests.hostile.readers import SMALL, all_printable, workbook_of
from tests.hostile.watch import OutsideError, SlowError, watched
from tests.unit.loading.folders import MASK, SOUND, problems_of, write

COLUMNS = Columns(("id", "name"), ("use_max",), {"use_max": "%"})


def of_csv(folder: Path, data: bytes) -> tuple[int, list[Problem]]:
    """(rows read, problems) of a table, within the time that a reader may take."""
    path = folder / "a.csv"
    path.write_bytes(data)
    findings = Findings("a.csv")
    with watched(folder):
        table = read_csv(path, COLUMNS, findings)
    all_printable(findings.problems)
    return len(table.rows), findings.problems


def of_xlsx(folder: Path, data: bytes) -> list[Problem]:
    path = folder / "a.xlsx"
    path.write_bytes(data)
    findings = Findings("a.xlsx")
    with watched(folder):
        read_xlsx(path, COLUMNS, findings, "point")
    all_printable(findings.problems)
    return findings.problems


def archive(parts: dict[str, bytes]) -> bytes:
    """A workbook's archive with these parts in the place of its own."""
    whole = zipfile.ZipFile(io.BytesIO(workbook_of("id,name\nkaolin,Kaolin\n")))
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as made:
        for part in whole.infolist():
            made.writestr(part.filename, parts.pop(part.filename, whole.read(part)))
        for name, content in parts.items():
            made.writestr(name, content)
    return buffer.getvalue()


SHEET = "xl/worksheets/sheet1.xml"
SPACE = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'


def sheet(rows: str) -> bytes:
    return f"<worksheet {SPACE}><sheetData>{rows}</sheetData></worksheet>".encode()


def test_aliases_by_the_billion(tmp_path: Path) -> None:
    levels = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    levels += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 12)]
    findings = Findings("a.yaml")
    with watched(tmp_path):
        assert parse_yaml("\n".join(levels), findings) is None
    assert "aliases counted" in findings.problems[0].expected


def test_a_workbook_that_unpacks_to_a_gigabyte(tmp_path: Path) -> None:
    bomb = archive({"xl/media/image1.png": b"\0" * 70_000_000})
    assert len(bomb) < 100_000
    assert "MB unpacked" in of_xlsx(tmp_path, bomb)[0].expected


def test_a_workbook_that_lies_about_its_size(tmp_path: Path) -> None:
    """The size that the list of parts gives is made small; what is read of the part ends there."""
    data = bytearray(archive({SHEET: sheet("<row><c><v>1</v></c></row>" * 200_000)}))
    with zipfile.ZipFile(io.BytesIO(bytes(data))) as opened:
        size = opened.getinfo(SHEET).file_size
    place, want = data.rfind(SHEET.encode()) - 46 + 24, size.to_bytes(4, "little")
    assert data[place : place + 4] == want
    data[place : place + 4] = (1000).to_bytes(4, "little")
    assert of_xlsx(tmp_path, bytes(data))


def test_a_workbook_within_a_workbook_stays_shut(tmp_path: Path) -> None:
    inner = archive({})
    assert of_xlsx(tmp_path, archive({"xl/inner.xlsx": inner})) == []


def test_a_workbook_of_a_thousand_and_one_parts(tmp_path: Path) -> None:
    assert of_xlsx(tmp_path, archive({f"x/{n}": b"" for n in range(1001)}))


@pytest.mark.parametrize("word", ["nan", "NaN", "-nan", "inf", "-Infinity", "1e999999", "1e-999999", "1_0"])
def test_no_number_is_none_or_without_end(tmp_path: Path, word: str) -> None:
    row = f"dust,Dust,,Kaolin,clay-plain,,powder,{word},{word},Invented,1 kg,4.00,2,,\n"
    told = problems_of(tmp_path, {"ingredients.csv": SOUND["ingredients.csv"] + row})
    assert any("number" in one.expected or "digits" in one.expected or word in one.found for one in told)
    assert problems_of(tmp_path, {"formulas/mask.yaml": MASK.replace("20 %", f"{word} %")})
    text = f'{{"sense": "min", "vars": [], "rows": [], "obj_const": {json.dumps(word)}}}'
    assert read_neutral(text, "m")[0] is None
    assert read_mps(f"NAME\nROWS\n N c\nCOLUMNS\n x c {word}\nENDATA\n")[0] is None


def test_a_million_rows_of_a_table(tmp_path: Path) -> None:
    count, problems = of_csv(tmp_path, b"id,name\n" + b"a,b\n" * 1_000_000)
    assert count == MOST_ROWS
    assert problems[0].expected == f"at most {MOST_ROWS} rows"


def test_a_million_rows_of_a_workbook(tmp_path: Path) -> None:
    for row in ("<row/>", "<row r='9'><c/></row>"):
        assert "cells" in of_xlsx(tmp_path, archive({SHEET: sheet(row * 1_000_001)}))[0].expected


@pytest.mark.parametrize(
    "code", ["utf-16-le", "utf-32", "cp1252", "latin-1", "cp850", "shift-jis", "cp037", "utf-16"]
)
def test_wrong_encodings_are_told_or_read_right(tmp_path: Path, code: str) -> None:
    """Never letters that the file did not hold: what is not UTF-8 or marked UTF-16 is a problem."""
    row = "ton,Weiße Tonerde,,Kaolin,clay-plain,,powder,1,40,Invented,1 kg,4.00,2,,\n"
    text = SOUND["ingredients.csv"] + (row if code != "shift-jis" else row.replace("ß", "土"))
    table, problems = load_worktable(write(tmp_path, {"ingredients.csv": text.encode(code)}))
    all_printable(problems)
    if code == "utf-16":
        assert table is not None
        assert table.ingredients["ton"].name == "Weiße Tonerde"
    else:
        assert table is None


@pytest.mark.parametrize("mark", ["\u202e", "\u2066", "\u200f", "\u200b", "\ufeff", "\u00ad", "\x1b[31m"])
def test_words_that_read_otherwise_than_they_stand(tmp_path: Path, mark: str) -> None:
    for name, old in (("ingredients.csv", "White kaolin"), ("flags.csv", "invented demo")):
        problems = problems_of(tmp_path, {name: SOUND[name].replace(old, f"{mark}{old}")})
        assert any("invisible" in one.expected for one in problems)
        all_printable(problems)
    problems = problems_of(tmp_path, {"formulas/mask.yaml": MASK.replace("Mask", f'"M{mark}ask"')})
    all_printable(problems)


@pytest.mark.parametrize("like", ["kаolin", "ｋaolin", "kaolın", "kaolin\u0301", "KAOLIN", "ka0lin"])
def test_an_id_that_looks_like_another_is_no_new_one(tmp_path: Path, like: str) -> None:
    row = f"{like},Other kaolin,,Kaolin,clay-plain,,powder,1,40,Invented,1 kg,4.00,2,,\n"
    assert problems_of(tmp_path, {"ingredients.csv": SOUND["ingredients.csv"] + row})
    if like != "KAOLIN":
        assert problems_of(tmp_path, {"formulas/mask.yaml": MASK.replace("kaolin", like)})


@pytest.mark.parametrize("length", [1, 2, 3, 200])
def test_briefs_in_a_circle(tmp_path: Path, length: int) -> None:
    briefs = {f"briefs/b{n}.yaml": f"name: B{n}\nalso: [b{(n + 1) % length}]\n" for n in range(length)}
    with watched(tmp_path):
        problems = problems_of(tmp_path, dict(briefs))
    assert any("circle" in one.found for one in problems)


def test_a_long_line_of_briefs_ends(tmp_path: Path) -> None:
    briefs = {f"briefs/b{n}.yaml": f"name: B{n}\nalso: [b{n + 1}]\n" for n in range(300)}
    with watched(tmp_path):
        table, problems = load_worktable(write(tmp_path, {**briefs, "briefs/b300.yaml": "name: End\n"}))
    assert problems == ()
    assert table is not None


def test_ingredients_like_each_other_in_a_circle(tmp_path: Path) -> None:
    table = SOUND["ingredients.csv"].replace("1 kg,4.00,2,,", "1 kg,4.00,2,rose-clay,")
    with watched(tmp_path):
        table_read, problems = load_worktable(write(tmp_path, {"ingredients.csv": table}))
    assert table_read is not None or problems


def test_numbers_learned_of_an_ingredient_that_cannot_be_read(tmp_path: Path) -> None:
    """Found by the attack: it stopped with an error of the program."""
    files = {"learned.csv": SMALL["learned.csv"], "ingredients.csv": "name,kind\nKaolin,clay-plain\n"}
    assert problems_of(tmp_path, files)
    assert problems_of(
        tmp_path, {**files, "ingredients.csv": SOUND["ingredients.csv"].replace("kaolin", "k")}
    )


def test_a_link_to_a_file_outside_is_only_read(tmp_path: Path) -> None:
    outside = tmp_path / "outside.yaml"
    outside.write_text("root:x:0:0\n", encoding="utf-8")
    folder = write(tmp_path / "table")
    (folder / "briefs").mkdir()
    (folder / "briefs" / "b.yaml").symlink_to(outside)
    (folder / "briefs" / "endless.yaml").symlink_to("endless.yaml")
    assert load_worktable(folder)[1]
    assert outside.read_text(encoding="utf-8") == "root:x:0:0\n"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with a name here")
def test_a_pipe_with_the_name_of_a_table_does_not_hang(tmp_path: Path) -> None:
    folder = write(tmp_path, {"flags.csv": None})
    with suppress(FileNotFoundError):
        (folder / "flags.csv").unlink()
    os.mkfifo(folder / "flags.csv")
    with watched(tmp_path):
        table, problems = load_worktable(folder)
    assert table is not None or problems


def test_the_watch_sees_what_it_is_for(tmp_path: Path) -> None:
    """No attack means a thing if nothing would be noticed."""

    def outside() -> None:
        (tmp_path.parent / "outside.txt").write_text("x", encoding="utf-8")

    def endless() -> None:
        while True:
            pass

    wrong: list[tuple[Callable[[], None], type[BaseException]]] = [
        (outside, OutsideError),
        ((tmp_path.parent / "none").unlink, OutsideError),
        ((tmp_path.parent / "x").mkdir, OutsideError),
        (endless, SlowError),
    ]
    for act, error in wrong:
        with pytest.raises(error), watched(tmp_path, 0.2):
            act()
    with watched(tmp_path):
        (tmp_path / "inside.txt").write_text("x", encoding="utf-8")
