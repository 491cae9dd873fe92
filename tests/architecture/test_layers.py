"""Layers point one way, and the command line starts without its heavy companions."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
HEAVY = ("pandas", "pint", "pulp", "highspy", "numpy", "yaml", "openpyxl", "rich", "jinja2")


def modules(package: str) -> list[Path]:
    found = sorted((ROOT / "optimiser" / package).glob("*.py"))
    assert found
    return found


def imported(path: Path) -> set[str]:
    """Modules that a file imports anywhere, functions included."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name}: a relative import hides the layer"
            names |= {node.module or "", *(f"{node.module}.{alias.name}" for alias in node.names)}
    return names


def loaded_by(code: str) -> set[str]:
    """Modules in a fresh interpreter once the code has run."""
    dump = "import sys; print('loaded', *sys.modules, file=sys.stderr)"
    wrapped = f"try:\n {code}\nexcept SystemExit:\n pass\n{dump}"
    done = subprocess.run([sys.executable, "-c", wrapped], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return set(done.stderr.splitlines()[-1].split())


def test_import_contracts_hold() -> None:
    code = "from importlinter.cli import lint_imports; raise SystemExit(lint_imports(no_cache=True))"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 broken" in done.stdout


def test_help_imports_nothing_heavy() -> None:
    code = "import sys; sys.argv = ['optimiser', '--help']; from optimiser.__main__ import main; main()"
    loaded = loaded_by(code)
    assert "click" in loaded
    assert not loaded & set(HEAVY)


@pytest.mark.parametrize("name", ["lp", "checks"])
def test_rows_and_judge_share_only_words_and_constants(name: str) -> None:
    other = {"lp": "checks", "checks": "lp"}[name]
    for path in modules(name):
        ours = {module for module in imported(path) if module.startswith("optimiser.")}
        assert not {module for module in ours if module.split(".")[1] == other}, path.name
        allowed = {name, "domain", "science", "units", *(["model"] if name == "lp" else [])}
        assert {module.split(".")[1] for module in ours} <= allowed, path.name


def test_the_judge_does_not_lean_on_the_selectors_of_the_rows() -> None:
    """What a selector counts is worked out twice, so that one slip cannot pass itself."""
    for path in modules("checks"):
        assert not {"optimiser.domain.selector.matches"} & imported(path), path.name


def test_floats_stay_out_of_rows_and_linear_verdicts() -> None:
    """A pH alone is found by iteration, and batches are drawn: only their own modules may."""
    drawn = {"acidity.py", "batches.py", "drawing.py", "drawn_ph.py"}
    for package in ("lp", "checks", "domain"):
        for path in modules(package):
            if package == "checks" and path.name in drawn:
                continue
            calls = {
                node.func.id
                for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
                if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
            }
            assert "float" not in calls, path
