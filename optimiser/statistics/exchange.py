"""Which of many possible trials to make: designs by exchange, D-optimal or I-optimal.

Runs are exchanged one at a time for the candidate that helps most, until no exchange of a single run helps
(V. V. Fedorov, Theory of Optimal Experiments, Academic Press 1972), from several starts by seed. So what
comes back cannot be bettered by exchanging one run; it is not proved to be the best of all.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from optimiser.statistics import scheffe
from optimiser.statistics.scheffe import Model, Refusal

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from optimiser.statistics.scheffe import Number

    Array = NDArray[np.float64]

Criterion = Literal["D", "I"]
BETTER = 1e-9
SINGULAR = 1e-12
"""Least eigenvalue, columns at length one, below which terms are not told apart."""
STARTS = 8


@dataclass(frozen=True, slots=True)
class Wanted:
    """How many runs, over how many blocks (days, lots), how many of them made again of others.

    `D` makes the coefficients' joint uncertainty least, `I` the mean variance of a prediction over `over`.
    """

    runs: int
    criterion: Criterion = "D"
    blocks: int = 1
    repeats: int = 0
    seed: int = 1
    starts: int = STARTS


@dataclass(frozen=True, slots=True)
class Told:
    """What runs tell: ln det(XᵀX) over `terms` terms and the mean variance of a prediction, in units of one
    reading's variance; None where the terms cannot be told apart."""

    log_det: float
    mean_variance: float
    terms: int


@dataclass(frozen=True, slots=True)
class Run:
    """One run in the order to make it: the place of its candidate, its block from 1, whether it repeats."""

    candidate: int
    block: int
    repeats: bool


@dataclass(frozen=True, slots=True)
class Design:
    runs: tuple[Run, ...]
    before: Told | None
    after: Told


def design(
    model: Model,
    candidates: Sequence[Sequence[Number]],
    wanted: Wanted,
    made: Sequence[Sequence[Number]] = (),
    over: Sequence[Sequence[Number]] = (),
    days: Sequence[str] | None = None,
) -> Design | Refusal:
    """Runs chosen among the candidates, beside those `made` already; the same for the same seed.

    `over` is where predictions are wanted (all candidates where empty). With several blocks each stands off
    from the others by a constant of its own that is told apart too. `days` names the block of each trial
    made; without it they are one block more where there are several, else of the same as the new ones.
    Refused where the candidates cannot tell the terms apart or the runs are too few.
    """
    x, done = scheffe.matrix(model, candidates), scheffe.matrix(model, made)
    groups = scheffe.apart(_stack(x, done), model.terms)
    if groups:
        return Refusal("terms not told apart", groups, len(candidates), len(candidates), len(model.terms))
    task = _Task(x, done, wanted, scheffe.matrix(model, over) if over else x, days)
    if wanted.runs <= wanted.repeats or wanted.runs - wanted.repeats + len(made) < task.columns:
        return Refusal(
            "too few trials", (), wanted.runs + len(made), len(made), task.columns + wanted.repeats
        )
    chosen = task.chosen()
    after = None if chosen is None else task.told(chosen)
    if chosen is None or after is None:
        return Refusal("terms not told apart", (model.terms,), wanted.runs, len(made), task.columns)
    return Design(_ordered(chosen, wanted), _plain(done, task.over, days), after)


def tells(
    model: Model,
    points: Sequence[Sequence[Number]],
    over: Sequence[Sequence[Number]],
    days: Sequence[str] | None = None,
) -> Told | None:
    """What trials at these points tell of the model; with `days` each of these stands off from the rest."""
    return _plain(scheffe.matrix(model, points), scheffe.matrix(model, over), days)


def _stack(*tables: Array) -> Array:
    import numpy as np

    return np.vstack(tables)


def _plain(x: Array, over: Array, days: Sequence[str] | None = None) -> Told | None:
    import numpy as np

    x, _ = scheffe.with_blocks(x, (), days)
    over = np.hstack([over, np.zeros((len(over), x.shape[1] - over.shape[1]))])
    if len(x) < x.shape[1] or scheffe.apart(x, [()] * x.shape[1]):
        return None
    square = x.T @ x
    spread = np.linalg.inv(square)
    mean = float(np.einsum("ij,jk,ik->i", over, spread, over).mean())
    return Told(float(np.linalg.slogdet(square)[1]), mean, x.shape[1])


