"""A page as PDF, by a library that is an extra: the browser's own print does without it."""

from __future__ import annotations

from typing import Any

from optimiser.errors import OptimiserError

EXTRA = "formula-optimiser[pdf]"


def pdf_of(page: str) -> bytes:
    """The page as PDF, tagged for readers; the same page gives the same bytes.

    Nothing is fetched: neither from the net nor from the disk. Raises OptimiserError where the library or
    what it needs of the system is missing.
    """
    try:
        from weasyprint import HTML
    except (ImportError, OSError) as fault:
        raise OptimiserError(
            "PDF needs a library that is not installed here",
            f'python -m pip install "{EXTRA}", or print the HTML page from your browser',
        ) from fault
    found: bytes = HTML(string=page, url_fetcher=_refuse()).write_pdf(pdf_variant="pdf/ua-1")
    return found


def _refuse() -> Any:
    from weasyprint.urls import URLFetcher

    return URLFetcher(allowed_protocols=set())
