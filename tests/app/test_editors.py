from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from halfcell.app.routes.editors import editors

LEFT_OUT = """format = 1

[[adjustment]]
kind = "reject point"
electrode = "Ni-1"
file = "data/a.csv"
concentration = "50 umol/L"
why = "a bubble"
"""


def test_a_point_left_out_by_hand_can_be_put_back_as_it_is_written(
    small_analysis: Any, tmp_path: Path
) -> None:
    analysis = replace(small_analysis, study=replace(small_analysis.study, folder=tmp_path))
    assert editors(analysis, "quantifies")["point-rejector"]["rejected"] == []
    (tmp_path / "adjustments.toml").write_text(LEFT_OUT, "utf-8")
    (one,) = editors(analysis, "quantifies")["point-rejector"]["rejected"]
    assert one["written"] == "50 umol/L"
    assert one["concentration"] == pytest.approx(0.05)
    assert one["why"] == "a bubble"
    (tmp_path / "adjustments.toml").write_text(LEFT_OUT.replace('why = "a bubble"', "why ="), "utf-8")
    assert editors(analysis, "quantifies")["point-rejector"]["rejected"] == []


def test_every_calibration_is_offered_the_main_ones_first(small_analysis: Any) -> None:
    lines = editors(small_analysis, "quantifies")["point-rejector"]["lines"]
    shown = {e.key: e.data["main"] for e in small_analysis.exhibits if e.kind == "calibration"}
    assert {line["key"] for line in lines} == set(shown)
    main = [shown[line["key"]] for line in lines]
    assert main == sorted(main, reverse=True)
