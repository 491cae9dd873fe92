"""Files made worse: pieces cut, doubled, swapped, replaced by what upsets a reader; workbooks from within."""

from __future__ import annotations

import io
import random
import re
import zipfile
from collections.abc import Callable, Mapping

NASTY: tuple[bytes, ...] = tuple(
    text.encode("utf-8", "surrogatepass")
    for text in (
        *("", "\x00", "\x1b[31m", "\u202e", "\u2066", "\ufeff", "\u200b", "\ud800", "\x85", "\u2028", "\x0c"),
        *("nan", "NaN", ".nan", "inf", "-inf", "Infinity", "1e999999", "1e-999999", "9" * 400, "0x1F", "1/0"),
        *(
            "½",
            "٣",
            "１２",
            "1,5",
            "1.000,5",
            "−5",
            "5 %",
            "-5 %",
            "1e3 g",
            "8 oz",
            "to 100 %",
            "10 % of base",
        ),
        *("'", '"', '""', "{", "}", "[", "]", "[[", "&a ", "*a", "!!python/object:os.system", "<<: *a", "? "),
        *(
            "---\n",
            "...\n",
            "%YAML 9.9\n",
            "\t",
            ",",
            ";",
            "\r",
            "\r\n",
            "\n\n",
            "|\n",
            ">-\n",
            ": ",
            "#",
            "- ",
        ),
        *(
            "=1+1",
            "@x",
            "+x",
            "'=x",
            "../../outside",
            "C:\\outside",
            "/etc/passwd",
            "kаolin",
            "KAOLIN",
            "ｋaolin",
        ),
        *("2026-02-30", "9999-12-31", "0000-00-00", "24:61", "null", "~", "yes", "true", "[]", "{}", "-0"),
        *("ROWS", "ENDATA", "'MARKER'", "1e400", "<!DOCTYPE x [<!ENTITY a 'b'>]>", "&a;", "<v>", "</row>"),
    )
)
LONG = (b"9" * 5000, b"a" * 20_000, b"\n" * 5000, b"[" * 3000, b"{a: " * 2000, b"," * 5000, b'"' * 3001)
CODES = ("utf-16", "utf-16-be", "utf-8-sig", "cp1252", "utf-7", "utf-32")
NUMBER = re.compile(rb"\d+(?:\.\d+)?")
WORD = re.compile(rb"[A-Za-z_-]{2,}")


def mutated(dice: random.Random, data: bytes, others: Mapping[str, bytes]) -> bytes:
    """The file with one to four things wrong; of a workbook half the time one of its parts."""
    if data[:2] == b"PK" and dice.random() < 0.8:
        return _from_within(dice, data)
    for _ in range(dice.choice((1, 1, 1, 2, 2, 3, 4))):
        data = dice.choice(WAYS)(dice, data, others)
    return data


def _from_within(dice: random.Random, data: bytes) -> bytes:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = [(part.filename, archive.read(part)) for part in archive.infolist()]
    except Exception:
        return data
    if not parts:
        return data
    at = dice.randrange(len(parts))
    if dice.random() < 0.6:
        at = next((n for n, (name, _) in enumerate(parts) if "sheet1" in name), at)
    parts[at] = (parts[at][0], mutated(dice, parts[at][1], {}))
    if dice.random() < 0.1:
        parts.pop(dice.randrange(len(parts)))
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts:
            archive.writestr(name, content)
    return buffer.getvalue()


def _span(dice: random.Random, data: bytes, most: int = 60) -> tuple[int, int]:
    start = dice.randrange(len(data) + 1)
    return start, min(len(data), start + dice.randint(0, most))


def _put_in(dice: random.Random, data: bytes, _others: Mapping[str, bytes]) -> bytes:
    at, _ = _span(dice, data)
    what = dice.choice(LONG) if dice.random() < 0.03 else dice.choice(NASTY)
    return data[:at] + what + data[at:]


def _cut(dice: random.Random, data: bytes, _others: Mapping[str, bytes]) -> bytes:
    start, end = _span(dice, data)
    return data[:start] + data[end:]


def _doubled(dice: random.Random, data: bytes, _others: Mapping[str, bytes]) -> bytes:
    start, end = _span(dice, data)
    return data[:end] + data[start:end] * dice.choice((1, 2, 50)) + data[end:]


def _shortened(dice: random.Random, data: bytes, _others: Mapping[str, bytes]) -> bytes:
    return data[: dice.randrange(len(data) + 1)]


def _flipped(dice: random.Random, data: bytes, _others: Mapping[str, bytes]) -> bytes:
    if not data:
        return data
    changed = bytearray(data)
    for _ in range(dice.randint(1, 4)):
        changed[dice.randrange(len(changed))] = dice.randrange(256)
    return bytes(changed)


def _another(pattern: re.Pattern[bytes]) -> Callable[[random.Random, bytes, Mapping[str, bytes]], bytes]:
    """A number or a word replaced by another of the file, or by something nasty."""

    def changed(dice: random.Random, data: bytes, others: Mapping[str, bytes]) -> bytes:
        found = list(pattern.finditer(data))
        if not found:
            return _put_in(dice, data, others)
        one, other = dice.choice(found), dice.choice(found)
        new = dice.choice(NASTY) if dice.random() < 0.5 else other[0]
        return data[: one.start()] + new + data[one.end() :]

    return changed


def _lines(dice: random.Random, data: bytes, others: Mapping[str, bytes]) -> bytes:
    """Lines swapped, dropped, doubled, or taken from another file."""
    lines = data.splitlines(keepends=True)
    more = dice.choice(sorted(others.values())).splitlines(keepends=True) if others else lines
    if not lines or not more:
        return data
    at = dice.randrange(len(lines))
    match dice.randrange(4):
        case 0:
            lines[at], lines[0] = lines[0], lines[at]
        case 1:
            del lines[at]
        case 2:
            lines[at:at] = [lines[at]] * dice.choice((1, 3))
        case _:
            lines.insert(at, dice.choice(more))
    return b"".join(lines)


def _in_another_code(dice: random.Random, data: bytes, _others: Mapping[str, bytes]) -> bytes:
    return data.decode("utf-8", "replace").encode(dice.choice(CODES), "replace")


def _noise(dice: random.Random, _data: bytes, _others: Mapping[str, bytes]) -> bytes:
    return dice.randbytes(dice.randint(0, 400))


WAYS = (
    *(_put_in, _put_in, _cut, _doubled, _lines, _lines, _flipped),
    *(_another(NUMBER), _another(NUMBER), _another(WORD), _shortened, _in_another_code, _noise),
)
