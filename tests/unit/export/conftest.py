"""The two jobs as fixtures."""

from __future__ import annotations

import pytest

from optimiser.domain.outcome import Proposal
from optimiser.domain.request import Request
from optimiser.export.sheet import Sheet
from tests.unit.export.jobs import balm_proposal, balm_request, mask_proposal, mask_request, sheet_of


@pytest.fixture
def mask() -> tuple[Proposal, Request]:
    return mask_proposal(), mask_request()


@pytest.fixture
def balm() -> tuple[Proposal, Request]:
    return balm_proposal(), balm_request()


@pytest.fixture
def mask_sheet(mask: tuple[Proposal, Request]) -> Sheet:
    return sheet_of(*mask)


@pytest.fixture
def balm_sheet(balm: tuple[Proposal, Request]) -> Sheet:
    return sheet_of(*balm)
