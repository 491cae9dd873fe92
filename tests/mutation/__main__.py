"""Change one thing in a layer, see whether a test notices: a seeded sample of all such changes.

`python -m tests.mutation --each 40 --kept build/mutation` works in a copy of the tree and goes on where it
was stopped; `--report` writes what it found into docs/explanation/mutation.md.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from tests.mutation.layers import LEFT_OUT, NOTICED_BY, ROOT
from tests.mutation.report import Mutant, write_page

SECONDS = 900
ALL_OF_THEM = (
    "select job_id, operator_name from mutation_specs order by module_path, operator_name, occurrence"
)
COPIED = ("optimiser", "ingredient_data_demo", "tests", "examples", "docs", "pyproject.toml", "README.md")


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--each", type=int, default=40, help="mutants a layer")
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--layer", action="append", choices=sorted(NOTICED_BY), help="all unless said")
    words.add_argument("--kept", type=Path, default=ROOT / "build" / "mutation")
    words.add_argument("--report", action="store_true", help="only write the page from what is kept")
    said = words.parse_args()
    said.kept.mkdir(parents=True, exist_ok=True)
    if not said.report:
        for layer in said.layer or sorted(NOTICED_BY):
            run(layer, said.each, said.seed, said.kept)
    write_page(mutants for layer in sorted(NOTICED_BY) for mutants in kept_of(layer, said.kept))


def run(layer: str, each: int, seed: int, kept: Path) -> None:
    """Mutates the layer in its own copy of the tree; a session that is there already goes on."""
    session, config, copy = kept / f"{layer}.sqlite", kept / f"{layer}.toml", kept / f"{layer}-tree"
    if not session.exists():
        shutil.rmtree(copy, ignore_errors=True)
        _copy_tree(copy)
        config.write_text(_config(layer), encoding="utf-8")
        _cosmic("init", config, session, cwd=copy)
        _sample(session, each, seed)
    _cosmic("exec", config, session, cwd=copy)


def _copy_tree(copy: Path) -> None:
    copy.mkdir(parents=True)
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, copy / name)


def _config(layer: str) -> str:
    tests = " ".join(NOTICED_BY[layer])
    python = Path(sys.executable)
    command = f"{python} -m pytest -n 0 -x -q -p no:cacheprovider {tests}"
    return (
        f'[cosmic-ray]\nmodule-path = "optimiser/{layer}"\ntimeout = {SECONDS}.0\nexcluded-modules = []\n'
        f'test-command = "{command}"\n[cosmic-ray.distributor]\nname = "local"\n'
    )


def _cosmic(verb: str, config: Path, session: Path, cwd: Path) -> None:
    env = {
        **os.environ,
        "PYTHONPATH": str(cwd),
        "PYTHONDONTWRITEBYTECODE": "1",
        "HYPOTHESIS_PROFILE": "seeded",
    }
    words = [sys.executable, "-m", "cosmic_ray.cli", verb, str(config.resolve()), str(session.resolve())]
    subprocess.run(words, cwd=cwd, env=env, check=True)


def _sample(session: Path, each: int, seed: int) -> None:
    with sqlite3.connect(session) as base:
        rows = base.execute(
            "select job_id, operator_name from mutation_specs order by module_path, operator_name, occurrence"
        ).fetchall()
        names = [job for job, operator in rows if not LEFT_OUT.match(operator)]
        chosen = set(random.Random(seed).sample(names, min(each, len(names))))
        gone = [(job,) for job, _ in rows if job not in chosen]
        base.executemany("delete from mutation_specs where job_id = ?", gone)
        base.executemany("delete from work_items where job_id = ?", gone)


def kept_of(layer: str, kept: Path) -> Iterable[Mutant]:
    """What is known of the layer's mutants so far."""
    session = kept / f"{layer}.sqlite"
    if not session.exists():
        return
    dumped = subprocess.run(
        [sys.executable, "-m", "cosmic_ray.cli", "dump", str(session)],
        capture_output=True,
        encoding="utf-8",
        check=True,
    )
    for line in dumped.stdout.splitlines():
        item, result = json.loads(line)
        if result is not None:
            yield _mutant(layer, item, result)


def _mutant(layer: str, item: dict[str, Any], result: dict[str, Any]) -> Mutant:
    spec = item["mutations"][0]
    return Mutant(
        layer,
        spec["module_path"],
        spec["operator_name"],
        spec["start_pos"][0],
        result["test_outcome"],
        result.get("diff") or "",
    )


if __name__ == "__main__":
    main()
