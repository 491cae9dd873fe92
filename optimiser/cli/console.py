"""Tables and paragraphs on the terminal, as plain text when piped."""

from __future__ import annotations

import codecs
import json
import shutil
import sys
import unicodedata
from collections.abc import Iterable, Sequence
from typing import Any

from optimiser.export.figures import MINUS, fixed, short, signed

__all__ = ["console", "fixed", "json_text", "nearest", "plain", "short", "signed", "table"]

HIDDEN = {"Cc", "Cf", "Cs", "Co", "Cn"}
NEAREST = {
    MINUS: "-",
    "–": "-",
    "—": "-",
    "·": "-",
    "→": "->",
    "…": "...",
    "×": "x",
    "≥": ">=",
    "≤": "<=",
    "“": '"',
    "”": '"',
    "’": "'",
    "½": "1/2",
    "°": " deg ",
    "é": "e",
}
"""What stands for a character that the terminal cannot show; a lost minus would turn a number round."""


def nearest(fault: UnicodeError) -> tuple[str, int]:
    """Error handler of the output streams: the nearest plain characters, or a question mark each."""
    if not isinstance(fault, UnicodeEncodeError):
        raise fault
    lost = fault.object[fault.start : fault.end]
    return "".join(NEAREST.get(mark, "?") for mark in lost), fault.end


codecs.register_error("optimiser-nearest", nearest)


def json_text(value: object) -> str:
    """JSON that the output can carry: characters it has no place for are written as escapes."""
    encoding = (getattr(sys.stdout, "encoding", None) or "utf-8").casefold().replace("-", "")
    return json.dumps(value, indent=2, ensure_ascii=not encoding.startswith("utf"))


def console() -> Any:
    """A rich console on standard output: no markup, no highlighting, at least 80 columns wide."""
    from rich.console import Console

    width = max(80, min(shutil.get_terminal_size((110, 24)).columns, 140)) if sys.stdout.isatty() else 110
    return Console(markup=False, highlight=False, emoji=False, width=width, soft_wrap=False)


def table(
    heads: Sequence[str], rows: Iterable[Sequence[str]], *, right: Sequence[int] = (), title: str = ""
) -> Any:
    """A ruled table; columns named in `right` are right-aligned numbers."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    made = Table(
        box=box.SIMPLE_HEAD,
        title=Text(title) if title else None,
        title_justify="left",
        pad_edge=False,
        show_edge=False,
        title_style="bold",
    )
    for number, head in enumerate(heads):
        made.add_column(
            Text(head),
            justify="right" if number in right else "left",
            no_wrap=number in right,
            overflow="fold",
        )
    for row in rows:
        made.add_row(*(Text(plain(cell)) for cell in row))
    return made


def plain(text: str) -> str:
    """Without control, text-direction and other invisible characters."""
    if text.isprintable():
        return text
    return "".join(mark for mark in text if unicodedata.category(mark) not in HIDDEN)


def point(out: Any, text: str, indent: int = 2) -> None:
    """One point of a list, its further lines below its first."""
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    grid = Table.grid(padding=(0, 1))
    grid.add_column(no_wrap=True)
    grid.add_column(overflow="fold")
    grid.add_row("-", Text(plain(text)))
    out.print(Padding(grid, (0, 0, 0, indent)))
