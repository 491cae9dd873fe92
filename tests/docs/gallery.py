"""The plots that docs/gallery.md shows, drawn anew: `python -m tests.docs.gallery [FOLDER]`."""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path

from tests.docs.pages import DOCS, EXAMPLES
from tests.docs.shell import make_bin, run

PLOTS = {
    "curve-cost-departure.svg": (
        "optimiser tradeoff sunflower-balm -w demo --between cost --and departure --to curve --format svg",
        "curve/*.svg",
    ),
    "fit-softness.svg": (
        "optimiser trial fit softness -w demo --plot fit.svg",
        "fit.svg",
    ),
    "learned-and-left-out.svg": (
        (
            "optimiser propose kaolin-mask -w bench --brief bath-rooms --save --as first"
            " && optimiser trial new bench/proposals/first.yaml --on 2026-11-16 --as mask-1"
            " && optimiser trial record mask-1 -w bench --on 2026-11-16 --as-planned"
            ' --weighed "citric-acid-20=0.4 g" --read ph-before=6.6 --read ph=5.8'
            " && optimiser trial new bench/proposals/first.yaml --on 2026-11-17 --as mask-2"
            " && optimiser trial record mask-2 -w bench --on 2026-11-17 --as-planned"
            ' --weighed "citric-acid-20=0.3 g" --read ph-before=6.7 --read ph=6.1'
            ' --read "thickness=3.6 Pa.s" --rate 10/s'
            " && optimiser trial learn -w bench --plot check.svg"
        ),
        "check.svg",
    ),
}


def draw(to: Path) -> None:
    """Every plot into the folder. Raises RuntimeError with what a command said when it fails."""
    to.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        home = Path(scratch)
        bin_folder = make_bin(home / "bin")
        run("optimiser new demo", home, bin_folder)
        shutil.copytree(EXAMPLES / "nine-balms" / "trials", home / "demo" / "trials")
        shutil.copytree(EXAMPLES / "three-trials" / "worktable", home / "bench")
        for name, (command, made) in PLOTS.items():
            ran = run(command, home, bin_folder)
            if ran.code:
                raise RuntimeError("\n".join((command, *ran.lines)))
            (drawn,) = home.glob(made)
            shutil.copy(drawn, to / name)


if __name__ == "__main__":
    draw(Path(sys.argv[1]) if len(sys.argv) > 1 else DOCS / "pictures")
