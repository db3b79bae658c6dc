from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.signals.segments import find_segments
from halfcell.signals.truth import programme


def test_plain_triangle() -> None:
    p = programme((-0.4, 0.4, -0.4), 0.1)
    found = find_segments(p.potential, p.time)
    assert [s.direction for s in found.segments] == [1, -1]
    assert found.quiet == 0
    assert found.cycles == 1
    assert found.step == pytest.approx(1e-3)
    assert abs(found.scan_rate.value - 0.1) < 3 * found.scan_rate.u


def test_noisy_staircase_with_quiet_time_beginning_in_the_middle() -> None:
    p = programme((0.0, 0.4, -0.4, 0.4, -0.4, 0.0), 0.1, quiet=2.0, stair=3)
    noisy = p.potential + np.random.default_rng(1).normal(size=p.time.size) * 2e-4
    found = find_segments(noisy, p.time)
    assert [s.direction for s in found.segments] == [1, -1, 1, -1, 1]
    assert [s.cycle for s in found.segments] == [1, 1, 2, 2, 3]
    assert abs(found.quiet - 200) < 8
    assert found.scan_rate.value == pytest.approx(0.1, rel=0.01)
    assert found.branch(-1, 1) is found.segments[1]


def test_stair_length_is_found() -> None:
    p = programme((0.0, 0.5), 0.05, step=1e-3, stair=4)
    assert find_segments(p.potential, p.time).stair == 4


def test_cycles_of_the_file_are_kept() -> None:
    p = programme((0.0, 0.4, 0.0, 0.4, 0.0), 0.1)
    n = p.time.size
    cycle = np.where(np.arange(n) <= n // 2, 1, 2)
    found = find_segments(p.potential, p.time, cycle)
    assert [s.cycle for s in found.segments] == [1, 1, 2, 2]


def test_gaps_in_time_are_counted() -> None:
    p = programme((0.0, 0.5, 0.0), 0.05)
    keep = np.ones(p.time.size, bool)
    keep[[100, 101, 102, 400]] = False
    assert find_segments(p.potential[keep], p.time[keep]).missing == 4


def test_unequal_segments_without_time() -> None:
    p = programme((0.0, 0.5, -0.2), 0.05)
    found = find_segments(p.potential)
    assert [round(s.span, 2) for s in found.segments] == [0.5, 0.7]
    assert not np.isfinite(found.scan_rate.value)
    assert "no time" in found.scan_rate.why


@pytest.mark.parametrize("potential", [[0.0] * 20, [0.0, 0.1], [0.0, np.nan, 0.1, 0.2, 0.3, 0.4]])
def test_what_is_no_programme_is_refused(potential: list[float]) -> None:
    with pytest.raises(MethodError):
        find_segments(potential)
