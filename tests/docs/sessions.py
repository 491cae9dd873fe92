"""Sessions in pages: files to write and commands to run, in order, with the output they gave.

A fenced block whose opening line names a file (```yaml demo/briefs/x.yaml) is written there; with `append`
after the name it is added to the file. A ```console block holds commands after `$` and their output. A
comment before it may trim: <!-- exit=3 show="Ingredient|Why:4" --> keeps paragraphs that begin so, with at
most so many lines of each, and expects the exit code 3 of its last command. A page that speaks of examples/
has them in its folder.
"""

from __future__ import annotations

import re
import shutil
from dataclasses import dataclass
from pathlib import Path

from tests.docs.pages import EXAMPLES
from tests.docs.shell import make_bin, run

FENCE = re.compile(r"```(\S+)(?: +(\S+))?(?: +(append))? *")
HINT = re.compile(r'<!-- *(?:exit=(\d+))? *(?:show="([^"]*)")? *-->')
MASKS = (re.compile(r"(?<=-)[0-9a-f]{6}(?=\.(?:yaml|html|csv|json))"), re.compile(r"\b[0-9a-f]{64}\b"))
LEFT_OUT = "…"


@dataclass(frozen=True, slots=True)
class Block:
    """A fenced block: lines `start` to `end` (both fences left out) of its page."""

    language: str
    file: str
    append: bool
    start: int
    end: int
    code: int = 0
    show: str = ""


def blocks_of(lines: list[str]) -> list[Block]:
    """Fenced blocks in order, each with the hint in the comment just above it."""
    found: list[Block] = []
    at = 0
    while at < len(lines):
        opened = FENCE.fullmatch(lines[at])
        if opened is None:
            at += 1
            continue
        end = next(n for n in range(at + 1, len(lines)) if lines[n].startswith("```"))
        hint = HINT.fullmatch(lines[at - 1].strip()) if at else None
        code, show = (int(hint[1] or 0), hint[2] or "") if hint else (0, "")
        file = opened[2] or ""
        found.append(Block(opened[1], file, bool(opened[3]), at + 1, end, code, show))
        at = end + 1
    return found


def has_session(text: str) -> bool:
    return "```console" in text


def replay(text: str, folder: Path) -> str:
    """The page with every session's output as it is now. Raises AssertionError on another exit code."""
    lines = text.splitlines()
    bin_folder = make_bin(folder / "bin")
    home = folder / "home"
    home.mkdir()
    if "examples/" in text:
        shutil.copytree(EXAMPLES, home / "examples")
    fresh: list[str] = []
    done = 0
    for block in blocks_of(lines):
        body = lines[block.start : block.end]
        fresh += lines[done : block.start]
        done = block.end
        if block.language == "console":
            body = _replayed(body, block, home, bin_folder)
        elif block.file:
            _write(home / block.file, "\n".join(body) + "\n", append=block.append)
        fresh += body
    return "\n".join([*fresh, *lines[done:]]) + "\n"


def _write(path: Path, text: str, *, append: bool) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    before = path.read_text(encoding="utf-8") if append else ""
    path.write_text(before + text, encoding="utf-8")


def commands_in(body: list[str]) -> list[str]:
    """Command lines of a console block; a backslash joins a line with the next."""
    found: list[str] = []
    open_one = False
    for line in body:
        if open_one:
            found[-1] += "\n" + line
        elif line.startswith("$ "):
            found.append(line[2:])
        open_one = (open_one or line.startswith("$ ")) and line.endswith("\\")
    return found


def _replayed(body: list[str], block: Block, home: Path, bin_folder: Path) -> list[str]:
    fresh: list[str] = []
    commands = commands_in(body)
    for number, command in enumerate(commands, 1):
        ran = run(command, home, bin_folder)
        wanted = block.code if number == len(commands) else 0
        assert ran.code == wanted, f"$ {command}\nleft with {ran.code}, not {wanted}:\n" + "\n".join(
            ran.lines
        )
        fresh += [*f"$ {command}".splitlines(), *trimmed(ran.lines, block.show)]
    return fresh


def trimmed(lines: tuple[str, ...], show: str) -> list[str]:
    """The paragraphs that `show` names, the others left out. Raises AssertionError for one not there."""
    if not show:
        return list(lines)
    if show == "nothing":
        return []
    wanted = [_wanted(part) for part in show.split("|")]
    paragraphs = "\n".join(lines).split("\n\n")
    for start, _ in wanted:
        assert any(one.startswith(start) for one in paragraphs), f"no paragraph begins with {start!r}"
    kept: list[str] = []
    for paragraph in paragraphs:
        rows = paragraph.splitlines()
        most = next((most for start, most in wanted if rows and rows[0].startswith(start)), 0)
        if most:
            kept += ([""] if kept and kept[-1] != LEFT_OUT else []) + rows[:most]
        if len(rows) > most and (not kept or kept[-1] != LEFT_OUT):
            kept.append(LEFT_OUT)
    return kept


def _wanted(part: str) -> tuple[str, int]:
    start, colon, most = part.rpartition(":")
    return (start, int(most)) if colon and most.isdigit() else (part, 10**6)


def masked(text: str) -> str:
    """Without the codes that change with versions of the solvers."""
    for mask in MASKS:
        text = mask.sub("*", text)
    return text
