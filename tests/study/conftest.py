"""A small right study that tests then spoil."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

STUDY = """\
# Invented data for tests.
format = 1
analyte = "nitrite"  # what is sensed
reference_electrode = "Ag/AgCl, 3 M KCl"

[electrodes.Ni-1]
material = "nickel"
area = "0.0707 cm^2"

[electrodes.Cu-1]
material = "copper"
area = "0,0707 cm^2"

[solutions.base]
description = "0.1 M NaOH"
oxygen = "removed"
"""

RUNS = """\
file,electrode,technique,solution,concentration,scan_rate
data/ni1_blank.csv,Ni-1,cyclic voltammogram,base,,50 mV/s
data/ni1_1mM.csv,Ni-1,cyclic voltammogram,base,1 mmol/L,50 mV/s
data/cu1_blank.csv,Cu-1,cyclic voltammogram,base,,50 mV/s
"""


def voltammogram(height: float = 0.0, rate: float = 0.05, cycles: int = 1) -> str:
    """A triangular sweep with a charging current and one peak, as plain CSV."""
    half = np.linspace(0.0, 0.8, 81)
    e = np.tile(np.concatenate([half, half[-2::-1]]), cycles)
    t = np.arange(e.size) * 0.01 / rate
    up = np.gradient(e) >= 0
    i = 2e-6 * np.where(up, 1, -1) + height * np.exp(-(((e - 0.5) / 0.05) ** 2)) * up
    lines = ["Time/s,E/V,I/A"] + [f"{a:.3f},{b:.4f},{c:.5e}" for a, b, c in zip(t, e, i, strict=True)]
    return "\n".join(lines) + "\n"


@pytest.fixture
def sweep() -> Callable[..., str]:
    """``voltammogram`` for tests that write exports of their own."""
    return voltammogram


@pytest.fixture
def study(tmp_path: Path) -> Path:
    folder = tmp_path / "study"
    (folder / "data").mkdir(parents=True)
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")
    (folder / "runs.csv").write_text(RUNS, encoding="utf-8")
    for name, height in (("ni1_blank", 0.0), ("ni1_1mM", 1e-5), ("cu1_blank", 1e-8)):
        (folder / "data" / f"{name}.csv").write_text(voltammogram(height), encoding="utf-8")
    return folder
