"""The trial-batch sheet as a value: what every printed form of it is made from.

Texts are cleaned of invisible characters. Shares are in % w/w, weights in grams.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from optimiser.export.provenance import Provenance
from optimiser.units.numbers import DecimalMark

How = Literal["out", "in", "moved"]
StepKind = Literal["formula", "new", "dose", "hold back", "undecided"]
DROP_G = Fraction(1, 20)
"""A drop of watery liquid (common practice)."""


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line to weigh. `places` are the decimals its balance reads.

    `dosed` names the reading of a line that is added to it: then `grams` is a ceiling. `notes` speak of the
    weighing, `cautions` of people and jar. `lots` are those to be used, the first to expire first.
    """

    number: int
    ingredient: str
    name: str
    inci: str
    old: Fraction
    new: Fraction
    grams: Fraction
    places: int
    low: Fraction
    high: Fraction
    came: bool = False
    dosed: str = ""
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    lots: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SheetStep:
    """One step. `check` says what to look at first; a step that is not `ready` is to be decided first."""

    number: int
    text: str
    kind: StepKind = "formula"
    check: str = ""
    ready: bool = True


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """pH after so many grams in this batch: by the middle of the data, and at its ends."""

    grams: Fraction
    low: Fraction
    middle: Fraction
    high: Fraction

    @property
    def drops(self) -> int:
        return round(self.grams / DROP_G)


@dataclass(frozen=True, slots=True)
class SheetCurve:
    """Predicted pH against one adjuster. `rows` are grams that its balance reads, `points` the drawn line.

    `window` is the pH that is asked for, `target` the reading the line is dosed to.
    """

    ingredient: str
    name: str
    places: int
    target: Fraction
    window: tuple[Fraction, Fraction] | None
    rows: tuple[CurvePoint, ...]
    points: tuple[CurvePoint, ...]


@dataclass(frozen=True, slots=True)
class ExpectedRow:
    """A state of the pot: pH (low, middle, high) as made and as read at 1 part in 10; the model's error."""

    when: str
    made: tuple[Fraction, Fraction, Fraction]
    read: tuple[Fraction, Fraction, Fraction]
    error: Fraction


@dataclass(frozen=True, slots=True)
class Expected:
    """What the pH should be, in words and numbers; no `rows` where it cannot be told.

    `used` names the lines whose grams are written down, `tells` what two readings then say.
    """

    rows: tuple[ExpectedRow, ...]
    texts: tuple[str, ...]
    used: tuple[str, ...]
    tells: str


@dataclass(frozen=True, slots=True)
class SheetPhase:
    """`old` is the phase's share of the base, lines that are gone included."""

    name: str
    title: str
    lines: tuple[SheetLine, ...]
    steps: tuple[SheetStep, ...]
    old: Fraction
    curves: tuple[SheetCurve, ...] = ()

    @property
    def new(self) -> Fraction:
        return sum((line.new for line in self.lines), Fraction(0))

    @property
    def grams(self) -> Fraction:
        return sum((line.grams for line in self.lines), Fraction(0))


@dataclass(frozen=True, slots=True)
class Check:
    """Something to read or look at: `target` is what is wanted, `unit` that of the reading."""

    when: str
    what: str
    target: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class ForetoldRow:
    """What is foretold of the formula: `between` which values by the spread of the data, and what the sum
    itself `errs` by; both may be empty.
    """

    what: str
    value: str
    between: str = ""
    errs: str = ""

    @property
    def off(self) -> str:
        """How the sum errs: `by about 15 %`, `where clay swells`; empty where it does not."""
        by = "" if self.errs.startswith("where") or not self.errs else "by "
        return f"{by}{self.errs}"

    @property
    def told(self) -> str:
        """`48.5 % (44.6 to 51.07), errs by about 15 %`."""
        between = f" ({self.between})" if self.between else ""
        return f"{self.value}{between}{f', errs {self.off}' if self.errs else ''}"


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """An ingredient that went out, came in or moved, with the reasons in words."""

    name: str
    how: How
    old: Fraction
    new: Fraction
    because: tuple[str, ...] = ()
    work: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Note:
    what: str
    text: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """All of the sheet. `percent_places` are the decimals of shares, `places` those of the weights' sum.

    `roles` are shares of the whole by what lines do, the largest first; `stocks` how pre-dilutions are made;
    `filling` how many jars it should fill.
    """

    title: str
    formula: str
    heading: str
    asked: str
    status: str
    batch_g: Fraction
    batch_note: str
    places: int
    percent_places: int
    decimal: DecimalMark
    blanks: tuple[str, ...]
    before: tuple[str, ...]
    phases: tuple[SheetPhase, ...]
    checks: tuple[Check, ...]
    cautions: tuple[str, ...]
    changes: tuple[ChangeRow, ...]
    on_paper: tuple[str, ...]
    unmet: tuple[Note, ...]
    sets_off: tuple[Note, ...]
    by_hand: tuple[Note, ...]
    rests_on: tuple[Note, ...]
    foot: tuple[str, ...]
    provenance: Provenance
    expected: Expected | None = None
    roles: tuple[tuple[str, Fraction], ...] = ()
    stocks: tuple[str, ...] = ()
    filling: str = ""
    foretold: tuple[ForetoldRow, ...] = ()

    @property
    def lines(self) -> tuple[SheetLine, ...]:
        return tuple(line for phase in self.phases for line in phase.lines)

    @property
    def new(self) -> Fraction:
        return sum((line.new for line in self.lines), Fraction(0))

    @property
    def rounded(self) -> bool:
        """Whether a changed ingredient is weighed a little off the share that was proposed."""
        weighed: dict[str, Fraction] = {}
        for line in self.lines:
            weighed[line.name] = weighed.get(line.name, Fraction(0)) + line.new
        return any(row.new != weighed.get(row.name, 0) for row in self.changes)
