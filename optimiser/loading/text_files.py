"""Text of a file: UTF-8 (with or without a byte order mark) or UTF-16; other encodings are named."""

from __future__ import annotations

import codecs
from pathlib import Path

from optimiser.loading.findings import Findings

LARGEST = 10_000_000


def read_bytes(path: Path, findings: Findings, largest: int = LARGEST) -> bytes | None:
    """The file's bytes, or None with the reason noted."""
    try:
        size = path.stat().st_size
        if size > largest:
            findings.add(
                None, "file", f"at most {largest // 1000} kB", f"{size // 1000} kB", "split the file"
            )
            return None
        return path.read_bytes()
    except OSError as error:
        findings.add(
            None, "file", "a file that can be read", error.strerror or "an error", "check its rights"
        )
        return None


def read_text(path: Path, findings: Findings) -> str | None:
    data = read_bytes(path, findings)
    return None if data is None else decode(data, findings)


def decode(data: bytes, findings: Findings) -> str | None:
    """Text of the bytes. Windows-1252 is a problem, and still read so that the rest can be checked."""
    try:
        if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            return data.decode("utf-16")
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        fix = 'save it again as "CSV UTF-8"' if findings.file.endswith(".csv") else "save it again as UTF-8"
        if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            findings.add(None, "file", "text in UTF-8", "broken UTF-16", fix)
            return None
        findings.add(line, "file", "text in UTF-8", "bytes of another encoding, such as Windows-1252", fix)
        return data.decode("cp1252", errors="replace")
