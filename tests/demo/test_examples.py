"""The examples run."""

from __future__ import annotations

import runpy
import sys
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[2] / "examples"


def test_three_lines(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from halfcell.demo import write
    from halfcell.demo.plan import CANDIDATES, Plan

    _, _, nickel, ruthenium = CANDIDATES
    plan = Plan(
        materials=((nickel, 2), (ruthenium, 2)),
        blank_rates=(0.05,),
        studied=0,
        cycles=1,
        fields=1,
        image_shape=(240, 320),
    )
    write(tmp_path / "study", plan=plan)
    monkeypatch.setattr(sys, "argv", ["three_lines.py", str(tmp_path / "study")])
    monkeypatch.setenv("HALFCELL_CACHE", "off")
    runpy.run_path(str(EXAMPLES / "three_lines.py"), run_name="__main__")
    shown = capsys.readouterr().out
    assert "sensitivity" in shown
    assert "nickel" in shown
    assert "ruthenium" in shown
