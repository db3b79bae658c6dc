"""make test runs once more what failed, and nothing where the run itself went wrong."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

MAKEFILE = Path(__file__).parent.parent / "Makefile"


@pytest.mark.skipif(
    not (shutil.which("make") and Path("/bin/bash").exists()), reason="no make or no bash here"
)
@pytest.mark.parametrize(
    ("codes", "ended"), [((0,), 0), ((1, 0), 0), ((1, 1), 2), ((2,), 2), ((3,), 2), ((5,), 2)]
)
def test_only_ordinary_failures_are_run_once_more(codes: tuple[int, ...], ended: int, tmp_path: Path) -> None:
    shutil.copy(MAKEFILE, tmp_path)
    for name in (
        "requirements.txt",
        "pyproject.toml",
        "tools/ensure_chromium.sh",
        ".venv/bin/python",
        ".venv/ready",
    ):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("", encoding="utf-8")
    python = tmp_path / ".venv" / "bin" / "python"
    python.write_text(
        '#!/bin/bash\necho "$@" >> calls\ncodes=(' + " ".join(map(str, codes)) + ")\n"
        'exit "${codes[$(($(wc -l < calls) - 1))]}"\n',
        encoding="utf-8",
    )
    python.chmod(0o755)
    done = subprocess.run(
        ["make", "test"], cwd=tmp_path, env=os.environ | {"MAKEFLAGS": ""}, capture_output=True, check=False
    )
    calls = (tmp_path / "calls").read_text("utf-8").splitlines()
    assert done.returncode == ended
    assert len(calls) == len(codes)
    assert ["--last-failed" in call for call in calls] == [False, True][: len(codes)]
