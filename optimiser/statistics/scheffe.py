"""Blending models without an intercept: their terms, their fit to readings, and what a fit foretells.

A blend is what its parts are of their own sum, so shares may be per cent, grams or fractions. The models are
those of H. Scheffé, Experiments with mixtures, J. R. Stat. Soc. B 20 (1958) 344-360: straight (`linear`),
with pairs (`quadratic`) and with triples (`special-cubic`). Process variables (a temperature, a speed)
multiply blend terms.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from fractions import Fraction

    import numpy as np
    from numpy.typing import NDArray

    Number = float | Fraction
    Array = NDArray[np.float64]

Kind = Literal["linear", "quadratic", "special-cubic"]
Crossed = Literal["alike", "linear", "quadratic", "special-cubic"]
KINDS: tuple[Kind, ...] = ("linear", "quadratic", "special-cubic")
DEGREE: dict[Kind, int] = {"linear": 1, "quadratic": 2, "special-cubic": 3}
Term = tuple[str, ...]
"""Names that are multiplied: ("kaolin",), ("kaolin", "glycerin"), ("kaolin", "stirring time")."""
RANK = 1e-7
"""Singular values below this part of the largest, columns at length one, count as none."""
ALIKE = 1e-9
"""Two trials whose numbers differ by less are the same trial made twice."""


@dataclass(frozen=True, slots=True)
class Model:
    """Which terms a fit has: `blend` names at least two parts, `process` any number of variables.

    `crossed` says which blend terms a process variable multiplies (`alike`: none, it shifts all blends by
    the same), `together` how many of the process
    variables are multiplied with each other at most. `lows` are shares of the blend's sum, one a part, that
    are taken off before terms are multiplied (0 where empty); what is left is scaled to a sum of one. That
    keeps a narrow region well-conditioned; straight and quadratic models foretell the same with any lows.
    """

    blend: tuple[str, ...]
    kind: Kind = "quadratic"
    process: tuple[str, ...] = ()
    crossed: Crossed = "linear"
    together: int = 1
    lows: tuple[float, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """The columns of a point, in order: parts of the blend, then process variables."""
        return (*self.blend, *self.process)

    @property
    def terms(self) -> tuple[Term, ...]:
        """All terms, in the order of the coefficients."""
        plain = blend_terms(self.blend, self.kind)
        some = ((),) if self.crossed == "alike" else blend_terms(self.blend, self.crossed)
        runs = range(1, min(self.together, len(self.process)) + 1)
        products = [p for size in runs for p in itertools.combinations(self.process, size)]
        return (*plain, *((*term, *product) for product in products for term in some))


def blend_terms(blend: Sequence[str], kind: Kind) -> tuple[Term, ...]:
    """Terms of the parts alone: singles, then pairs, then triples."""
    sizes = range(1, min(DEGREE[kind], len(blend)) + 1)
    return tuple(term for size in sizes for term in itertools.combinations(blend, size))


@dataclass(frozen=True, slots=True)
class Lack:
    """Lack of fit against pure error: sums of squares with their degrees of freedom, F and its chance.

    `chance` is how often readings would scatter at least so far around a model that is right.
    """

    misfit_ss: float
    misfit_freedom: int
    pure_ss: float
    pure_freedom: int
    ratio: float
    chance: float


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why there is no fit. `together` lists the groups of terms that the trials cannot tell apart."""

    reason: Literal["too few trials", "terms not told apart", "shares without a sum"]
    together: tuple[tuple[Term, ...], ...] = ()
    trials: int = 0
    different: int = 0
    wanted: int = 0


