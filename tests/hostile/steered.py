"""One run of atheris on one reader: `python -m tests.hostile.steered READER SECONDS FOLDER`."""

from __future__ import annotations

import random
import sys
import tempfile
from pathlib import Path


def main(reader: str, seconds: str, found: str) -> None:
    import atheris  # type: ignore[import-untyped,import-not-found,unused-ignore]

    with atheris.instrument_imports(include=["optimiser"]):
        from tests.hostile.mutations import mutated
        from tests.hostile.readers import Bench, give, seeds
        from tests.hostile.watch import watched

    sound = seeds(reader)
    names = sorted(sound)
    place = Path(tempfile.mkdtemp())
    corpus = place / "corpus"
    corpus.mkdir()
    for number, name in enumerate(names):
        (corpus / str(number)).write_bytes(name.encode() + b"\n" + sound[name])
    bench = Bench(place / "bench")
    tempfile.tempdir = str(place / "bench")

    def one(data: bytes) -> None:
        name, _, content = data.partition(b"\n")
        known = name.decode("utf-8", "replace")
        with watched(place / "bench"):
            give(bench, reader, known if known in sound else names[0], content)

    def worse(data: bytes, most: int, seed: int) -> bytes:
        if seed % 2:
            return bytes(atheris.Mutate(data, most))
        name, _, content = data.partition(b"\n")
        return (name + b"\n" + mutated(random.Random(seed), content, sound))[:most]

    bounds = [f"-max_total_time={seconds}", "-rss_limit_mb=1024", "-timeout=60", "-max_len=60000"]
    atheris.Setup(
        [sys.argv[0], *bounds, f"-artifact_prefix={found}/", str(corpus)], one, custom_mutator=worse
    )
    atheris.Fuzz()


if __name__ == "__main__":
    main(*sys.argv[1:])
