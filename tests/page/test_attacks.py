"""Uploads meant to break the page, and many visitors at once while something is written: nothing is lost."""

from __future__ import annotations

import io
import re
import zipfile
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.page.conftest import Visitor
from tests.page.test_every_route import stamps

CLIENTS = 50
LARGE = 60_000_000
SHEET = "xl/worksheets/sheet1.xml"


def book(part: str, content: bytes) -> bytes:
    """A workbook whose one part is swapped for something else."""
    from openpyxl import Workbook

    plain = io.BytesIO()
    Workbook().save(plain)
    made = io.BytesIO()
    with zipfile.ZipFile(plain) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            new.writestr(name, content if name == part else old.read(name))
    return made.getvalue()


@cache
def blown_up() -> bytes:
    row = b"<row><c t='inlineStr'><is><t>" + b" " * LARGE + b"</t></is></c></row>"
    return book(SHEET, b"<worksheet><sheetData>" + row + b"</sheetData></worksheet>")


def entities() -> bytes:
    lines = "".join(f'<!ENTITY a{n + 1} "{f"&a{n};" * 10}">' for n in range(9))
    text = f'<?xml version="1.0"?><!DOCTYPE w [<!ENTITY a0 "ha">{lines}]><worksheet>&a9;</worksheet>'
    return book(SHEET, text.encode())


def climbing() -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as new:
        new.writestr("../../formulas/climbed.yaml", "name: x")
    return made.getvalue()


def send(visitor: Visitor, path: str, name: str, content: bytes) -> Any:
    token = {"token": visitor.keys.form}
    return visitor.client.post(path, data=token, files={"file": (name, content)})


@pytest.mark.parametrize("path", ["/readings", "/ingredients/bring"])
@pytest.mark.parametrize(
    ("name", "made"),
    [
        ("bomb.xlsx", blown_up),
        ("entities.xlsx", entities),
        ("climbing.xlsx", climbing),
        ("cut.xlsx", lambda: book(SHEET, b"")[:700]),
        ("lies.csv", lambda: book(SHEET, b"")),
    ],
)
def test_a_table_meant_to_break_the_page_is_told_and_changes_nothing(
    visitor: Visitor, folder: Path, path: str, name: str, made: Any
) -> None:
    content = made()
    assert len(content) < 2_000_000
    before = stamps(folder)
    answer = send(visitor, path, name, content)
    assert answer.status_code == 409
    assert "Traceback" not in answer.text
    assert name in answer.text
    assert stamps(folder) == before
    assert visitor.get("/").status_code == 200


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        (
            "multipart/form-data; boundary=x",
            b'--x\r\ncontent-disposition: form-data; name="file"; filename="a.csv"',
        ),
        ("multipart/form-data; boundary=", b"--\r\n\r\n----"),
        ("multipart/form-data", b"--x\r\n\r\nhello\r\n--x--"),
        ("multipart/form-data; boundary=x", b"--x\r\n" + b"a: b\r\n" * 5000 + b"\r\n--x--"),
        ("application/x-www-form-urlencoded", b"token=%zz&" + b"a=b&" * 5000),
        ("text/plain", b"token=x"),
    ],
)
@pytest.mark.parametrize("path", ["/readings", "/ingredients/bring"])
def test_a_malformed_upload_is_refused_quietly(
    visitor: Visitor, folder: Path, path: str, kind: str, body: bytes
) -> None:
    before = stamps(folder)
    answer = visitor.client.post(path, content=body, headers={"content-type": kind})
    assert answer.status_code in (400, 403, 413)
    assert "Traceback" not in answer.text
    assert stamps(folder) == before


def test_fifty_at_once_write_one_trial_and_each_is_kept_or_told(visitor: Visitor, folder: Path) -> None:
    """All have seen the same trial: the first is written, each other is told and has its words back."""
    opened = visitor.open_trial("/formula/sunflower-balm", day="2026-11-25", size="100 g", called="crowd")
    seen = re.search(r'name="seen" value="(\d+)"', opened.text)[1]  # type: ignore[index]

    def one(number: int) -> tuple[int, bool]:
        said = {
            "token": visitor.keys.form,
            "seen": seen,
            "day": "2026-11-25",
            "remark": f"words of {number}.",
        }
        answer = visitor.client.post("/trial/crowd/record", data=said, follow_redirects=False)
        return answer.status_code, f'value="words of {number}."' in answer.text

    with ThreadPoolExecutor(CLIENTS) as many:
        found = list(many.map(one, range(CLIENTS)))
    assert sorted(found) == [(303, False), *[(409, True)] * (CLIENTS - 1)]
    (winner,) = [number for number, (status, _) in enumerate(found) if status == 303]
    text = (folder / "trials" / "crowd.yaml").read_text(encoding="utf-8")
    assert text.count("words of ") == 1
    assert f"words of {winner}." in text


def test_fifty_at_once_keep_one_proposal_whole(visitor: Visitor, folder: Path) -> None:
    at = visitor.change("sunflower-balm")
    visitor.post(f"{at}/say", what="leave-out", name="sweet-orange-oil", revision="0")
    visitor.answer(at)
    before = set((folder / "proposals").glob("*"))

    def one(_number: int) -> str:
        said = {"token": visitor.keys.form, "which": "0", "revision": "1"}
        return str(visitor.client.post(f"{at}/save", data=said, follow_redirects=False).headers["location"])

    with ThreadPoolExecutor(CLIENTS) as many:
        kept = set(many.map(one, range(CLIENTS)))
    assert len(kept) == 1
    assert [path.stem for path in set((folder / "proposals").glob("*")) - before] == [
        kept.pop().removeprefix("/proposal/")
    ]
