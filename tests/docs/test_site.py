"""The pages build into a site, with no link that leads nowhere and no page left out."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from tests.docs.pages import ROOT, all_pages, name_of
from tests.once import not_compiled_once


def build(root: Path, out: Path) -> subprocess.CompletedProcess[str]:
    words = ["-W", "--keep-going", "-n", "-q", "-E", "-d", str(out / "trees"), "-c", str(ROOT / "docs")]
    return subprocess.run(
        [sys.executable, "-m", "sphinx", *words, "-b", "html", str(root), str(out / "site")],
        capture_output=True,
        encoding="utf-8",
        cwd=ROOT,
        env=not_compiled_once(),
        timeout=600,
    )


def test_every_page_is_built_without_a_warning(tmp_path: Path) -> None:
    done = build(ROOT, tmp_path)
    assert done.returncode == 0, done.stderr
    site = tmp_path / "site"
    built = [page for page in all_pages() if (site / name_of(page)).with_suffix(".html").is_file()]
    assert built == all_pages()
    for page in site.rglob("*.html"):
        text = page.read_text(encoding="utf-8")
        assert "fonts.googleapis" not in text, name_of(page)
        assert 'src="http' not in text, page


def test_a_link_that_leads_nowhere_stops_the_build(tmp_path: Path) -> None:
    pages = tmp_path / "pages" / "docs"
    pages.mkdir(parents=True)
    (pages / "index.md").write_text("# One\n\n[gone](nowhere.md)\n", encoding="utf-8")
    done = build(pages.parent, tmp_path)
    assert done.returncode != 0
    assert "nowhere.md" in done.stderr
