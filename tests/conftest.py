"""Packs that several files of tests make by hand: printed once, read by all."""

from __future__ import annotations

import pytest

from tests.bench_packs import Pack
from tests.printed_jobs import LOOSE, RAILS


@pytest.fixture(scope="session", params=RAILS)
def rail_pack(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Pack:
    """The pack of each job of rails with posts."""
    return Pack(tmp_path_factory.mktemp("rails"), RAILS[request.param])


@pytest.fixture(scope="session", params=LOOSE)
def loose_pack(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Pack:
    """The pack of each job of loose members."""
    return Pack(tmp_path_factory.mktemp("loose"), LOOSE[request.param])
