"""What the product is, as the law asks for it."""

from __future__ import annotations

from dataclasses import dataclass

USES = ("leave-on", "rinse-off")


@dataclass(frozen=True, slots=True)
class Product:
    """Facts that pick limits. Unstated means the strictest reading: leave-on, face, adult.

    `form` is a free word of the trade (paste, gel, lotion, cleanser, balm ...).
    """

    use: str = "leave-on"
    area: str = "face"
    age: str = "adult"
    form: str = ""
