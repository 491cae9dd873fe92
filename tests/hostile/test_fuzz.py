"""A slice of the attack on every reader; the long one is `python -m tests.hostile.fuzz`."""

from __future__ import annotations

import random
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from optimiser.loading.batches import parse_batch
from optimiser.loading.proposals import read_proposal
from optimiser.loading.trials import parse_trial
from optimiser.loading.worktable import load_worktable
from tests.effort import THOROUGH
from tests.hostile.mutations import mutated
from tests.hostile.page import PAGE, written
from tests.hostile.readers import BATCH, PROPOSAL, READERS, TRIAL, Bench, give, seeds
from tests.hostile.watch import watched
from tests.workflows.desk import demo

SLOW = {"upload": 6, "xlsx": 12, "csv": 25, "yaml": 25}
LONG = settings(deadline=None, suppress_health_check=list(HealthCheck))


@pytest.fixture(scope="module")
def bench() -> Iterator[Bench]:
    before = tempfile.tempdir
    with tempfile.TemporaryDirectory() as folder:
        tempfile.tempdir = folder
        made = Bench(Path(folder))
        with made.stack:
            yield made
        tempfile.tempdir = before


@pytest.mark.parametrize("reader", sorted(READERS))
def test_sound_files_are_read(bench: Bench, reader: str) -> None:
    """What the attack begins from is sound: made worse it reaches deep. The first call warms up."""
    for name, data in seeds(reader).items():
        give(bench, reader, name, data)


def test_no_fault_stands_in_what_is_begun_from(bench: Bench) -> None:
    assert load_worktable(bench.table)[1] == ()
    for text, parse in ((BATCH, parse_batch), (TRIAL, parse_trial)):
        assert parse(text, "x")[1] == ()
    saved = bench.place / "saved.yaml"
    saved.write_text(PROPOSAL, encoding="utf-8")
    assert read_proposal(saved, demo().worktable, demo().vocabulary)[1] == ()


@pytest.mark.parametrize("reader", sorted(READERS))
def test_no_file_made_worse_upsets_a_reader(bench: Bench, reader: str) -> None:
    sound = seeds(reader)

    @settings(LONG, max_examples=SLOW.get(reader, 60) * (10 if THOROUGH else 1))
    @given(st.sampled_from(sorted(sound)), st.integers(0, 2**40))
    def attacked(name: str, number: int) -> None:
        data = mutated(random.Random(number), sound[name], sound)
        with watched(bench.place):
            give(bench, reader, name, data)

    attacked()


@pytest.mark.parametrize("reader", sorted(set(READERS) - {"upload"}))
def test_no_raw_bytes_upset_a_reader(bench: Bench, reader: str) -> None:
    name = min(seeds(reader))

    @settings(LONG, max_examples=SLOW.get(reader, 60))
    @given(st.binary(max_size=200))
    def attacked(data: bytes) -> None:
        with watched(bench.place):
            give(bench, reader, name, data)

    attacked()


def test_the_page_holds_the_figures_that_were_kept() -> None:
    assert PAGE.read_text(encoding="utf-8") == written()
