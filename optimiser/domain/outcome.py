"""What a request comes to: proposals, a proof that none exists, or an honest 'undecided'."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.firm import Firm
from optimiser.domain.formula import Dosed
from optimiser.domain.request import Remark, Request
from optimiser.domain.rules import Rule


@dataclass(frozen=True, slots=True)
class Verdict:
    """The judge on one rule: what the formula has (`value`, in `unit`), and whether the rule holds.

    `margin` is the distance to the nearest limit (negative: by how much it is broken), None where the rule
    has no number. `note` says what was not known.
    """

    rule: Rule
    met: bool
    value: Fraction | None = None
    low: Fraction | None = None
    high: Fraction | None = None
    unit: str = ""
    margin: Fraction | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class ProposedLine:
    """One line of a proposal; `base` is what the base has there (0: new). Shares in % w/w on the grid."""

    ingredient: str
    phase: str
    percent: Fraction
    base: Fraction
    fills: bool = False
    dosed: Dosed | None = None

    @property
    def moved(self) -> Fraction:
        return self.percent - self.base


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of the aim: what was reached on the grid, and what was proved to be the best possible.

    `bound` is the solver's word. Where it was proved in exact fractions too, `proved` is the value that no
    formula undercuts, and `cases` says of how many sums the proof is made.
    """

    name: str
    value: Fraction
    bound: Fraction
    optimal: bool
    unit: str = ""
    proved: Fraction | None = None
    cases: int = 0


@dataclass(frozen=True, slots=True)
class Change:
    """An ingredient that went, came or moved: ids of the rules that hold it there, and why in sentences."""

    ingredient: str
    before: Fraction
    after: Fraction
    because: tuple[str, ...] = ()
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RoleAnswer:
    """A role a removed ingredient had, and the lines that do that work now (id, share in %)."""

    removed: str
    role: str
    now: tuple[tuple[str, Fraction], ...]


@dataclass(frozen=True, slots=True)
class Measure:
    """A number of the formula, base beside proposal; None where it is not known."""

    name: str
    base: Fraction | None
    value: Fraction | None
    unit: str
    low: Fraction | None = None
    high: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Allergen:
    """A listed allergen as the label names it: the most the formula may hold, and the threshold, in % w/w."""

    substance: str
    percent: Fraction
    threshold: Fraction
    source: str = ""

    @property
    def on_label(self) -> bool:
        return self.percent > self.threshold


@dataclass(frozen=True, slots=True)
class Apart:
    """Difference of two formulas: `ingredients` only one of them has, of `among` in both together.

    `points` are half of all that moved, in % w/w.
    """

    ingredients: int
    among: int
    points: Fraction


@dataclass(frozen=True, slots=True)
class Proposal:
    """A formula that passed the judge. `lines` in phase order; gone lines are in `changes` only.

    `allergens` are all that it holds, named on the label or not; `not_counted` names the lines whose make-up
    is not known. `on_paper` says what was predicted, and what could not be. `apart`: of an
    alternative, its difference from each proposal before it.
    """

    heading: str
    lines: tuple[ProposedLine, ...]
    stages: tuple[Stage, ...]
    verdicts: tuple[Verdict, ...]
    measures: tuple[Measure, ...]
    changes: tuple[Change, ...]
    roles: tuple[RoleAnswer, ...]
    unmet_wishes: tuple[Verdict, ...]
    departure_parts: tuple[tuple[str, Fraction], ...]
    cost_per_kg: Fraction | None
    sets_off: tuple[Remark, ...]
    warnings: tuple[Remark, ...]
    rests_on: tuple[Remark, ...] = ()
    allergens: tuple[Allergen, ...] = ()
    not_counted: tuple[str, ...] = ()
    on_paper: tuple[Remark, ...] = ()
    apart: tuple[Apart, ...] = ()

    @property
    def optimal(self) -> bool:
        return all(stage.optimal for stage in self.stages)


@dataclass(frozen=True, slots=True)
class Witness:
    """Proof that a member is needed: without `rule` this formula (ingredient, %) meets all the others."""

    rule: str
    lines: tuple[tuple[str, Fraction], ...]


