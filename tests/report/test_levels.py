"""The levels in a recording are those the calibration used, with the readings they were taken from."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np

from halfcell.pipeline.outcome import Exhibit
from halfcell.report.levels import level_lines, log_lines

ADDITIONS = Exhibit(
    kind="additions trace",
    key="additions a",
    title="",
    place="Quantifies",
    recordings=("data/a.txt",),
    data={
        "plateau_start": np.array([30.0, 82.5]),
        "plateau_end": np.array([59.0, 104.0]),
        "plateau": np.array([2.5e-7, 6.5478e-7]),
        "levels": np.array([0.0, 0.00999]),
    },
)
STEP = replace(
    ADDITIONS, kind="sampled steps", recordings=("data/s.txt",), data={"window": [15.0, 20.0], "level": 0.05, "sampled": 3e-6}
)  # fmt: skip


def test_each_level_of_additions_has_its_readings(analysis):
    one = replace(analysis, exhibits=(ADDITIONS, STEP))
    assert level_lines(one, "data/a.txt") == (
        ("0 µM", "0.25000 µA, readings from 30 to 59 s"),
        ("9.99 µM", "0.65478 µA, readings from 82.5 to 104 s"),
    )
    assert level_lines(one, "data/other.txt") == ()


def test_levels_that_nobody_stated_are_counted(analysis):
    unstated = replace(ADDITIONS, data={**ADDITIONS.data, "levels": np.array([])})
    assert [level for level, _ in level_lines(replace(analysis, exhibits=(unstated,)), "data/a.txt")] == [
        "level 1",
        "level 2",
    ]


def test_a_potential_step_says_when_it_was_sampled(analysis):
    ((level, text),) = level_lines(replace(analysis, exhibits=(STEP,)), "data/s.txt")
    assert (level, text) == ("50.0 µM", "3.0000 µA, readings from 15 to 20 s after the step")


def test_the_log_is_told_with_its_hash_and_the_volume():
    amperometry = SimpleNamespace(start_volume=2e-5)
    study = SimpleNamespace(file=SimpleNamespace(analysis=SimpleNamespace(amperometry=amperometry)))
    analysis = SimpleNamespace(files={"data/log.csv": "ab12"}, study=study)
    run = SimpleNamespace(log="data/log.csv")
    assert log_lines(analysis, run) == [
        ("additions", "data/log.csv, sha256 ab12"),
        ("start volume", "20.0 mL"),
    ]
    assert log_lines(analysis, SimpleNamespace(log="")) == []
