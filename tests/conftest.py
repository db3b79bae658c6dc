"""Fixtures for all tests."""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="session")
def common_root(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Path:
    """A folder that all processes of one test run share."""
    base = tmp_path_factory.getbasetemp()
    return base if worker_id == "master" else base.parent


@pytest.fixture(autouse=True)
def _own_cache(common_root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test reads or writes the user's cache; one cache a test run, kept by content."""
    monkeypatch.setenv("HALFCELL_CACHE", str(common_root / "cache"))


@pytest.fixture(scope="session")
def small_demo(common_root: Path) -> Path:
    """The small demo study, written once a test run. Read only: copy it to change it."""
    folder, lock = common_root / "small-demo", common_root / "small-demo.lock"
    while not folder.exists():
        try:
            lock.mkdir()
        except FileExistsError:
            time.sleep(0.2)
            continue
        from halfcell.demo import write

        write(common_root / "small-demo.part", small=True)
        (common_root / "small-demo.part").rename(folder)
    return folder


@pytest.fixture(scope="session")
def small_analysis(small_demo: Path, common_root: Path) -> Any:
    """The small demo analysed; the first process to ask does the work, the others find it kept."""
    import halfcell
    from halfcell.cache import Cache

    return halfcell.analyze(small_demo, cache=Cache(common_root / "cache"))


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """Real measurements beside the project; absent on most machines."""
    folder = Path(os.environ.get("HALFCELL_SHARED_DATA", ROOT.parent / "shared" / "data"))
    if not folder.is_dir():
        pytest.skip("the folder of real measurements is not beside this checkout")
    return folder
