"""Change one thing in a layer, see whether a test notices: a seeded sample of all such changes.

`python -m tests.mutation --each 40 --kept build/mutation` works in a copy of the tree and goes on where it
was stopped (a file `stop` in that folder stops it too). `--again` tries the changes that no test noticed on
the tree and with the tests of today. Each time docs/explanation/mutation.md is written anew; `--report` does
only that, with `--then` for another sample kept elsewhere. Needs the package cosmic-ray.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from tests.mutation.again import try_again
from tests.mutation.layers import LAYERS, LEFT_OUT, ROOT
from tests.mutation.notice import NOT_TRIED
from tests.mutation.noticing import copy_tree, environment, learn, plain_tree
from tests.mutation.report import Mutant, Sample, outcome_of, write_page

SECONDS = 1800.0
"""Far beyond what `notice` allows its tests, which therefore speaks first."""
FOUND = """
select job_id, module_path, definition_name, start_pos_row, worker_outcome, test_outcome, output, diff,
  (select outcome from again where again.job_id = work_results.job_id)
from work_results join mutation_specs using (job_id) order by module_path, start_pos_row, job_id
"""


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--each", type=int, default=40, help="changes a layer")
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--layer", action="append", choices=LAYERS, help="all unless said")
    words.add_argument("--kept", type=Path, default=ROOT / "build" / "mutation")
    words.add_argument("--minutes", type=float, default=float("inf"), help="no longer than so")
    words.add_argument("--again", action="store_true", help="only what no test noticed, with today's tests")
    words.add_argument("--then", type=Path, action="append", default=[], help="also tell what is kept there")
    words.add_argument("--report", action="store_true", help="only write the page from what is kept")
    said = words.parse_args()
    said.kept.mkdir(parents=True, exist_ok=True)
    os.environ["MUTATION_UNTIL"] = str(time.time() + 60 * said.minutes)
    layers = said.layer or LAYERS
    if said.again:
        try_again(said.kept, {layer: list(kept_of(layer, said.kept)) for layer in layers}, _keep_again)
    elif not said.report:
        learn(plain_tree(said.kept), said.kept / "calls.jsonl")
        for layer in layers:
            run(layer, said.each, said.seed, said.kept)
    write_page(_samples(kept) for kept in (said.kept, *said.then))


def run(layer: str, each: int, seed: int, kept: Path) -> None:
    """Changes the layer in its own copy of the tree; a session that is there already goes on."""
    session, config, copy = _session(layer, kept), kept / f"{layer}.toml", kept / f"{layer}-tree"
    if not session.exists():
        shutil.rmtree(copy, ignore_errors=True)
        copy_tree(kept / "plain", copy)
        config.write_text(_config(layer, kept), encoding="utf-8")
        _cosmic("init", config, session, cwd=copy)
        _sample(session, each, seed)
    shutil.copytree(kept / "plain" / "optimiser" / layer, copy / "optimiser" / layer, dirs_exist_ok=True)
    _cosmic("exec", config, session, cwd=copy)
    with _opened(session) as base:
        base.execute("delete from work_results where output like ?", (f"{NOT_TRIED}%",))


def _config(layer: str, kept: Path) -> str:
    command = f"{Path(sys.executable)} -m tests.mutation.notice {kept.resolve()} {layer}"
    return (
        f'[cosmic-ray]\nmodule-path = "optimiser/{layer}"\ntimeout = {SECONDS}\nexcluded-modules = []\n'
        f'test-command = "{command}"\n[cosmic-ray.distributor]\nname = "local"\n'
    )


def _cosmic(verb: str, config: Path, session: Path, cwd: Path) -> None:
    words = [sys.executable, "-m", "cosmic_ray.cli", verb, str(config.resolve()), str(session.resolve())]
    subprocess.run(words, cwd=cwd, env=environment(cwd), check=True)


def _session(layer: str, kept: Path) -> Path:
    return kept / f"{layer}.sqlite"


@contextmanager
def _opened(session: Path) -> Iterator[sqlite3.Connection]:
    """The session with the tables of our own; what is written is kept."""
    with closing(sqlite3.connect(session, timeout=60)) as base, base:
        base.execute("create table if not exists again (job_id primary key, outcome, output)")
        base.execute("create table if not exists possible (changes, seed)")
        yield base


def _sample(session: Path, each: int, seed: int) -> None:
    with _opened(session) as base:
        rows = base.execute(
            "select job_id, operator_name from mutation_specs order by module_path, operator_name, occurrence"
        ).fetchall()
        names = [job for job, operator in rows if not LEFT_OUT.match(operator)]
        chosen = set(random.Random(seed).sample(names, min(each, len(names))))
        gone = [(job,) for job, _ in rows if job not in chosen]
        base.execute("insert into possible values (?, ?)", (len(names), seed))
        base.executemany("delete from mutation_specs where job_id = ?", gone)
        base.executemany("delete from work_items where job_id = ?", gone)


def _samples(kept: Path) -> list[Sample]:
    return [sample for layer in LAYERS if (sample := _sampled(layer, kept)) is not None]


def _sampled(layer: str, kept: Path) -> Sample | None:
    """What is known of the layer so far; None before it is begun."""
    if not _session(layer, kept).exists():
        return None
    with _opened(_session(layer, kept)) as base:
        possible, seed = base.execute("select changes, seed from possible").fetchone() or (None, None)
    return Sample(layer, possible, seed, tuple(kept_of(layer, kept)))


def kept_of(layer: str, kept: Path) -> Iterable[Mutant]:
    """What came of the layer's changes so far."""
    if not _session(layer, kept).exists():
        return []
    with _opened(_session(layer, kept)) as base:
        rows = base.execute(FOUND).fetchall()
    return [
        Mutant(
            job=job,
            layer=layer,
            module=module,
            function=function or "",
            line=line,
            first=outcome_of(worker, test, output or ""),
            now=again,
            diff=diff or "",
        )
        for job, module, function, line, worker, test, output, diff, again in rows
    ]


def _keep_again(kept: Path, mutant: Mutant, outcome: str, output: str) -> None:
    with _opened(_session(mutant.layer, kept)) as base:
        base.execute("insert or replace into again values (?, ?, ?)", (mutant.job, outcome, output))


if __name__ == "__main__":
    main()
