"""responses/*.yaml: what trials taught of a score or a reading, as a blending model and where it holds."""

from __future__ import annotations

from fractions import Fraction

from optimiser.domain.ingredient import Place
from optimiser.domain.response import Fitted, Reach, Setting
from optimiser.loading.cells import read_day
from optimiser.loading.entries import Entries, describe
from optimiser.loading.findings import shown
from optimiser.loading.names import Reader
from optimiser.loading.yaml_nodes import Items, Keys, Node, Text
from optimiser.units.numbers import read_number

FORMAT = "1"
KEYS = (
    "format",
    "name",
    "unit",
    "scale",
    "model",
    "varied",
    "together",
    "others",
    "free",
    "lows",
    "made",
    "terms",
    "deviation",
    "freedom",
    "sure",
    "covariance",
    "trials",
    "fitted",
)
MODELS = ("linear", "quadratic", "special-cubic")
MOST_TERMS = 100
ZERO, ONE, HUNDRED = Fraction(0), Fraction(1), Fraction(100)
Pair = tuple[Fraction, Fraction]


def read_response(identifier: str, node: Node, reader: Reader) -> Fitted | None:
    """The response, or None with every problem noted. Numbers have a decimal point in any worktable."""
    entries = Entries.of(node, "response", KEYS, reader.findings)
    if entries is None:
        return None
    before = len(reader.findings.problems)
    form = entries.text("format", needed=True)
    if form and form != FORMAT:
        reader.findings.add(
            entries.line("format"), "format", FORMAT, shown(form), "it may be from a newer version"
        )
        return None
    found = _Reading(entries, reader).fitted(identifier)
    return found if len(reader.findings.problems) == before else None


