"""Models as MPS text, free or in fixed columns, with exact decimals.

Where programs read the same text differently, this reader refuses and says what to state: a whole variable
without limits (some take 0 to 1, some 0 to infinity), a negative upper limit without a lower one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

from optimiser.model.exact import parse_exact
from optimiser.model.neutral import Loaded, read_text
from optimiser.model.rows import ZERO, Kind, Model, Row, Sense, Var, build
from optimiser.problems import LONGEST_SHOWN, Problem, hidden_marks, visible

SECTIONS = ("NAME", "OBJSENSE", "ROWS", "COLUMNS", "RHS", "RANGES", "BOUNDS", "ENDATA")
NO_VALUE = ("FR", "MI", "PL", "BV")
WITH_VALUE = ("LO", "UP", "FX", "LI", "UI")
FIXED_FIELDS = ((1, 3), (4, 12), (14, 22), (24, 36), (39, 47), (49, 61))
SENSES: dict[str, Sense] = {
    "MAX": "max",
    "MAXIMIZE": "max",
    "MAXIMISE": "max",
    "MIN": "min",
    "MINIMIZE": "min",
    "MINIMISE": "min",
}


def read_mps_file(path: Path) -> Loaded:
    """`read_mps` on a file."""
    text, problems = read_text(path)
    return (None, problems) if problems else read_mps(text, str(path))


def read_mps(text: str, file: str = "") -> Loaded:
    """A model, or None and every fault found with its line. Names with spaces need the fixed columns."""
    free = _Reader(file, fixed=False).read(text)
    if free[0] is not None:
        return free
    fixed = _Reader(file, fixed=True).read(text)
    return fixed if fixed[0] is not None else free


@dataclass(slots=True)
class _RowText:
    kind: str
    coef: dict[str, Fraction] = field(default_factory=dict)
    right: Fraction | None = None
    spread: Fraction | None = None


@dataclass(slots=True)
class _Column:
    line: int
    whole: bool
    kind: Kind = "C"
    limits: dict[str, tuple[int, Fraction]] = field(default_factory=dict)


class _Reader:
    """One pass over the lines, keeping every fault."""

    def __init__(self, file: str, *, fixed: bool) -> None:
        self.file = file
        self.fixed = fixed
        self.problems: list[Problem] = []
        self.name = "model"
        self.sense: Sense = "min"
        self.rows: dict[str, _RowText] = {}
        self.columns: dict[str, _Column] = {}
        self.objective = ""
        self.whole = False
        self.sets: dict[str, str] = {}
        self.line = 0

    def fault(self, entry: str, expected: str, found: str, fix: str = "", line: int | None = None) -> None:
        texts = (visible(entry, LONGEST_SHOWN), visible(expected), visible(found), fix)
        self.problems.append(Problem(self.file, line or self.line, *texts))

    def read(self, text: str) -> Loaded:
        section, seen = "", set()
        for self.line, line in enumerate(text.splitlines(), start=1):
            if not line.strip() or line.startswith("*"):
                continue
            if hidden := hidden_marks(line):
                self.fault("line", "text without invisible characters", hidden, "type it again")
            if line[0].isspace():
                self.data(section, line)
                continue
            words = line.split()
            section = words[0].upper()
            if section not in SECTIONS:
                self.fault(
                    "section", f"one of {', '.join(SECTIONS)}", words[0], "this part of MPS is not read"
                )
            elif section in seen:
                self.fault("section", "each section once", f"{section} again", "merge the two")
            seen.add(section)
            self.header(section, words, line)
            if section == "ENDATA":
                break
        for needed in ("ROWS", "COLUMNS", "ENDATA"):
            if needed not in seen:
                self.fault("section", needed, "the end of the text", f"add {needed}")
        return self.result()

    def header(self, section: str, words: list[str], line: str) -> None:
        if section == "NAME" and len(words) > 1:
            self.name = line.split(None, 1)[1].strip()
        elif section == "OBJSENSE" and len(words) > 1:
            self.set_sense(words[1])

    def set_sense(self, word: str) -> None:
        if word.upper() in SENSES:
            self.sense = SENSES[word.upper()]
        else:
            self.fault("OBJSENSE", "MIN or MAX", word)

    def data(self, section: str, line: str) -> None:
        words = self.fields(line)
        if section == "ROWS":
            self.row(words)
        elif section == "COLUMNS":
            self.column(words)
        elif section in ("RHS", "RANGES"):
            self.right(section, words)
        elif section == "BOUNDS":
            self.bound(words)
        elif section == "OBJSENSE":
            self.set_sense(words[0])
        elif section in ("", "NAME"):
            self.fault("line", "a section first", line.strip(), "start with NAME or ROWS")

    def fields(self, line: str) -> list[str]:
        if not self.fixed:
            return line.split()
        cut = (line[start:end].strip() for start, end in FIXED_FIELDS)
        return [word for word in cut if word]

    def row(self, words: list[str]) -> None:
        if len(words) != 2 or words[0].upper() not in ("N", "E", "L", "G"):
            self.fault("row", "N, E, L or G and a name", " ".join(words))
            return
        kind, name = words[0].upper(), words[1]
        if name in self.rows:
            self.fault(f"row {name}", "each name once", f'"{name}" again', "rename or merge them")
            return
        self.rows[name] = _RowText(kind)
        if kind == "N" and not self.objective:
            self.objective = name

    def column(self, words: list[str]) -> None:
        marked = words[1:2] == ["'MARKER'"] or (words[1:2] == ["MARKER"] and "MARKER" not in self.rows)
        if len(words) == 3 and marked:
            mark = words[2].strip("'").upper()
            if mark not in ("INTORG", "INTEND"):
                self.fault("MARKER", "INTORG or INTEND", words[2])
            self.whole = mark == "INTORG"
            return
        if len(words) not in (3, 5):
            self.fault("column", "a name and one or two pairs of row and number", " ".join(words))
            return
        name = words[0]
        self.columns.setdefault(name, _Column(self.line, self.whole))
        for row, number in self.pairs(words[1:]):
            if name in row.coef:
                self.fault(f"column {name}", "each row once", " ".join(words), "keep one of them")
            row.coef[name] = number

    def pairs(self, words: list[str]) -> Iterator[tuple[_RowText, Fraction]]:
        for name, text in zip(words[::2], words[1::2], strict=True):
            number = self.number(text)
            if name not in self.rows:
                self.fault("row", "a row of ROWS", f'"{name}"', "add it to ROWS or mend the name")
            elif number is not None:
                yield self.rows[name], number

    def number(self, text: str) -> Fraction | None:
        number = parse_exact(text) if "/" not in text else None
        if number is None:
            self.fault("number", "an exact decimal such as 0.25 or 1e-3", f'"{text[:40]}"')
        return number

    def right(self, section: str, words: list[str]) -> None:
        if len(words) not in (2, 3, 4, 5):
            self.fault(section, "a set name and one or two pairs of row and number", " ".join(words))
            return
        if len(words) % 2:
            self.one_set(section, words[0])
            words = words[1:]
        for row, number in self.pairs(words):
            if section == "RHS":
                if row.right is not None:
                    self.fault(section, "each row once", " ".join(words), "keep one of them")
                row.right = number
            elif row.kind == "N" or row.spread is not None:
                self.fault(section, "each row once, and no row of kind N", " ".join(words), "take it out")
            else:
                row.spread = number

    def one_set(self, section: str, name: str) -> None:
        if self.sets.setdefault(section, name) != name:
            self.fault(
                section, f'one set, "{self.sets[section]}"', f'a second, "{name}"', "keep one set a file"
            )

    def bound(self, words: list[str]) -> None:
        kind = words[0].upper()
        if kind not in (*NO_VALUE, *WITH_VALUE):
            self.fault("BOUNDS", f"one of {', '.join((*WITH_VALUE, *NO_VALUE))}", words[0])
            return
        parts = self.bound_parts(kind, words[1:])
        if parts is None:
            self.fault(
                "BOUNDS", "kind, set, column" + (", number" if kind in WITH_VALUE else ""), " ".join(words)
            )
            return
        name, text = parts
        column = self.columns.get(name)
        if column is None:
            self.fault("BOUNDS", "a column of COLUMNS", f'"{name}"', "add it to COLUMNS or mend the name")
            return
        number = self.number(text) if text else ZERO
        if kind in column.limits:
            self.fault(f"column {name}", f"{kind} once", f"{kind} again", "keep one of them")
        if number is not None:
            column.limits[kind] = (self.line, number)

    def bound_parts(self, kind: str, words: list[str]) -> tuple[str, str] | None:
        """Column and number of a BOUNDS line; the set name may be left out."""
        if kind in WITH_VALUE:
            if len(words) == 3:
                self.one_set("BOUNDS", words[0])
            return (words[-2], words[-1]) if len(words) in (2, 3) else None
        if len(words) == 1 or (len(words) == 2 and words[1] not in self.columns):
            return words[0], ""
        if len(words) in (2, 3):
            self.one_set("BOUNDS", words[0])
            return words[1], ""
        return None

    def result(self) -> Loaded:
        if not self.objective and self.rows:
            self.fault("ROWS", "one row of kind N for the cost", "none", "add one", line=None)
        variables = [self.variable(name, column) for name, column in self.columns.items()]
        if self.problems:
            return None, tuple(self.problems)
        objective = self.rows.pop(self.objective)
        rows = tuple(self.finished(name, row) for name, row in self.rows.items())
        constant = -(objective.right or ZERO)
        return build(
            Model(self.name, tuple(variables), rows, tuple(objective.coef.items()), self.sense, constant),
            self.file,
        )

    def variable(self, name: str, column: _Column) -> Var:
        lower: Fraction | None = ZERO
        upper: Fraction | None = None
        limits = column.limits
        kind: Kind = "I" if column.whole or limits.keys() & {"LI", "UI"} else "C"
        if "BV" in limits:
            kind, lower, upper = "B", ZERO, Fraction(1)
        if limits.keys() & {"FR", "MI"}:
            lower = None
        for word in ("LO", "LI", "FX"):
            lower = limits[word][1] if word in limits else lower
        for word in ("UP", "UI", "FX"):
            upper = limits[word][1] if word in limits else upper
        if upper is not None and upper < 0 and lower == 0 and not limits.keys() & {"LO", "LI"}:
            line = min(line for line, _ in limits.values())
            self.fault(
                f"column {name}",
                "a lower limit beside a negative upper one",
                "none",
                "state LO or MI: programs disagree on what it is",
                line=line,
            )
        if column.whole and not limits:
            self.fault(
                f"column {name}",
                "stated limits for a whole variable",
                "none",
                "state BV, UI or PL: programs disagree on the upper limit",
                line=column.line,
            )
        return Var(name, lower, upper, kind)

    @staticmethod
    def finished(name: str, row: _RowText) -> Row:
        right, spread = row.right or ZERO, row.spread
        lower = right if row.kind in ("E", "G") else None
        upper = right if row.kind in ("E", "L") else None
        if spread is not None:
            if row.kind == "L" or (row.kind == "E" and spread < 0):
                lower = right - abs(spread)
            else:
                upper = right + abs(spread)
        return Row(name, tuple(row.coef.items()), lower, upper)
