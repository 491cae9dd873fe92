"""The sheet as a page for the table, a batch record, a workbook and a PDF, all from one model."""

from __future__ import annotations

import csv
import importlib.util
import io
import re
from pathlib import Path
from typing import Any

import openpyxl
import pypdf
import pytest

from optimiser.errors import UsageError
from optimiser.export.sheet import Sheet
from optimiser.export.sheet_csv import sheet_csv
from optimiser.export.sheet_html import sheet_html
from optimiser.export.sheet_paper import record_html, table_html
from optimiser.export.sheet_pdf import pdf_of
from optimiser.export.sheet_xlsx import sheet_xlsx
from optimiser.workflows.sheet import SheetWanted, make_sheet, write_sheets
from tests.once import once
from tests.workflows.desk import copied
from tests.workflows.test_saving_and_sheets import saved


@pytest.fixture(scope="module")
def proposal(tmp_path_factory: pytest.TempPathFactory) -> Path:
    (path,) = saved(copied(tmp_path_factory.mktemp("papers")), "sensitive-skin")
    return path


@pytest.fixture(scope="module")
def sheet(proposal: Path) -> Sheet:
    return once(
        "sheet of the papers", lambda: make_sheet(SheetWanted(proposal, proposal.parent, batch="500 g"))
    )


def has_live(table: str) -> list[str]:
    """Cells that a spreadsheet would take for a formula, as a CSV reader of its own sees them."""
    cells = (cell for row in csv.reader(io.StringIO(table.removeprefix("\ufeff"))) for cell in row)
    return [cell for cell in cells if cell[:1] in "=+@|" and cell and not re.fullmatch(r"[+-]?[0-9.]+", cell)]


def has_pdf() -> bool:
    """Whether the library for PDF and what it needs of the system are there."""
    if importlib.util.find_spec("weasyprint") is None:
        return False
    try:
        import weasyprint
    except OSError:
        return False
    return weasyprint is not None


@pytest.mark.parametrize("paper", [table_html, record_html])
def test_both_papers_hold_every_line_weight_and_step(sheet: Sheet, paper: Any) -> None:
    page = re.sub(r"<[^>]+>", "", paper(sheet)).replace("\u00a0", " ")
    for line in sheet.lines:
        assert line.name in page
        assert f"{float(line.grams):.{line.places}f}" in page
        assert all(lot in page for lot in line.lots)
    for phase in sheet.phases:
        assert all(step.text in page for step in phase.steps)
    assert sheet.provenance.code in page
    assert sheet.status in page


def test_the_record_asks_for_what_a_record_holds(sheet: Sheet) -> None:
    page = record_html(sheet)
    for words in (
        "Batch no.",
        "Seen",
        "Water put back",
        "Yield %",
        "Deviations",
        "Released",
        "Held",
        "jar kept",
    ):
        assert words in page
    assert sheet.filling in page.replace("\u00a0", " ")
    assert sheet.filling.startswith("Expected: 4 jars of 100 g")


def test_the_record_shows_the_curve_the_reasons_and_what_is_expected(sheet: Sheet) -> None:
    page = re.sub(r"<[^>]+>", "", record_html(sheet)).replace("\u00a0", " ")
    assert "pH as made" in page
    assert "By what each line does" in page
    for row in sheet.changes:
        assert row.because[0] in page
    for what in ("Density: a cup of known volume", "Thickness, read at 1/s"):
        (check,) = [one for one in sheet.checks if one.what.startswith(what)]
        assert check.target in page
    assert "about 96 % of 500.00 g weighed in" in page
    drawing = record_html(sheet).split("<svg")[-1].split("</svg>")[0]
    assert "class=" not in drawing, "a printer reads no style sheet inside a drawing"


def test_lots_on_the_sheet_are_those_that_expire_first(sheet: Sheet) -> None:
    lots = {line.ingredient: line.lots for line in sheet.lines}
    assert lots["kaolin"] == ("QD-0398",)
    assert lots["xanthan"] == ()


