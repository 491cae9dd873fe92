"""MPS text, read and written."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.errors import DataError
from optimiser.model.mps import read_mps
from optimiser.model.mps_text import write_mps
from optimiser.model.rows import Model
from tests.models import model, row, var

FULL = model(
    "max",
    {"x": "0.1", "w": 7},
    [
        var("x", None, 4),
        var("w", 2, None, "I"),
        var("b", 0, 1, "B"),
        var("f", None, None),
        var("e", "1.5", "1.5"),
        var("n", -8, -3),
        var("i", None, 5, "I"),
        var("u"),
    ],
    [
        row("g", {"x": 1, "w": "1e-9"}, "0.3"),
        row("l", {"b": 1, "f": -2}, None, 3),
        row("q", {"e": 1, "n": 1}, 2, 2),
        row("window", {"x": 1, "f": "0.25"}, "-1", "2.75"),
        row("loose", {"x": 1}),
    ],
    constant="12.5",
)


def read(text: str) -> Model:
    found, problems = read_mps(text, "m.mps")
    assert problems == ()
    assert found is not None
    return found


def test_written_and_read_back_without_loss() -> None:
    assert read(write_mps(FULL)) == FULL


def test_every_kind_of_bound_and_range() -> None:
    text = """NAME sample
ROWS
 N cost
 E e
 E f
 L l
 G g
COLUMNS
 a cost 1 e 1
 a l 1
 M1 'MARKER' 'INTORG'
 b g 1 f 1
 M1 'MARKER' 'INTEND'
 c e 1
 d e 1
 h e 1
RHS
 S e 10 f 10
 S l 10 g 10
 S cost -5
RANGES
 S e 4 f -4
 S l -4 g 4
BOUNDS
 MI S a
 UP S a 3
 UI S b 9
 FR S c
 BV S d
 LI S h 2
ENDATA
"""
    found = read(text)
    limits: list[tuple[str, object, object]] = [(r.name, r.lower, r.upper) for r in found.rows]
    assert limits == [
        ("e", 10, 14),
        ("f", 6, 10),
        ("l", 6, 10),
        ("g", 10, 14),
    ]
    assert [(v.name, v.lower, v.upper, v.kind) for v in found.vars] == [
        ("a", None, 3, "C"),
        ("b", 0, 9, "I"),
        ("c", None, None, "C"),
        ("d", 0, 1, "B"),
        ("h", 2, None, "I"),
    ]
    assert found.constant == 5


def test_fixed_columns_allow_spaces_in_names() -> None:
    def data(*words: str) -> str:
        widths = (" {:<2} ", "{:<10}", "{:<10}", "{:<15}", "{:<10}", "{:<12}")
        return "".join(width.format(word) for width, word in zip(widths, words, strict=False))

    lines = [
        "NAME          SPACED",
        "ROWS",
        " N  COST",
        " G  MY ROW",
        "COLUMNS",
        data("", "ROSE OIL", "COST", "1.0", "MY ROW", "2.5"),
        "RHS",
        data("", "RHS", "MY ROW", "5"),
        "ENDATA",
    ]
    text = "\n".join(lines)
    found = read(text)
    assert (found.vars[0].name, found.rows[0].name, found.rows[0].coef) == (
        "ROSE OIL",
        "MY ROW",
        (("ROSE OIL", Fraction(5, 2)),),
    )


@pytest.mark.parametrize("head", ["OBJSENSE\n    MAX\n", "OBJSENSE MAXIMIZE\n", "OBJSENSE\n MAXIMISE\n"])
def test_the_sense_is_read_in_each_of_its_spellings(head: str) -> None:
    assert read(f"NAME\n{head}ROWS\n N c\nCOLUMNS\n x c 1\nENDATA\n").sense == "max"


def test_a_number_that_is_no_finite_decimal_is_refused_or_rounded_and_said() -> None:
    third = model("min", {"x": "1/3"}, [var("x")], [row("r", {"x": 1}, 1)])
    with pytest.raises(DataError, match="1 problem"):
        write_mps(third, digits=None)
    text = write_mps(third, digits=12)
    assert "* some numbers are no finite decimals and are rounded to 12 digits" in text
    assert read(text).cost == (("x", Fraction("0.333333333333")),)


def test_a_row_of_thirds_is_multiplied_and_said() -> None:
    thirds = model("min", {"x": 1}, [var("x")], [row("r", {"x": "1/3"}, "2/7", 5), row("s", {"x": "0.5"}, 1)])
    text = write_mps(thirds)
    assert "* row r is multiplied by 21 to keep its decimals finite" in text
    assert read(text).rows == (row("r", {"x": 7}, 6, 105), thirds.rows[1])


def test_names_with_spaces_become_numbers_and_are_told() -> None:
    spaced = model(
        "min", {"rose clay": 1}, [var("rose clay"), var("rose_clay")], [row("r", {"rose clay": 1}, 1)]
    )
    text = write_mps(spaced)
    assert "* x1 = rose clay" in text
    assert [v.name for v in read(text).vars] == ["x1", "x2"]


def test_crossed_limits_cannot_be_written() -> None:
    with pytest.raises(DataError):
        write_mps(model("min", {}, [var("x", 2, 1)], []))


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("COLUMNS\n x c 1\n x c 2", "x c 2"),
        ("COLUMNS\n x nowhere 1", '"nowhere"'),
        ("COLUMNS\n x c nan", '"nan"'),
        ("COLUMNS\n x c 1e999999", '"1e999999"'),
        ("COLUMNS\n x c 1\nRHS\n S r 1\n S r 2", "r 2"),
        ("COLUMNS\n x c 1\nRHS\n S r 1\n T r 2", 'a second, "T"'),
        ("COLUMNS\n x c 1\nBOUNDS\n UP S y 1", '"y"'),
        ("COLUMNS\n x c 1\nBOUNDS\n SC S x 1", "SC"),
        ("COLUMNS\n x c 1\nBOUNDS\n UP S x -1", "none"),
        ("COLUMNS\n x c 1\nBOUNDS\n UP S x 1\n UP S x 2", "UP again"),
        ("COLUMNS\n M 'MARKER' 'INTORG'\n x c 1", "none"),
        ("COLUMNS\n x c 1\nRANGES\n S c 1", "c 1"),
        ("COLUMNS\n x c 1\nQUADOBJ\n x x 1", "QUADOBJ"),
    ],
)
def test_faults_have_the_line_they_stand_on(line: str, found: str) -> None:
    text = f"NAME m\nROWS\n N c\n G r\n{line}\nENDATA\n"
    result, problems = read_mps(text, "m.mps")
    assert result is None
    fault = next(p for p in problems if p.found == found)
    assert fault.line is not None
    assert 5 <= fault.line <= len(text.splitlines())


def test_a_text_cut_short_says_so() -> None:
    found, problems = read_mps("NAME m\nROWS\n N c\n", "m.mps")
    assert found is None
    assert [p.expected for p in problems if p.found == "the end of the text"] == ["COLUMNS", "ENDATA"]


def test_a_yes_or_no_variable_held_at_one_value_is_read_back() -> None:
    held = replace(FULL, vars=(*FULL.vars, var("h", 1, 1, "B")))
    assert read(write_mps(held)) == held
