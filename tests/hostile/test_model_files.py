"""Model files made to break a reader: each ends in problems that say where and what, never in a crash."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.model.mps import read_mps, read_mps_file
from optimiser.model.mps_text import write_mps
from optimiser.model.neutral import Loaded, read_neutral, read_neutral_file, write_neutral
from tests.models import knapsack, model, row, var

X = '{"name": "x", "lower": "0", "upper": null, "type": "C"}'


def with_coef(coef: str) -> str:
    row_text = '{"name": "r", "lower": null, "upper": "1", "coef": ' + coef + "}"
    return f'{{"sense": "min", "vars": [{X}], "rows": [{row_text}]}}'


SAMPLE = model(
    "min", {"x": "0.1"}, [var("x", 0, 9), var("y", 1, 4, "I")], [row("r", {"x": 1, "y": "-2.5"}, -1, 3)], 2
)


def refused(loaded: Loaded, file: str = "m") -> None:
    found, problems = loaded
    assert found is None
    assert problems
    for problem in problems:
        assert problem.file.startswith(file) or problem.file.startswith("/")
        assert problem.entry
        assert problem.expected
        assert problem.found


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "\x00\x01",
        "[]",
        "null",
        "3",
        '"text"',
        "{",
        "{}",
        "[" * 100_000,
        '{"a":' * 50_000,
        '{"sense": "min", "vars": {}, "rows": []}',
        '{"sense": "min", "vars": [[]], "rows": [null]}',
        '{"sense": ["min"], "vars": [], "rows": []}',
        '{"sense": "min", "vars": [], "rows": [], "rows": []}',
        '{"sense": "min", "obj_const": NaN, "vars": [], "rows": []}',
        '{"sense": "min", "obj_const": Infinity, "vars": [], "rows": []}',
        '{"sense": "min", "obj_const": "1e999999", "vars": [], "rows": []}',
        '{"sense": "min", "obj_const": 1e999999, "vars": [], "rows": []}',
        '{"sense": "min", "obj_const": ' + "9" * 5000 + ', "vars": [], "rows": []}',
        '{"sense": "min", "obj_const": "1/0", "vars": [], "rows": []}',
        '{"sense": "min", "vars": [{"name": "", "lower": "0", "upper": null, "type": "C"}], "rows": []}',
        '{"sense": "min", "vars": [{"name": 7, "lower": "0", "upper": null, "type": "C"}], "rows": []}',
        '{"sense": "min", "vars": [{"name": "x", "lower": "", "upper": [], "type": null}], "rows": []}',
        '{"sense": "min", "vars": [{"name": "x", "lower": "2", "upper": "1", "type": "C"}], "rows": []}',
        '{"sense": "min", "vars": [{"name": "x", "lower": "0", "upper": "2", "type": "B"}], "rows": []}',
        f'{{"sense": "min", "vars": [{X}, {X}], "rows": []}}',
        with_coef("[]"),
        with_coef('{"z": 1}'),
        with_coef('{"x": "1,5"}'),
    ],
)
def test_no_json_gets_past(text: str) -> None:
    refused(read_neutral(text, "m.json"))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "\n\n",
        "*only a comment\n",
        "ENDATA\n",
        "NAME\nENDATA\n",
        " x c 1\n",
        "ROWS\n N c\n",
        "\x00",
        "ROWS\nROWS\nCOLUMNS\nENDATA\n",
        "NAME\nROWS\n X c\nCOLUMNS\nENDATA\n",
        "NAME\nROWS\n N c\n N c\nCOLUMNS\nENDATA\n",
        "NAME\nROWS\n E r\nCOLUMNS\n x r 1\nENDATA\n",
        "NAME\nROWS\n N c\nCOLUMNS\n x c\nENDATA\n",
        "NAME\nROWS\n N c\nCOLUMNS\n x c 1 c 2\nENDATA\n",
        "NAME\nROWS\n N c\nCOLUMNS\n x c inf\nENDATA\n",
        "NAME\nROWS\n N c\nCOLUMNS\n x c 1e999999\nENDATA\n",
        "NAME\nROWS\n N c\nCOLUMNS\n x c 1/3\nENDATA\n",
        "NAME\nROWS\n N c\nCOLUMNS\n x c 0x1F\nENDATA\n",
        "NAME\nROWS\n N c\nCOLUMNS\n M 'MARKER' 'SOSORG'\nENDATA\n",
        "NAME\nOBJSENSE\n BEST\nROWS\n N c\nCOLUMNS\n x c 1\nENDATA\n",
        "NAME\nROWS\n N c\nCOLUMNS\n x c 1\nBOUNDS\n UP\nENDATA\n",
        "NAME\nROWS\n N c\nCOLUMNS\n x c 1\nBOUNDS\n FR\nENDATA\n",
        "NAME\nROWS\n N c\nCOLUMNS\n x c 1\nBOUNDS\n LO B x 3\n UP B x 2\nENDATA\n",
        "NAME\nROWS\n N c\nCOLUMNS\n x c 1\nRHS\n a b c d e f g\nENDATA\n",
        "NAME\nROWS\n N c\nCOLUMNS\n x c 1\nRHS\n\n S\nENDATA\n",
        "NAME\nROWS\n N c\nCOLUMNS\n x c 1\nRANGES\n S nobody 1\nENDATA\n",
    ],
)
def test_no_mps_gets_past(text: str) -> None:
    refused(read_mps(text, "m.mps"))


@pytest.mark.parametrize("reader", [read_neutral_file, read_mps_file])
def test_files_that_are_none(tmp_path: Path, reader: object) -> None:
    assert callable(reader)
    refused(reader(tmp_path / "none"))
    refused(reader(tmp_path))
    (tmp_path / "latin").write_bytes(b"\xff\xfe\x00\xd8")
    refused(reader(tmp_path / "latin"))


def test_a_byte_order_mark_does_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "bom.json"
    path.write_bytes(b"\xef\xbb\xbf" + write_neutral(SAMPLE).encode())
    assert read_neutral_file(path) == (SAMPLE, ())


def test_windows_line_ends_do_no_harm() -> None:
    assert read_mps(write_mps(SAMPLE).replace("\n", "\r\n")) == (SAMPLE, ())


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text: str) -> None:
    for loaded in (read_neutral(text, "m"), read_mps(text, "m")):
        assert (loaded[0] is None) == bool(loaded[1])


@pytest.mark.parametrize("mark", ["\x1b[31m", "\u202e", "\u200b", "\x00"])
def test_words_of_a_model_cannot_steer_the_terminal(mark: str) -> None:
    told = write_neutral(SAMPLE)
    texts = [
        told.replace('"r"', json.dumps(f"r{mark}")),
        told.replace('"0.1"', json.dumps(f"0.1{mark}")),
        told.replace('"-2.5"', json.dumps(mark)),
        told.replace('"x": "1"', f'{json.dumps(f"x{mark}")}: "1"'),
        told.replace('"sense"', json.dumps(f"sense{mark}")),
    ]
    both = [read_neutral(text, "m") for text in texts]
    both.append(read_mps(write_mps(SAMPLE).replace("r", f"r{mark}")))
    for found, problems in both:
        assert found is None
        for problem in problems:
            assert mark not in problem.sentence()


def mangled(dice: random.Random, text: str) -> str:
    """The text with some pieces cut, doubled, swapped or replaced."""
    for _ in range(dice.randint(1, 4)):
        i, j = sorted((dice.randrange(len(text) + 1), dice.randrange(len(text) + 1)))
        j = min(j, i + 30)
        text = (
            text[:i]
            + dice.choice(["", text[i:j] * 2, "nan", "\n", "1e400", '"', "-", "'MARKER'", "}"])
            + text[j:]
        )
    return text


@pytest.mark.parametrize("seed", range(300))
def test_mangled_files_are_read_or_refused(seed: int) -> None:
    dice = random.Random(seed)
    for loaded in (
        read_neutral(mangled(dice, write_neutral(SAMPLE)), "m"),
        read_mps(mangled(dice, write_mps(SAMPLE)), "m"),
    ):
        assert (loaded[0] is None) == bool(loaded[1])


def test_a_large_file_is_read_in_one_pass() -> None:
    large = knapsack(1, 300, 60)
    assert read_mps(write_mps(large)) == (large, ())
    assert read_neutral(write_neutral(large)) == (large, ())
