"""Requests that are not served, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.law.facts import read_facts

ASSESSOR = "Regulation (EC) No 1223/2009, Article 10 and Annex I: an assessor decides for such products"
CUSTOM = "common practice: such a product is not worked out from a table"
BROKEN = ("broken", "wound", "sore", "burn", "eczema", "infected", "open skin", "irritated skin")
SUN = ("sun protection", "sunscreen", "sun screen", "sunblock", "sun cream", "spf", "sun care")
DISEASE = (
    "eczema",
    "psoriasis",
    "acne treatment",
    "treats ",
    "heals",
    "cures",
    "medicin",
    "therap",
    "disease",
    "dermatitis",
    "rosacea",
    "infection",
    "fungal",
)
PREGNANCY = ("pregnan", "maternity", "breastfeeding", "nursing mother")
YOUNGEST = 3


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why no proposal is made: a sentence for the user, and where the reason comes from."""

    about: str
    sentence: str
    source: str


def refusals(
    *, use: str, area: str, age: str, form: str, claims: tuple[str, ...] = ()
) -> tuple[Refusal, ...]:
    """Every reason not to serve a product of these facts and claims; empty when there is none."""
    facts = read_facts(use=use, area=area, age=age, form=form)
    found = []
    places = f"{area} {form}".casefold()
    if "eye" in facts.areas:
        found.append(Refusal("area", "No proposal for the eye area.", ASSESSOR))
    if facts.areas & {"lip", "mouth"}:
        found.append(Refusal("area", "No proposal for lips or mouth, where the product is eaten.", ASSESSOR))
    if any(word in places for word in BROKEN):
        found.append(Refusal("area", "No proposal for broken or irritated skin.", CUSTOM))
    return (*found, *_by_age(age, facts.youngest, facts.areas), *_by_claim((form, *claims)))


def _by_age(age: str, youngest: int | None, areas: frozenset[str]) -> list[Refusal]:
    if youngest is None:
        text = f'The age "{age}" cannot be read, and nothing is proposed for children under {YOUNGEST}. '
        return [
            Refusal("age", text + 'Write "adult" or the youngest age in years, such as "from 6".', ASSESSOR)
        ]
    if youngest < YOUNGEST or "nappy" in areas:
        text = (
            f"No proposal for children under {YOUNGEST}: only written limits are checked here, and a "
            "qualified assessor comes before any small child."
        )
        return [Refusal("age", text, ASSESSOR)]
    return []


def _by_claim(texts: tuple[str, ...]) -> list[Refusal]:
    said = " ".join(texts).casefold()
    found = []
    if any(word in said for word in SUN):
        found.append(
            Refusal(
                "claim",
                "No proposal for sun protection: it cannot be reckoned from shares.",
                "Regulation (EC) No 1223/2009, Annex VI; a drug under the FD&C Act in the US",
            )
        )
    if any(word in said for word in DISEASE):
        found.append(
            Refusal(
                "claim",
                "No proposal for a product that is said to treat or prevent a disease.",
                "Regulation (EC) No 1223/2009, Article 2: what a cosmetic is",
            )
        )
    if any(word in said for word in PREGNANCY):
        text = "No proposal that is said to suit pregnancy: leave out what you choose, and ask a doctor."
        found.append(Refusal("claim", text, "Bozzo 2011, Can Fam Physician 57:665"))
    return found