def test_far_above_what_was_made_the_sheet_says_it_is_new(tmp_path: Path) -> None:
    (proposal,) = saved(copied(tmp_path), formula="sunflower-balm")
    usual = make_sheet(SheetWanted(proposal, proposal.parent, batch="1250 g"))
    large = make_sheet(SheetWanted(proposal, proposal.parent, batch="1300 g"))
    assert not any("First at this size" in text for text in usual.before)
    assert large.before[0].startswith("First at this size (up to now 250 g)")


def test_the_workbook_reads_back_with_its_sums(sheet: Sheet) -> None:
    book = openpyxl.load_workbook(io.BytesIO(sheet_xlsx(sheet)), data_only=True)
    assert book.sheetnames == ["Weigh", "Steps", "Readings", "Changes", "Notes"]
    rows = list(book["Weigh"].iter_rows(values_only=True))
    heads = rows[5]
    grams, names = heads.index("Weigh g"), heads.index("Ingredient")
    body = rows[6 : 6 + len(sheet.lines)]
    assert [row[names] for row in body] == [line.name for line in sheet.lines]
    assert sum(float(str(row[grams])) for row in body) == pytest.approx(float(sheet.batch_g))
    assert rows[6 + len(sheet.lines)][grams] == pytest.approx(float(sheet.batch_g))
    live = openpyxl.load_workbook(io.BytesIO(sheet_xlsx(sheet)))
    formulas = [c.value for tab in live for row in tab.iter_rows() for c in row if c.data_type == "f"]
    assert sorted(str(one)[:5] for one in formulas) == ["=SUM(", "=SUM("]
    assert sheet_xlsx(sheet) == sheet_xlsx(sheet)


def test_hostile_names_are_inert_in_every_form(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder, formula="sunflower-balm")
    table = folder / "ingredients.csv"
    nasty = "=cmd|' /C calc'!A0 <script>alert(1)</script>"
    text = table.read_text(encoding="utf-8").replace("Beeswax,", f'"{nasty}",', 1)
    table.write_text(text, encoding="utf-8")
    made = make_sheet(SheetWanted(path, tmp_path))
    for page in (table_html(made), record_html(made), sheet_html(made)):
        assert "<script>" not in page
    assert has_live(sheet_csv(made)) == []
    if has_pdf():
        printed = pypdf.PdfReader(io.BytesIO(pdf_of(table_html(made))))
        assert "<script>" in "".join("".join(page.extract_text() for page in printed.pages).split())
        acts = [key for key in ("/OpenAction", "/AA", "/Names") if key in printed.root_object]
        assert acts == []
        assert not [note for page in printed.pages for note in page.get("/Annots") or ()]
    book = openpyxl.load_workbook(io.BytesIO(sheet_xlsx(made)))
    cells = [c for tab in book for row in tab.iter_rows() for c in row if "=cmd" in str(c.value)]
    assert cells
    assert all(cell.data_type == "s" and cell.quotePrefix and not cell.hyperlink for cell in cells)


def test_an_unknown_paper_is_refused(proposal: Path, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="poster"):
        write_sheets(SheetWanted(proposal, tmp_path, paper="poster"))


@pytest.mark.skipif(not has_pdf(), reason="PDF is drawn with the system library pango, missing here")
def test_the_pdf_has_one_page_for_the_table_three_for_the_record_and_the_same_text(
    proposal: Path, tmp_path: Path
) -> None:
    for paper, pages in (("table", 1), ("record", 3)):
        (path,) = write_sheets(SheetWanted(proposal, tmp_path, ("pdf",), paper=paper))
        read = pypdf.PdfReader(path)
        text = " ".join(page.extract_text() for page in read.pages)
        assert len(read.pages) == pages
        assert "Kaolin, white" in text
        assert "48.45" in text


def test_what_a_rule_foretells_stands_on_the_sheet(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    rules = "{water_activity: {at_most: 0.975}}", "{powder_volume: {at_most: 20 %}}"
    brief = "name: Drier\ntargets:\n" + "".join(f"  - {rule}\n" for rule in rules)
    (folder / "briefs" / "drier.yaml").write_text(brief, encoding="utf-8")
    (path,) = saved(folder, "drier")
    told = make_sheet(SheetWanted(path, tmp_path)).on_paper
    assert any(text.startswith("Water activity: at most 0.975. Predicted 0.97") for text in told)
    assert any(text.startswith("Powders by volume: at most 20 %. Predicted") for text in told)
