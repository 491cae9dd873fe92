"""The drawing of a curve as a picture: what `curve_svg` draws, painted dot by dot.

The picture is read from the drawing itself, so both show the same. Letters come with the library that paints:
the same bytes on every machine that has the same version of it.
"""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element, fromstring

from optimiser.domain.curve import Curve
from optimiser.errors import OptimiserError
from optimiser.export.curve_svg import HEIGHT, WIDTH, curve_svg
from optimiser.units.numbers import DecimalMark

DOTS = 2
"""Dots of the picture to one unit of the drawing."""
POINT = 72
INK, SOFT, RULE, LINE, PAPER = "#1d2522", "#5d6863", "#d5dbd8", "#1f5f4a", "#ffffff"
LETTERS = "fonts/ttf/DejaVuSans{}.ttf"
"""They come with the library: those of the system differ from one machine to the next."""
SIZE = 12
EXTRA = "formula-optimiser[png]"
LOOKS: dict[str, dict[str, Any]] = {
    "grid": {"color": RULE, "linewidth": 1, "zorder": 1},
    "axis": {"color": SOFT, "linewidth": 1, "zorder": 2},
    "jump": {"color": SOFT, "linewidth": 1, "linestyle": (0, (2, 4)), "zorder": 3},
    "line": {"color": LINE, "linewidth": 2, "solid_joinstyle": "round", "zorder": 4},
    "base": {"color": INK, "linewidth": 1.5, "zorder": 5},
}
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def curve_png(found: Curve, decimal: DecimalMark = "point") -> bytes:
    """1440 by 860 dots on white. Raises OptimiserError where the library that paints is missing."""
    try:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure
    except ImportError as fault:
        raise OptimiserError(
            "PNG needs a library that is not installed here",
            f'python -m pip install "{EXTRA}", or write svg: it needs nothing further',
        ) from fault
    figure = Figure(figsize=(WIDTH / POINT, HEIGHT / POINT), dpi=POINT * DOTS, facecolor=PAPER)
    FigureCanvasAgg(figure)
    paper = figure.add_axes((0, 0, 1, 1))
    paper.set_xlim(0, WIDTH)
    paper.set_ylim(HEIGHT, 0)
    paper.set_axis_off()
    for part in fromstring(curve_svg(found, decimal)):  # noqa: S314  # our own text
        _paint(paper, part)
    out = io.BytesIO()
    figure.savefig(out, format="png", metadata={"Software": None})
    return out.getvalue()


def _paint(paper: Any, part: Element) -> None:
    """One element of the drawing; what is not drawn (title, style) is passed over."""
    look = LOOKS.get(part.get("class", ""), {})
    match part.tag.rpartition("}")[2]:
        case "line":
            paper.plot(*([float(part.get(f"{axis}{n}", "0")) for n in (1, 2)] for axis in "xy"), **look)
        case "polyline":
            spots = [spot.split(",") for spot in part.get("points", "").split()]
            paper.plot([float(x) for x, _ in spots], [float(y) for _, y in spots], **look)
        case "path":
            left, up, across, x, top, down = (float(n) for n in NUMBER.findall(part.get("d", "")))
            paper.plot((left, left + across), (up, up), **look)
            paper.plot((x, x), (top, top + down), **look)
        case "circle":
            from matplotlib.patches import Circle

            at = float(part.get("cx", "0")), float(part.get("cy", "0"))
            dot = Circle(
                at, float(part.get("r", "0")), facecolor=PAPER, edgecolor=LINE, linewidth=2, zorder=6
            )
            paper.add_patch(dot)
        case "text":
            _write(paper, part)


def _write(paper: Any, part: Element) -> None:
    """A text with its parts in their own ink, one behind the other; dollar signs are letters."""
    from matplotlib import get_data_path
    from matplotlib.artist import Artist
    from matplotlib.font_manager import FontProperties
    from matplotlib.offsetbox import AnnotationBbox, HPacker, TextArea

    own = part.get("class", "")
    ink = SOFT if own == "soft" else INK
    texts = ((part.text, ink), *((one.text, SOFT) for one in part))
    file = Path(get_data_path(), LETTERS.format("-Bold" if own == "number" else ""))
    font = {"fontproperties": FontProperties(fname=file, size=SIZE), "parse_math": False}
    areas: list[Artist] = [
        TextArea(text, textprops={**font, "color": color}) for text, color in texts if text
    ]
    box = HPacker(children=areas, align="baseline", pad=0, sep=0)
    at = float(part.get("x", "0")), float(part.get("y", "0"))
    side = {"start": 0.0, "middle": 0.5, "end": 1.0}[part.get("text-anchor", "start")]
    note = AnnotationBbox(box, at, frameon=False, pad=0, box_alignment=(side, 0.22), zorder=7)
    paper.add_artist(note)
