"""The benchmarks are found, run at a small size and end with the line that a machine reads."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
LAST = re.compile(r"\w+ ratio=\d+\.\d+ halfcell=\S+ reference=\S+\Z")


@pytest.fixture(autouse=True)
def _beside(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(ROOT))


def test_every_module_is_a_benchmark() -> None:
    from benchmarks.__main__ import module, names

    assert "read" in names()
    for name in names():
        assert callable(module(name).run), name
        assert (module(name).__doc__ or "").strip(), name


def test_the_list_and_an_unknown_name(capsys: pytest.CaptureFixture[str]) -> None:
    from benchmarks.__main__ import main

    assert main([]) == 0
    assert "read " in capsys.readouterr().out
    assert main(["raed"]) == 2
    assert "Did you mean 'read'?" in capsys.readouterr().err


def test_reading_at_a_small_size(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    from benchmarks import __main__ as program
    from benchmarks import read

    result = read.run(size=2_000_000, times=1)
    assert result.halfcell > 0
    assert result.ratio == pytest.approx(result.reference / result.halfcell)
    monkeypatch.setattr(read, "run", lambda: result)
    assert program.main(["read"]) == 0
    out = capsys.readouterr().out.splitlines()
    assert LAST.match(out[-1])
    assert any("memory / arrays" in line for line in out)
    if sys.platform.startswith("linux"):
        assert not any("not measured" in line for line in out)