@dataclass(frozen=True, slots=True)
class Fit:
    """A model with its coefficients, in the unit of the reading.

    `terms` has the model's terms, then ("block", name) for all blocks but the first; each block stands off
    from the mean of all blocks. `covariance` is empty and `residual` None where no degree of freedom is left
    over. `r_squared` counts from the (weighted) mean, never from nought; None where all readings are equal.
    `left_out` holds, trial by trial, the reading less what a fit to all other trials foretells for it; None
    where a trial alone carries a term. `fitted` and `readings` go with `points`, as given.
    """

    model: Model
    terms: tuple[Term, ...]
    coefficients: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    freedom: int
    residual_ss: float
    total_ss: float
    residual: float | None
    r_squared: float | None
    lack: Lack | None
    left_out: tuple[float | None, ...]
    points: tuple[tuple[float, ...], ...]
    readings: tuple[float, ...]
    fitted: tuple[float, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The columns of a point."""
        return self.model.names

    @property
    def errors(self) -> tuple[float | None, ...]:
        """Standard error of each coefficient; None where no degree of freedom is left over."""
        if not self.covariance:
            return (None,) * len(self.terms)
        return tuple(math.sqrt(self.covariance[i][i]) for i in range(len(self.terms)))

    @property
    def press(self) -> float | None:
        """Sum of squares of the left-out errors; None unless every trial can be left out."""
        return sum_of_squares(self.left_out)

    @property
    def left_out_error(self) -> float | None:
        """Root mean square of the left-out errors, in the unit of the reading."""
        return None if self.press is None else math.sqrt(self.press / len(self.left_out))


def sum_of_squares(values: Sequence[float | None]) -> float | None:
    """Σ v²; None where one is missing."""
    known = [value for value in values if value is not None]
    return None if len(known) < len(values) else math.fsum(value * value for value in known)


@dataclass(frozen=True, slots=True)
class Foretold:
    """What a fit foretells at one point, in the unit of the reading.

    `low` to `high` holds the mean of many trials there, `jar_low` to `jar_high` one new trial; all None where
    no degree of freedom is left over.
    """

    value: float
    error: float | None = None
    low: float | None = None
    high: float | None = None
    jar_low: float | None = None
    jar_high: float | None = None


def lows_of(points: Sequence[Sequence[Number]], parts: int) -> tuple[float, ...]:
    """The least share of each of the first `parts` columns, of their sum: lows for a `Model`.

    All zero where nothing would be left over, as when every trial is the same blend.
    """
    shares = [_shares(point, parts) for point in points]
    lows = tuple(min(row[i] for row in shares) for i in range(parts))
    return lows if math.fsum(lows) < 1 - 1e-9 else (0.0,) * parts


def _shares(point: Sequence[Number], parts: int) -> list[float]:
    total = math.fsum(float(value) for value in point[:parts])
    return [float(value) / total for value in point[:parts]]


def terms_at(model: Model, point: Sequence[Number]) -> list[float]:
    """The value of every term of the model at a point: shares (any unit), then process variables."""
    shares = _shares(point, len(model.blend))
    if model.lows:
        room = 1 - math.fsum(model.lows)
        shares = [(share - low) / room for share, low in zip(shares, model.lows, strict=True)]
    columns = [*shares, *(float(value) for value in point[len(model.blend) :])]
    at = dict(zip(model.names, columns, strict=True))
    return [math.prod(at[name] for name in term) for term in model.terms]


def matrix(model: Model, points: Sequence[Sequence[Number]]) -> Array:
    """One row a point, one column a term."""
    import numpy as np

    return np.array([terms_at(model, point) for point in points], dtype=float).reshape(
        len(points), len(model.terms)
    )


def fit(
    model: Model,
    points: Sequence[Sequence[Number]],
    readings: Sequence[Number],
    weights: Sequence[Number] | None = None,
    blocks: Sequence[str] | None = None,
) -> Fit | Refusal:
    """Least squares, weighted where `weights` (1 / variance, up to a common factor) are given.

    `points` has one row a trial with the columns of `model.names`. `blocks` names the day or lot of each
    trial. Refused where the trials cannot tell the terms apart; never fitted by a pseudo-inverse then.
    """
    if any(math.fsum(float(v) for v in point[: len(model.blend)]) <= 0 for point in points):
        return Refusal("shares without a sum", trials=len(points))
    x, terms = with_blocks(matrix(model, points), model.terms, blocks)
    different = len(set(_same(model, points)))
    groups = apart(x, terms)
    if groups:
        few = different < len(model.terms)
        reason: Literal["too few trials", "terms not told apart"] = (
            "too few trials" if few else "terms not told apart"
        )
        return Refusal(reason, groups, len(points), different, len(terms))
    return _fitted(model, terms, x, points, readings, weights, blocks)


def with_blocks(
    x: Array, terms: tuple[Term, ...], blocks: Sequence[str] | None
) -> tuple[Array, tuple[Term, ...]]:
    """Columns and terms with one more for each block but the first, each counted from the mean of all."""
    import numpy as np

    names = sorted(set(blocks or ()))
    if blocks is None or len(names) < 2:
        return x, terms
    extra = np.array([[float(own == name) - float(own == names[0]) for name in names[1:]] for own in blocks])
    return np.hstack([x, extra]), (*terms, *(("block", name) for name in names[1:]))


def _same(
    model: Model, points: Sequence[Sequence[Number]], blocks: Sequence[str] | None = None
) -> list[tuple[int | str, ...]]:
    """A key a trial: equal for trials that were made alike, in the same block."""
    parts = len(model.blend)
    rows = [[*_shares(point, parts), *(float(v) for v in point[parts:])] for point in points]
    keys: list[tuple[int | str, ...]] = [tuple(round(v / ALIKE) for v in row) for row in rows]
    return keys if blocks is None else [(*key, own) for key, own in zip(keys, blocks, strict=True)]


def apart(x: Array, terms: Sequence[Term]) -> tuple[tuple[Term, ...], ...]:
    """Groups of terms that the rows of `x` cannot tell apart; empty where all columns are independent.

    A group is what one dependence among the columns ties together, found from the reduced echelon form of
    the null space; groups that share a term are one.
    """
    import numpy as np

    lengths = np.linalg.norm(x, axis=0)
    scaled = x / np.where(lengths > 0, lengths, 1)
    _, values, rows = np.linalg.svd(scaled, full_matrices=True)
    rank = int(np.sum(values > RANK * max(values.max(initial=0), 1e-300)))
    if rank == x.shape[1]:
        return ()
    groups: list[set[int]] = []
    for tie in _echelon(rows[rank:]):
        found = {int(i) for i in np.flatnonzero(np.abs(tie) > 1e-6 * np.abs(tie).max())}
        meeting = [group for group in groups if group & found]
        groups = [group for group in groups if not group & found] + [found.union(*meeting)]
    return tuple(tuple(terms[i] for i in sorted(group)) for group in sorted(groups, key=min))


def _echelon(rows: Array) -> Array:
    """The reduced row echelon form, pivots by size: sparse ties where there are some."""
    import numpy as np

    out, top = rows.copy(), 0
    for column in range(out.shape[1]):
        if top == len(out):
            break
        best = top + int(np.argmax(np.abs(out[top:, column])))
        if abs(out[best, column]) < 1e-6:
            continue
        out[[top, best]] = out[[best, top]]
        out[top] /= out[top, column]
        for other in range(len(out)):
            if other != top:
                out[other] -= out[other, column] * out[top]
        top += 1
    return out


def _fitted(
    model: Model,
    terms: tuple[Term, ...],
    x: Array,
    points: Sequence[Sequence[Number]],
    readings: Sequence[Number],
    weights: Sequence[Number] | None,
    blocks: Sequence[str] | None,
) -> Fit:
    import numpy as np
    from statsmodels.regression.linear_model import OLS, WLS

    y = np.array([float(value) for value in readings])
    w = np.ones(len(y)) if weights is None else np.array([float(value) for value in weights])
    freedom = len(y) - x.shape[1]
    with np.errstate(all="ignore"):
        done: Any = (OLS(y, x) if weights is None else WLS(y, x, weights=w)).fit()
    misses = y - x @ done.params
    rss = float(np.sum(w * misses**2))
    total = float(np.sum(w * (y - np.average(y, weights=w)) ** 2))
    spread = done.normalized_cov_params
    hats = w * np.einsum("ij,jk,ik->i", x, spread, x)
    left = [float(m / (1 - h)) if 1 - h > 1e-9 else None for m, h in zip(misses, hats, strict=True)]
    return Fit(
        model=model,
        terms=terms,
        coefficients=tuple(float(v) for v in done.params),
        covariance=_table(spread * (rss / freedom)) if freedom else (),
        freedom=freedom,
        residual_ss=rss,
        total_ss=total,
        residual=math.sqrt(rss / freedom) if freedom else None,
        r_squared=1 - rss / total if total > 0 else None,
        lack=_lack(_same(model, points, blocks), y, w, rss, freedom),
        left_out=tuple(left),
        points=tuple(tuple(float(v) for v in point) for point in points),
        readings=tuple(float(v) for v in y),
        fitted=tuple(float(v) for v in x @ done.params),
    )


def _table(square: Array) -> tuple[tuple[float, ...], ...]:
    return tuple(tuple(float(value) for value in row) for row in square)


def _lack(keys: Sequence[tuple[int | str, ...]], y: Array, w: Array, rss: float, freedom: int) -> Lack | None:
    """None without trials made twice, or where the model has as many terms as there are different trials."""
    import numpy as np
    from scipy.stats import f

    pure, pure_freedom = 0.0, 0
    for key in dict.fromkeys(keys):
        own = np.array([i for i, other in enumerate(keys) if other == key])
        pure += float(np.sum(w[own] * (y[own] - np.average(y[own], weights=w[own])) ** 2))
        pure_freedom += len(own) - 1
    misfit_freedom = freedom - pure_freedom
    if pure_freedom < 1 or misfit_freedom < 1 or pure <= 0:
        return None
    misfit = max(rss - pure, 0.0)
    ratio = (misfit / misfit_freedom) / (pure / pure_freedom)
    return Lack(
        misfit, misfit_freedom, pure, pure_freedom, ratio, float(f.sf(ratio, misfit_freedom, pure_freedom))
    )


def predict(fitted: Fit, point: Sequence[Number], level: float = 0.95) -> Foretold:
    """What the fit foretells at a point (columns of `fitted.names`), at the mean of all blocks.

    `level` is the share of such bands that hold the truth. A fit says nothing outside the region of its
    trials; the caller has to look at that.
    """
    import numpy as np
    from scipy.stats import t

    row = np.array(terms_at(fitted.model, point) + [0.0] * (len(fitted.terms) - len(fitted.model.terms)))
    value = float(row @ np.array(fitted.coefficients))
    if not fitted.covariance or fitted.residual is None:
        return Foretold(value)
    error = math.sqrt(max(float(row @ np.array(fitted.covariance) @ row), 0.0))
    jar = math.hypot(error, fitted.residual)
    times = float(t.ppf((1 + level) / 2, fitted.freedom))
    return Foretold(
        value, error, value - times * error, value + times * error, value - times * jar, value + times * jar
    )