@dataclass(frozen=True, slots=True)
class Conflict:
    """Rules that cannot hold together. `minimal`: each member was proved needed, with its witness.

    `best` says per rule what it asks and how far one can get with the other rules as they are, `told` what
    stands behind the conflict as a whole. `certified` tells that the contradiction
    was summed up in exact fractions; `proof` is that sum in words.
    """

    rules: tuple[Rule, ...]
    minimal: bool
    witnesses: tuple[Witness, ...]
    certified: bool
    proof: tuple[str, ...] = ()
    best: tuple[Remark, ...] = ()
    told: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Concession:
    """Giving way on one rule: the limit asked, the limit that would do, and the formula it gives.

    `steps` counts how much is given: 1 % of the limit asked is one, another ingredient ten, a whole rule
    a hundred, allowing one thing again fifty. `lines` (ingredient, %) is a formula that the judge passed
    under it; for the smallest it is told in full as `proposal`. `new` is the rule as it would be (None: given
    up), `back` the ingredients that are allowed again or bought; where several rules have to move at once
    they are `together`. `outside`: nothing that was asked gives way; something is bought or done that was
    not thought of, such as leaving out `leave`.
    """

    rule: Rule
    asked: str
    enough: str
    sentence: str
    steps: Fraction
    proposal: Proposal | None
    outside: bool = False
    lines: tuple[tuple[str, Fraction], ...] = ()
    cost_per_kg: Fraction | None = None
    new: Rule | None = None
    back: tuple[str, ...] = ()
    together: tuple[Rule, ...] = ()
    leave: str = ""


@dataclass(frozen=True, slots=True)
class Missed:
    """A rule, and how many of the batches missed it."""

    rule: Rule
    count: int


@dataclass(frozen=True, slots=True)
class Batches:
    """Of `tried` batches `met` kept every must; `low` to `high` is the 95 % interval of that part.

    `missed`: the rules that some batch missed, most often first. `numbers`: how many numbers of the data were
    drawn in each batch.
    """

    tried: int
    met: int
    low: Fraction
    high: Fraction
    missed: tuple[Missed, ...]
    numbers: int


@dataclass(frozen=True, slots=True)
class FirmPrice:
    """The best formula at one degree of firmness (None: at middle values): cost per kg, points of departure.

    `possible` is False where no formula was found.
    """

    firm: Firm | None
    possible: bool
    cost_per_kg: Fraction | None = None
    departure: Fraction | None = None
    unmet_wishes: int = 0


@dataclass(frozen=True, slots=True)
class Firmness:
    """What was asked to be firm, the rules held so, what it does not reach, and its price by degree."""

    asked: Firm
    held: tuple[Rule, ...]
    notes: tuple[Remark, ...]
    prices: tuple[FirmPrice, ...]


@dataclass(frozen=True, slots=True)
class Proposals:
    request: Request
    base: tuple[Verdict, ...]
    proposals: tuple[Proposal, ...]
    firmness: Firmness | None = None
    batches: tuple[Batches, ...] = ()


@dataclass(frozen=True, slots=True)
class Impossible:
    """Proved: no formula meets every must. `agreed` names the solvers that found the same.

    `nearly`: less than one printed step is missing. `unknown` is what nobody has told of the ingredients that
    the conflict speaks of.
    """

    request: Request
    base: tuple[Verdict, ...]
    conflicts: tuple[Conflict, ...]
    concessions: tuple[Concession, ...]
    agreed: tuple[str, ...]
    nearly: bool = False
    firmness: Firmness | None = None
    unknown: tuple[Remark, ...] = ()


@dataclass(frozen=True, slots=True)
class Undecided:
    """Neither a proposal nor a proof. `rests_on` names assumed numbers that an 'impossible' would rest on.

    `concessions` are ways out where only whole steps stand in the way; `unknown` is what nobody has told of
    the ingredients that the rules speak of.
    """

    request: Request
    base: tuple[Verdict, ...]
    why: str
    rests_on: tuple[Remark, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    firmness: Firmness | None = None
    concessions: tuple[Concession, ...] = ()
    unknown: tuple[Remark, ...] = ()


Outcome = Proposals | Impossible | Undecided