class _Task:
    """Candidates with the columns of each block, what was made, and what is wanted.

    A run is a pair (candidate, block); a choice lists the runs block by block.
    """

    def __init__(
        self, x: Array, done: Array, wanted: Wanted, over: Array, days: Sequence[str] | None
    ) -> None:
        import numpy as np

        self.wanted, self.over = wanted, over
        several = wanted.blocks > 1 or bool(days)
        made = sorted(set(days)) if days else ["made"] * bool(len(done))
        kinds = wanted.blocks + len(made) if several else 1
        self.columns = x.shape[1] + kinds - 1
        signs = np.vstack([np.eye(kinds - 1), -np.ones((1, kinds - 1))])
        self.rows = [_with(x, signs[block if several else 0]) for block in range(wanted.blocks)]
        own = [wanted.blocks + made.index(day) if several else 0 for day in days or ["made"] * len(done)]
        self.done = np.hstack([done, signs[own].reshape(len(done), kinds - 1)])
        self.base: Array = self.done.T @ self.done
        padded = np.hstack([over, np.zeros((len(over), kinds - 1))])
        self.moments = padded.T @ padded / len(padded)

    def chosen(self) -> list[tuple[int, int]] | None:
        """The best choice of all starts, repeats added; None where every start stays undecided."""
        best: list[tuple[int, int]] | None = None
        value = -math.inf
        for start in range(self.wanted.starts):
            choice = self._improved(self._start(random.Random(f"{self.wanted.seed}:{start}")))  # noqa: S311
            own = self._value(self._square(choice))
            if own > value + BETTER:
                best, value = choice, own
        return None if best is None else self._repeated(best)

    def _start(self, chance: random.Random) -> list[tuple[int, int]]:
        """Half at random, the rest each where the choice so far tells least."""
        import numpy as np

        count, size = self.wanted.runs - self.wanted.repeats, len(self.rows[0])
        choice: list[tuple[int, int]] = []
        for place in range(count):
            block = place % self.wanted.blocks
            if place < count // 2:
                choice.append((chance.randrange(size), block))
                continue
            spread = np.linalg.inv(self._square(choice) + 1e-6 * np.eye(self.columns))
            rows = self.rows[block]
            choice.append((int(np.argmax(np.einsum("ij,jk,ik->i", rows, spread, rows))), block))
        return choice

    def _improved(self, choice: list[tuple[int, int]]) -> list[tuple[int, int]]:
        import numpy as np

        square = self._square(choice)
        value = self._value(square)
        better = True
        while better:
            better = False
            for place, (candidate, block) in enumerate(choice):
                rows = self.rows[block]
                without = square - np.outer(rows[candidate], rows[candidate])
                values = self._values(without[None] + rows[:, :, None] * rows[:, None, :])
                best = int(np.argmax(values))
                if values[best] > value + BETTER:
                    choice = [*choice[:place], (best, block), *choice[place + 1 :]]
                    square = self._square(choice)
                    value, better = float(values[best]), True
        return choice

    def _repeated(self, choice: list[tuple[int, int]]) -> list[tuple[int, int]]:
        """Each repeat where it helps most, in the block with the fewest runs."""
        import numpy as np

        for _ in range(self.wanted.repeats):
            block = min(range(self.wanted.blocks), key=lambda b: sum(own == b for _, own in choice))
            known = sorted({candidate for candidate, _ in choice if choice.count((candidate, block)) < 2})
            known = known or sorted({candidate for candidate, _ in choice})
            rows = self.rows[block][known]
            values = self._values(self._square(choice)[None] + rows[:, :, None] * rows[:, None, :])
            choice = [*choice, (known[int(np.argmax(values))], block)]
        return choice

    def _square(self, choice: Sequence[tuple[int, int]]) -> Array:
        import numpy as np

        if not choice:
            return self.base
        x = np.array([self.rows[block][candidate] for candidate, block in choice])
        both: Array = self.base + x.T @ x
        return both

    def _values(self, squares: Array) -> Array:
        """What is made great: ln det, or less the mean variance; minus infinity where it is singular."""
        import numpy as np

        lengths = np.sqrt(np.maximum(np.einsum("ijj->ij", squares), 1e-300))
        own = np.linalg.eigvalsh(squares / (lengths[:, :, None] * lengths[:, None, :]))
        good = own[:, 0] > SINGULAR
        out = np.full(len(squares), -np.inf)
        if self.wanted.criterion == "D":
            out[good] = np.log(own[good]).sum(axis=1) + 2 * np.log(lengths[good]).sum(axis=1)
        elif good.any():
            out[good] = -np.einsum("ijk,kj->i", np.linalg.inv(squares[good]), self.moments)
        return np.asarray(out, dtype=float)

    def _value(self, square: Array) -> float:
        return float(self._values(square[None])[0])

    def told(self, choice: Sequence[tuple[int, int]]) -> Told | None:
        import numpy as np

        square = self._square(choice)
        if not math.isfinite(self._value(square)):
            return None
        mean = float(np.trace(np.linalg.inv(square) @ self.moments))
        return Told(float(np.linalg.slogdet(square)[1]), mean, self.columns)


def _with(x: Array, signs: Array) -> Array:
    import numpy as np

    return np.hstack([x, np.tile(signs, (len(x), 1))])


def _ordered(choice: Sequence[tuple[int, int]], wanted: Wanted) -> tuple[Run, ...]:
    """Block by block, within each in an order drawn by the seed."""
    chance = random.Random(f"{wanted.seed}:order")  # noqa: S311
    out: list[Run] = []
    seen: set[int] = set()
    for block in range(wanted.blocks):
        own = sorted(candidate for candidate, at in choice if at == block)
        chance.shuffle(own)
        for candidate in own:
            out.append(Run(candidate, block + 1, candidate in seen))
            seen.add(candidate)
    return tuple(out)
