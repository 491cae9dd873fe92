"""costs.yaml: what a jar costs beside its material, and what else is on offer. Money in the currency."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class PackPart:
    """One thing a filled jar needs: the jar, its lid, a label. `price` is for one."""

    what: str
    price: Fraction


@dataclass(frozen=True, slots=True)
class Jar:
    """`holds_g` is the net content, `extra_g` what is filled in on top; `price` what it is sold at."""

    holds_g: Fraction
    extra_g: Fraction = ZERO
    parts: tuple[PackPart, ...] = ()
    price: Fraction | None = None

    @property
    def parts_price(self) -> Fraction:
        return sum((part.price for part in self.parts), ZERO)


@dataclass(frozen=True, slots=True)
class Labour:
    """Money an hour; minutes a batch and a jar."""

    per_hour: Fraction
    per_batch_min: Fraction = ZERO
    per_jar_min: Fraction = ZERO


@dataclass(frozen=True, slots=True)
class Offer:
    """A pack on offer: grams and price of one, from so many packs on, at this trader."""

    ingredient: str
    grams: Fraction
    price: Fraction
    at_least: int = 1
    supplier: str = ""


@dataclass(frozen=True, slots=True)
class Costs:
    """`waste` is the part of a batch that stays in pots (0.04 is 4 %), `post` what an order at a trader costs
    beside the goods.
    """

    jar: Jar | None = None
    labour: Labour | None = None
    waste: Fraction = ZERO
    post: Fraction = ZERO
    offers: tuple[Offer, ...] = ()


@dataclass(frozen=True, slots=True)
class Share:
    """One line of a reckoning: what, and how much money a jar."""

    what: str
    per_jar: Fraction


@dataclass(frozen=True, slots=True)
class JarCost:
    """What one jar costs in a batch of `batch_g`, of which `jars` can be filled; `left_g` is what remains.

    A jar is sold as `holds_g` and filled with `filled_g`; what stays in pots is neither in jars nor left.
    `price` and `margin` are None where no price is set.
    """

    batch_g: Fraction
    jars: int
    left_g: Fraction
    shares: tuple[Share, ...]
    price: Fraction | None
    holds_g: Fraction
    filled_g: Fraction

    @property
    def in_pots_g(self) -> Fraction:
        return self.batch_g - self.jars * self.filled_g - self.left_g

    @property
    def per_jar(self) -> Fraction:
        return sum((share.per_jar for share in self.shares), ZERO)

    @property
    def margin(self) -> Fraction | None:
        return None if self.price is None else self.price - self.per_jar
