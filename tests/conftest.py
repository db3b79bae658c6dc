"""Fixtures for all tests."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.fixture(autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test reads or writes the user's cache; one cache a process of the test run."""
    base = tmp_path_factory.getbasetemp() / "cache"
    monkeypatch.setenv("HALFCELL_CACHE", str(base))


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """Real measurements beside the project; absent on most machines."""
    folder = Path(os.environ.get("HALFCELL_SHARED_DATA", ROOT.parent / "shared" / "data"))
    if not folder.is_dir():
        pytest.skip("the folder of real measurements is not beside this checkout")
    return folder
