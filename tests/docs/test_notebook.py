"""The analyst's notebook runs from top to bottom and prints what it shows."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbclient import NotebookClient

from tests.docs.pages import EXAMPLES, ROOT, name_of, settle

NOTEBOOKS = sorted(EXAMPLES.rglob("*.ipynb"))


def texts(notebook: Any) -> str:
    """Each cell's code and what it printed, without pictures: their bytes change with the library."""
    parts: list[str] = []
    for cell in notebook.cells:
        if cell.cell_type != "code":
            continue
        parts.append(cell.source)
        for output in cell.outputs:
            text = output.get("text") or output.get("data", {}).get("text/plain", "")
            parts.append(text.rstrip())
    return "\n".join(parts) + "\n"


def run_through(notebook: Any, monkeypatch: pytest.MonkeyPatch) -> Any:
    """A copy run from top to bottom. Raises CellExecutionError where a cell fails."""
    monkeypatch.delenv("PYTHONPYCACHEPREFIX", raising=False)
    monkeypatch.setenv("PYTHONDONTWRITEBYTECODE", "1")
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    monkeypatch.setenv("PYTHONWARNINGS", "default")
    monkeypatch.setenv("MPLBACKEND", "module://matplotlib_inline.backend_inline")
    fresh = copy.deepcopy(notebook)
    NotebookClient(fresh, timeout=600, record_timing=False).execute()
    return fresh


@pytest.mark.filterwarnings("default")
@pytest.mark.parametrize("path", NOTEBOOKS, ids=name_of)
def test_a_notebook_prints_what_it_shows(
    path: Path, write_docs: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    notebook = nbformat.read(path, as_version=4)
    nbformat.validate(notebook)
    fresh = run_through(notebook, monkeypatch)
    old, new = texts(notebook), texts(fresh)
    if write_docs and old != new:
        nbformat.write(fresh, path)
        return
    settle(path, new, old, write_docs, same=old == new)


def test_there_is_a_notebook_for_analysts() -> None:
    assert "examples/analyst/range.ipynb" in [name_of(path) for path in NOTEBOOKS]


@pytest.mark.filterwarnings("default")
def test_a_cell_that_fails_is_not_overlooked(monkeypatch: pytest.MonkeyPatch) -> None:
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("1 / 0")])
    with pytest.raises(Exception, match="ZeroDivisionError"):
        run_through(notebook, monkeypatch)
