"""What every request draws on: the worktable, the words of the trade, the law, constants of substances."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from optimiser.domain.product import Product
from optimiser.domain.substance import Substance
from optimiser.domain.vocabulary import Vocabulary
from optimiser.domain.worktable import Worktable
from optimiser.law.limits import LimitRow
from optimiser.law.pick import Picked, pick


@dataclass(frozen=True, slots=True)
class Sources:
    """A worktable with all that is read beside it."""

    worktable: Worktable
    vocabulary: Vocabulary
    limits: tuple[LimitRow, ...]
    substances: Mapping[str, Substance] = field(default_factory=dict)
    picked: dict[Product, Picked] = field(default_factory=dict, compare=False, repr=False)

    def limits_for(self, product: Product) -> Picked:
        """Limits in force for a product on the worktable's day; picked once a product."""
        if product not in self.picked:
            settings = self.worktable.settings
            self.picked[product] = pick(
                self.limits,
                jurisdiction=settings.jurisdiction,
                on=settings.rules_date,
                use=product.use,
                area=product.area,
                age=product.age,
                form=product.form,
            )
        return self.picked[product]

    @property
    def constants(self) -> dict[str, Substance]:
        """Constants of substances by name in lower case, the worktable's own first."""
        return {**self.substances, **self.worktable.substances}
