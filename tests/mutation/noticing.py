"""Which test files call which functions, learnt by running each once in a copy whose functions say so."""

from __future__ import annotations

import ast
import fcntl
import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.mutation.layers import COPIED, LAYERS, NOTICING, ROOT

SLOW = 90
"""A test file that takes longer (s) is not asked."""
ENOUGH = 60
"""So long (s) may the tests of one change take together, the quickest first."""
SAYS = """import atexit, os
CALLED = set()
def _write():
    with open(os.environ["CALLED_TO"], "a", encoding="utf-8") as out:
        out.writelines(f"{name}\\n" for name in sorted(CALLED))
if "CALLED_TO" in os.environ:
    atexit.register(_write)
"""


@dataclass(frozen=True, slots=True)
class Asked:
    """A test file: how long it takes (s), whether it passes unchanged, and `module:function` it calls."""

    file: str
    seconds: float
    passes: bool
    calls: frozenset[str]


def pytest_words(files: Iterable[str]) -> list[str]:
    plugins = "-p", "no:cacheprovider", "-p", "tests.mutation.unshrunk"
    return [sys.executable, "-m", "pytest", "-n", "0", "-x", "-q", *plugins, *files]


def environment(tree: Path, **more: str) -> dict[str, str]:
    """Tests in `tree` find the package there and leave nothing compiled behind."""
    return {**os.environ, "PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1", **more}


def copy_tree(source: Path, copy: Path) -> None:
    copy.mkdir(parents=True)
    for name in COPIED:
        if (source / name).is_dir():
            shutil.copytree(source / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source / name, copy / name)


def learn(plain: Path, told: Path) -> None:
    """Writes to `told` what each test file calls; goes on where it was stopped, waits for who is at it."""
    with told.with_suffix(".lock").open("w", encoding="utf-8") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        copy = told.with_suffix(".tree")
        if not copy.exists():
            copy_tree(plain, copy)
            _let_functions_say(copy)
        for file in _files(plain):
            if all(asked.file != file for asked in read(told)):
                with told.open("a", encoding="utf-8") as out:
                    out.write(json.dumps(_ask(copy, file)) + "\n")


def _files(tree: Path) -> list[str]:
    paths = (path for folder in NOTICING for path in sorted((tree / folder).glob("test_*.py")))
    return [str(path.relative_to(tree)) for path in paths]


def _ask(copy: Path, file: str) -> dict[str, object]:
    called = copy / "called.txt"
    called.unlink(missing_ok=True)
    start = time.monotonic()
    try:
        ran = subprocess.run(
            pytest_words([file]),
            cwd=copy,
            env=environment(copy, CALLED_TO=str(called)),
            capture_output=True,
            timeout=SLOW,
        )
        passes = ran.returncode == 0
    except subprocess.TimeoutExpired:
        passes = False
    calls = sorted(set(called.read_text(encoding="utf-8").split())) if called.exists() else []
    return {"file": file, "seconds": time.monotonic() - start, "passes": passes, "calls": calls}


def read(told: Path) -> list[Asked]:
    if not told.exists():
        return []
    lines = (json.loads(line) for line in told.read_text(encoding="utf-8").splitlines())
    files = {
        one["file"]: Asked(one["file"], one["seconds"], one["passes"], frozenset(one["calls"]))
        for one in lines
    }
    return list(files.values())


def pick(asked: Iterable[Asked], module: str, function: str | None) -> list[Asked]:
    """The test files that may notice a change in the function, the layer's own and the quickest first.

    A change outside every function, or in one that no test calls, is shown to all that use the module.
    """
    sound = [one for one in asked if one.passes]
    calling = [one for one in sound if f"{module}:{function}" in one.calls]
    using = [one for one in sound if any(call.startswith(f"{module}:") for call in one.calls)]
    own = f"tests/unit/{module.split('/')[1]}/"
    ordered = sorted(calling or using, key=lambda one: (not one.file.startswith(own), one.seconds))
    return list(_within(ordered, ENOUGH))


def _within(ordered: Iterable[Asked], seconds: float) -> Iterator[Asked]:
    spent = 0.0
    for one in ordered:
        if spent and spent + one.seconds > seconds:
            continue
        spent += one.seconds
        yield one


def function_at(source: str, line: int) -> str | None:
    """The dotted name of the innermost function around the line; None outside every function."""
    inner = [
        (node.lineno, name)
        for name, node in functions(ast.parse(source))
        if node.lineno <= line <= (node.end_lineno or node.lineno)
    ]
    return max(inner)[1] if inner else None


def functions(
    tree: ast.AST, within: str = ""
) -> Iterator[tuple[str, ast.FunctionDef | ast.AsyncFunctionDef]]:
    """Every function and method by its dotted name."""
    for node in ast.iter_child_nodes(tree):
        inside = within
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            inside = f"{within}{node.name}."
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield inside[:-1], node
        yield from functions(node, inside)


def _let_functions_say(copy: Path) -> None:
    (copy / "optimiser" / "called_here.py").write_text(SAYS, encoding="utf-8")
    for layer in LAYERS:
        for path in sorted((copy / "optimiser" / layer).glob("*.py")):
            module = str(path.relative_to(copy))
            path.write_text(_saying(path.read_text(encoding="utf-8"), module), encoding="utf-8")


def _saying(source: str, module: str) -> str:
    tree = ast.parse(source)
    for name, node in functions(tree):
        after = 1 if ast.get_docstring(node) is not None else 0
        node.body.insert(after, ast.parse(f"_called_here({module + ':' + name!r})").body[0])
    start = next((i for i, node in enumerate(tree.body) if isinstance(node, ast.ImportFrom)), None)
    if start is not None:
        words = "from optimiser.called_here import CALLED; _called_here = CALLED.add"
        tree.body[start + 1 : start + 1] = ast.parse(words).body
    return ast.unparse(ast.fix_missing_locations(tree))


def plain_tree(kept: Path) -> Path:
    """The tree as it is now, copied once for all layers."""
    plain = kept / "plain"
    if not plain.exists():
        copy_tree(ROOT, plain)
    return plain