class _Reading:
    """One file while it is read."""

    def __init__(self, entries: Entries, reader: Reader) -> None:
        self.entries, self.reader, self.findings = entries, reader, reader.findings

    def fitted(self, identifier: str) -> Fitted | None:
        entries = self.entries
        model = entries.choice("model", MODELS) if entries.text("model", needed=True) else ""
        varied = self._reaches("varied", needed=True)
        names = tuple(one.ingredient for one in varied)
        others = self._reaches("others")
        free = tuple(name for text, line in entries.texts("free") if (name := self._ingredient(text, line)))
        self._once((*names, *(one.ingredient for one in others), *free))
        made = self._made(names)
        terms = self._terms(names, tuple(one.name for one in made))
        together = self._pair(entries.get("together"), "together")
        scale = self._pair(entries.get("scale"), "scale") if "scale" in entries else None
        lows = self._lows(names)
        covariance = self._covariance(len(terms))
        deviation, sure = self._number(entries.get("deviation"), "deviation"), self._positive("sure")
        if deviation is not None and deviation < 0:
            self._bad("deviation", "a number of 0 or more", shown(entries.text("deviation")))
        freedom = self._positive("freedom", whole=True)
        day = read_day(entries.text("fitted", needed=True))
        if day is None:
            self._bad("fitted", "a date such as 2026-11-01", shown(entries.text("fitted")))
        if day is None or together is None or None in (deviation, sure, freedom):
            return None
        return Fitted(
            identifier,
            entries.text("name") or identifier,
            model,
            varied,
            together,
            tuple(term for term, _ in terms),
            tuple(value for _, value in terms),
            covariance,
            deviation or ZERO,
            int(freedom or 0),
            sure or ZERO,
            tuple(text for text, _ in entries.texts("trials")),
            day,
            lows,
            others,
            free,
            entries.text("unit"),
            scale,
            made,
            Place(self.findings.file, entries.node.line),
        )

    def _bad(self, name: str, expected: str, found: str, fix: str = "") -> None:
        self.findings.add(self.entries.line(name), f"response, {name}", expected, found, fix)

    def _ingredient(self, word: str, line: int) -> str | None:
        return self.reader.ingredient(word, line, "response")

    def _number(self, node: Node | None, name: str) -> Fraction | None:
        if not isinstance(node, Text):
            self._bad(name, "a number", "nothing" if node is None else describe(node))
            return None
        return self.findings.number(node.line, f"response, {name}", read_number(node.text))

    def _positive(self, name: str, *, whole: bool = False) -> Fraction | None:
        value = self._number(self.entries.get(name), name)
        if value is not None and (value <= 0 or (whole and value.denominator != 1)):
            self._bad(
                name,
                "a whole number above 0" if whole else "a number above 0",
                shown(self.entries.text(name)),
            )
            return None
        return value

    def _pair(self, node: Node | None, name: str) -> Pair | None:
        """`[lower, upper]`."""
        if not isinstance(node, Items) or len(node.items) != 2:
            found = "none" if node is None else describe(node)
            self._bad(name, "two numbers, [lower, upper]", found)
            return None
        low, high = (self._number(item, name) for item in node.items)
        if low is None or high is None:
            return None
        if low > high:
            self._bad(name, "the lower number first", "a lower number above the upper")
            return None
        return low, high

    def _reaches(self, name: str, *, needed: bool = False) -> tuple[Reach, ...]:
        """`{kaolin: [14, 20]}`, in % of the formula."""
        node = self.entries.get(name)
        if node is None and not needed:
            return ()
        if not isinstance(node, Keys) or (needed and len(node.values) < 2):
            text = "two ingredients or more" if needed else "ingredients"
            self._bad(name, f"{text} with the least and most of each, in %", "fewer" if node else "none")
            return ()
        found = []
        for word, value in node.values.items():
            ingredient = self._ingredient(word, node.lines[word])
            pair = self._pair(value, name)
            if pair is not None and (pair[0] < 0 or pair[1] > HUNDRED):
                self._bad(name, "shares from 0 to 100 %", f"{word}: {pair[0]} to {pair[1]}")
            elif ingredient is not None and pair is not None:
                found.append(Reach(ingredient, *pair))
        return tuple(found)

    def _once(self, names: tuple[str, ...]) -> None:
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            self._bad("varied", "each ingredient once among varied, others and free", f"{twice[0]} twice")

    def _made(self, varied: tuple[str, ...]) -> tuple[Setting, ...]:
        """`{stirring: [400, 1200, rpm]}`: settings with where the trials had them, and their unit."""
        node = self.entries.get("made")
        if node is None:
            return ()
        if not isinstance(node, Keys):
            self._bad("made", "settings such as stirring: [400, 1200, rpm]", describe(node))
            return ()
        found = []
        for name, value in node.values.items():
            items = value.items if isinstance(value, Items) else ()
            unit = items[2].text if len(items) == 3 and isinstance(items[2], Text) else ""
            if len(items) not in (2, 3) or (len(items) == 3 and not unit):
                self._bad("made", "two numbers and their unit, [lower, upper, unit]", describe(value))
                continue
            low, high = (self._number(item, "made") for item in items[:2])
            if low is None or high is None:
                continue
            if low >= high or name in varied:
                expected = "a lower number before a higher" if low >= high else "a name no ingredient has"
                self._bad("made", expected, shown(name))
            else:
                found.append(Setting(name, unit, low, high))
        return tuple(found)

    def _terms(
        self, varied: tuple[str, ...], made: tuple[str, ...]
    ) -> tuple[tuple[tuple[str, ...], Fraction], ...]:
        """`{kaolin: 11.7, kaolin * glycerin: 19, kaolin * stirring: 0.4}`."""
        node = self.entries.get("terms")
        if not isinstance(node, Keys) or not 1 <= len(node.values) <= MOST_TERMS:
            self._bad("terms", f"1 to {MOST_TERMS} terms such as kaolin: 11.7", "none, or too many")
            return ()
        found: list[tuple[tuple[str, ...], Fraction]] = []
        for text, value in node.values.items():
            words = tuple(word.strip() for word in text.split("*"))
            line = node.lines[text]
            known = [
                self.findings.word(line, "terms", word, (*varied, *made), "an ingredient of varied, or made")
                for word in words
            ]
            if len(set(words)) < len(words) or len(set(words) - set(made)) > 3:
                self._bad("terms", "up to three different ingredients in a term", shown(text))
            number = self._number(value, "terms")
            if all(known) and number is not None:
                found.append((words, number))
        missing = sorted(set(varied) - {term[0] for term, _ in found if len(term) == 1})
        if missing and len(found) == len(node.values):
            self._bad("terms", "a term for each ingredient of varied", f"none for {missing[0]}")
        return tuple(found)

    def _lows(self, varied: tuple[str, ...]) -> tuple[Fraction, ...]:
        """Parts of the sum, from 0 to 1; nothing where none are taken off."""
        node = self.entries.get("lows")
        if node is None:
            return (ZERO,) * len(varied)
        if not isinstance(node, Keys):
            self._bad("lows", "the part taken off of each of varied", describe(node))
            return (ZERO,) * len(varied)
        found = dict.fromkeys(varied, ZERO)
        for name, value in node.values.items():
            number = self._number(value, "lows")
            if self.findings.word(node.lines[name], "lows", name, varied, "an ingredient of varied"):
                found[name] = number or ZERO
        if min(found.values(), default=ZERO) < 0 or sum(found.values(), ZERO) >= ONE:
            self._bad("lows", "parts of 0 or more that leave something over", "1 or more in all")
        return tuple(found.values())

    def _covariance(self, size: int) -> tuple[tuple[Fraction, ...], ...]:
        """A square of numbers, the same across its diagonal, which has nothing below 0."""
        node = self.entries.get("covariance")
        rows = node.items if isinstance(node, Items) else ()
        found: list[tuple[Fraction, ...]] = []
        for row in rows[:MOST_TERMS]:
            cells = row.items if isinstance(row, Items) else ()
            numbers = [self._number(cell, "covariance") for cell in cells[:MOST_TERMS]]
            found.append(tuple(number for number in numbers if number is not None))
        if len(found) != size or any(len(row) != size for row in found):
            self._bad("covariance", f"{size} rows of {size} numbers, as many as terms", f"{len(found)} rows")
        elif any(found[i][j] != found[j][i] for i in range(size) for j in range(i)):
            self._bad("covariance", "the same number on both sides of the diagonal", "others")
        elif any(_below_nought(found, i, j) for i in range(size) for j in range(i + 1)):
            self._bad("covariance", "errors that can be: nothing below 0 on the diagonal", "others")
        return tuple(found)


def _below_nought(rows: list[tuple[Fraction, ...]], i: int, j: int) -> bool:
    """Whether two coefficients hang together more than any two can."""
    return rows[i][i] < 0 or rows[i][j] ** 2 > rows[i][i] * rows[j][j] * (1 + Fraction(1, 10**6))
