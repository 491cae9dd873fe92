"""Where the files of a worktable lie, and what they may be called."""

from __future__ import annotations

import re
from pathlib import Path

SETTINGS = "worktable.yaml"
COSTS = "costs.yaml"
FORMULAS = "formulas"
TABLE_ENDINGS = (".csv", ".xlsx")
YAML_ENDINGS = (".yaml", ".yml")
MOST_FILES = 2000
ID = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*", re.ASCII)
LONGEST_ID = 60


def files_in(folder: Path) -> list[Path]:
    """Files of the folder by name, without hidden ones and a spreadsheet program's lock files."""
    if not folder.is_dir():
        return []
    names = sorted(one for one in folder.iterdir() if not one.name.startswith((".", "~$")))
    return [one for one in names[:MOST_FILES] if one.is_file()]
