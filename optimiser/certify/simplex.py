"""The simplex method in exact fractions, from a float basis or from nothing.

Rows become equations `Σ coef · x − activity = 0` between limited variables; column n + i is the activity of
row i.
"""

from __future__ import annotations

from fractions import Fraction

from optimiser.certify.linear import Factor, Vector
from optimiser.certify.proof import Farkas, Optimum, Term, Unbounded, crossed, tidy
from optimiser.model.basis import Basis, Standing
from optimiser.model.rows import Model, Side

NOUGHT = Fraction(0)
RENEW_AFTER = 24
Exact = Optimum | Farkas | Unbounded


def solve_exactly(model: Model, basis: Basis | None = None, pivots: int = 2000) -> Exact | None:
    """The exact answer to the continuous relaxation; None when `pivots` pivots did not settle it."""
    if proof := crossed(model):
        return proof
    return _Simplex(model, basis, pivots).run()


class _Simplex:
    """State of the method: which columns are basic, where the others stand, and every value."""

    def __init__(self, model: Model, basis: Basis | None, pivots: int) -> None:
        self.model = model
        self.left = pivots
        self.cautious = pivots // 2
        self.n, self.m = len(model.vars), len(model.rows)
        place = {var.name: j for j, var in enumerate(model.vars)}
        self.columns: list[Vector] = [{} for _ in model.vars] + [{i: Fraction(-1)} for i in range(self.m)]
        for i, row in enumerate(model.rows):
            for name, coef in row.coef:
                self.columns[place[name]][i] = coef
        self.low = [var.lower for var in model.vars] + [row.lower for row in model.rows]
        self.high = [var.upper for var in model.vars] + [row.upper for row in model.rows]
        sign = -1 if model.sense == "max" else 1
        cost = dict(model.cost)
        self.cost = [sign * cost.get(var.name, NOUGHT) for var in model.vars] + [NOUGHT] * self.m
        self.sign = sign
        self._start(basis)

    def _start(self, basis: Basis | None) -> None:
        given = Basis({}, {}) if basis is None else basis
        wished: list[Standing] = [given.columns.get(var.name, "lower") for var in self.model.vars]
        wished += [given.rows.get(row.name, "basic") for row in self.model.rows]
        self.head = [j for j, standing in enumerate(wished) if standing == "basic"][: self.m]
        spare = (j for j in range(self.n, self.n + self.m) if wished[j] != "basic")
        while len(self.head) < self.m:
            self.head.append(next(spare))
        self._factor()
        basic = set(self.head)
        self.standing: list[Standing] = [
            "basic" if j in basic else self._possible(j, standing) for j, standing in enumerate(wished)
        ]
        self._values()

    def _possible(self, j: int, wished: Standing) -> Standing:
        """A standing the limits allow, the wished one if they do."""
        if wished == "upper" and self.high[j] is not None:
            return "upper"
        if self.low[j] is not None:
            return "lower"
        return "upper" if self.high[j] is not None else "zero"

    def _factor(self) -> None:
        """Factor the basis; columns that depend on others give way to activities of the rows left over."""
        self.factor = Factor([self.columns[j] for j in self.head])
        if self.factor.missing:
            for row, place in self.factor.missing:
                self.head[place] = self.n + row
            self.factor = Factor([self.columns[j] for j in self.head])

    def _values(self) -> None:
        self.x = [self._rest(j) for j in range(self.n + self.m)]
        right: Vector = {}
        for j, standing in enumerate(self.standing):
            if standing != "basic" and self.x[j]:
                for i, coef in self.columns[j].items():
                    right[i] = right.get(i, NOUGHT) - coef * self.x[j]
        found = self.factor.solve(right)
        for place, j in enumerate(self.head):
            self.x[j] = found.get(place, NOUGHT)

    def _rest(self, j: int) -> Fraction:
        limit = {"lower": self.low[j], "upper": self.high[j]}.get(self.standing[j])
        return NOUGHT if limit is None else limit

    def run(self) -> Exact | None:
        while (broken := self._broken()) is not None:
            if self.left <= 0:
                return None
            proof = self._repair(*broken)
            if proof is not None:
                return proof
        while self.left > 0:
            y = self.factor.solve_transposed(
                {k: self.cost[j] for k, j in enumerate(self.head) if self.cost[j]}
            )
            entering = self._entering(y)
            if entering is None:
                return self._optimum(y)
            if (direction := self._step(*entering)) is not None:
                return direction
        return None

    def _broken(self) -> tuple[int, int] | None:
        """The basic column to mend and the way it must go (+1 up), by place; the worst, later the first."""
        best: tuple[Fraction, int, int, int] | None = None
        for place, j in enumerate(self.head):
            low, high, value = self.low[j], self.high[j], self.x[j]
            if low is not None and value < low:
                entry = (value - low, j, place, 1)
            elif high is not None and value > high:
                entry = (high - value, j, place, -1)
            else:
                continue
            if self.left < self.cautious:
                entry = (NOUGHT, *entry[1:])
            best = entry if best is None else min(best, entry)
        return None if best is None else best[2:]

    def _repair(self, place: int, way: int) -> Farkas | None:
        """Bring a broken basic column to its limit, or show that nothing can."""
        row = self._row(place)
        ready = [j for j, alpha in row.items() if self._can_move(j, -way if alpha > 0 else way)]
        if not ready:
            return self._refutation(place, way, row)
        entering = min(ready) if self.left < self.cautious else self._gentlest(row, ready)
        leaving = self.head[place]
        limit = self._limit(leaving, way)
        direction = self.factor.solve(self.columns[entering])
        self._move(entering, direction, (self.x[leaving] - limit) / direction[place])
        self._exchange(place, entering, direction, "lower" if way > 0 else "upper")
        return None

    def _limit(self, j: int, way: int) -> Fraction:
        """The lower limit on the way up, the upper one on the way down; it is there for a broken column."""
        return (self.low[j] if way > 0 else self.high[j]) or NOUGHT

    def _row(self, place: int) -> Vector:
        """Row `place` of the tableau, over the columns that are not basic."""
        rho = self.factor.solve_transposed({place: Fraction(1)})
        found = {}
        for j, standing in enumerate(self.standing):
            if standing != "basic":
                value = sum((coef * rho[i] for i, coef in self.columns[j].items() if i in rho), start=NOUGHT)
                if value:
                    found[j] = value
        return found

    def _can_move(self, j: int, way: int) -> bool:
        if self.low[j] is not None and self.low[j] == self.high[j]:
            return False
        standing = self.standing[j]
        return standing == "zero" or (standing == "lower") == (way > 0)

    def _gentlest(self, row: Vector, ready: list[int]) -> int:
        """The column that costs least per unit of repair, so that optimal prices stay optimal."""
        y = self.factor.solve_transposed({k: self.cost[j] for k, j in enumerate(self.head) if self.cost[j]})
        return min(ready, key=lambda j: (abs(self._price(j, y) / row[j]), -abs(row[j]), j))

    def _price(self, j: int, y: Vector) -> Fraction:
        return self.cost[j] - sum(
            (coef * y[i] for i, coef in self.columns[j].items() if i in y), start=NOUGHT
        )

    def _entering(self, y: Vector) -> tuple[int, int] | None:
        """A column that makes the cost better and the way it must go; the best price, later the first."""
        best: tuple[Fraction, int, int] | None = None
        for j, standing in enumerate(self.standing):
            if standing == "basic":
                continue
            price = self._price(j, y)
            way = -1 if price > 0 else 1
            if not price or not self._can_move(j, way):
                continue
            if self.left < self.cautious:
                return j, way
            entry = (-abs(price), j, way)
            best = entry if best is None else min(best, entry)
        return None if best is None else best[1:]

    def _step(self, entering: int, way: int) -> Unbounded | None:
        """Move a column as far as the limits allow, to its own other limit or into the basis."""
        direction = self.factor.solve(self.columns[entering])
        low, high = self.low[entering], self.high[entering]
        best: tuple[Fraction, int, int, Standing] | None = None
        if low is not None and high is not None:
            best = (high - low, entering, -1, "upper" if way > 0 else "lower")
        for place, alpha in direction.items():
            j = self.head[place]
            falls = alpha * way > 0
            limit = self.low[j] if falls else self.high[j]
            if limit is not None:
                entry: tuple[Fraction, int, int, Standing] = (
                    abs((self.x[j] - limit) / alpha),
                    j,
                    place,
                    "lower" if falls else "upper",
                )
                best = entry if best is None else min(best, entry)
        if best is None:
            return self._endless(entering, way, direction)
        self._move(entering, direction, way * best[0])
        if best[2] < 0:
            self.standing[entering] = best[3]
            self.left -= 1
        else:
            self._exchange(best[2], entering, direction, best[3])
        return None

    def _move(self, entering: int, direction: Vector, by: Fraction) -> None:
        if by:
            self.x[entering] += by
            for place, alpha in direction.items():
                self.x[self.head[place]] -= alpha * by

    def _exchange(self, place: int, entering: int, direction: Vector, standing: Standing) -> None:
        self.left -= 1
        self.standing[self.head[place]] = standing
        self.head[place] = entering
        self.standing[entering] = "basic"
        if len(self.factor.changes) >= RENEW_AFTER:
            self._factor()
        else:
            self.factor.replace(place, direction)

    def _refutation(self, place: int, way: int, row: Vector) -> Farkas:
        """The tableau row as a proof: the broken limit, and the limits that hold everything else."""
        terms = [self._term(self.head[place], way, Fraction(1))]
        terms += [self._term(j, 1 if alpha * way > 0 else -1, abs(alpha)) for j, alpha in row.items()]
        j = self.head[place]
        return tidy(terms, way * (self._limit(j, way) - self.x[j]))

    def _term(self, j: int, way: int, multiplier: Fraction) -> Term:
        side: Side = "lower" if way > 0 else "upper"
        if j < self.n:
            return Term("bound", self.model.vars[j].name, side, multiplier)
        return Term("row", self.model.rows[j - self.n].name, side, multiplier)

    def _endless(self, entering: int, way: int, direction: Vector) -> Unbounded:
        moves = {entering: Fraction(way)}
        moves |= {self.head[place]: -way * alpha for place, alpha in direction.items()}
        names = [var.name for var in self.model.vars]
        return Unbounded(
            {name: self.x[j] for j, name in enumerate(names)},
            {name: moves.get(j, NOUGHT) for j, name in enumerate(names)},
        )

    def _optimum(self, y: Vector) -> Optimum:
        names = [var.name for var in self.model.vars]
        rows = [row.name for row in self.model.rows]
        values = {name: self.x[j] for j, name in enumerate(names)}
        standing = self.standing
        return Optimum(
            self.model.evaluate(values),
            values,
            {name: self.sign * y.get(i, NOUGHT) for i, name in enumerate(rows)},
            {name: self.sign * self._price(j, y) for j, name in enumerate(names)},
            Basis(
                dict(zip(names, standing[: self.n], strict=True)),
                dict(zip(rows, standing[self.n :], strict=True)),
            ),
        )
