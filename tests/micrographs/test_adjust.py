"""A person's decisions are replayed by position, exactly, and never lost silently."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.micrographs.adjust import adjust, contains, masked, measured, nearest_part
from halfcell.micrographs.detect import detect
from halfcell.micrographs.truth import make_micrograph
from halfcell.results import same


@pytest.fixture(scope="module")
def found():
    made = make_micrograph(np.random.default_rng(1), shape=(300, 400), noise=0.01)
    return detect(made.pixels)


def _inner(found) -> int:
    return int(np.argmin(np.hypot(found.x - 200, found.y - 150)))


def test_nothing_decided_changes_nothing(found) -> None:
    assert same(adjust(found, []), found)


def test_exclude_and_add_back(found) -> None:
    i = _inner(found)
    x, y, d = found.x[i], found.y[i], found.diameter[i]
    less = adjust(found, [{"kind": "exclude particle", "x": x + d / 4, "y": y}])
    assert len(less) == len(found) - 1
    assert not np.isclose(less.x, x).any()
    again = adjust(less, [{"kind": "add particle", "x": x, "y": y, "diameter": d}])
    assert len(again) == len(found)
    assert again.diameter.sum() == pytest.approx(found.diameter.sum())


def test_split_keeps_the_area_and_merge_undoes_it(found) -> None:
    i = _inner(found)
    x, y, d = found.x[i], found.y[i], found.diameter[i]
    points = [(x - d / 5, y), (x + d / 5, y)]
    two = adjust(found, [{"kind": "split particle", "points": points}])
    assert len(two) == len(found) + 1
    near = np.hypot(two.x - x, two.y - y) < d / 2
    assert near.sum() == 2
    area = measured(found.polygon(i))[0]
    assert (two.diameter[near] ** 2).sum() * np.pi / 4 == pytest.approx(area, rel=1e-6)
    one = adjust(two, [{"kind": "merge particles", "points": points}])
    assert len(one) == len(found)
    merged = np.argmin(np.hypot(one.x - x, one.y - y))
    assert one.diameter[merged] == pytest.approx(d, rel=0.02)


def test_mask_takes_particles_and_area(found) -> None:
    box = [(-1.0, -1.0), (150.0, -1.0), (150.0, 301.0), (-1.0, 301.0)]
    rest = adjust(found, [{"kind": "mask region", "polygon": box}])
    assert (rest.x > 150).all()
    assert len(rest) == (found.x > 150).sum()
    mask = masked([{"kind": "mask region", "polygon": box}], 300, 400)
    assert mask is not None
    assert mask.sum() == pytest.approx(150 * 300, rel=0.01)
    assert mask[:, :150].all()
    assert not mask[:, 152:].any()
    assert masked([{"kind": "exclude particle", "x": 1.0, "y": 1.0}], 300, 400) is None


def test_replay_is_exact_and_in_order(found) -> None:
    i = _inner(found)
    decisions = [
        {"kind": "split particle", "points": [(found.x[i] - 3, found.y[i]), (found.x[i] + 3, found.y[i])]},
        {"kind": "exclude particle", "x": found.x[i] - 3, "y": found.y[i]},
    ]
    assert same(adjust(found, decisions), adjust(found, decisions))
    assert len(adjust(found, decisions)) == len(found)


@pytest.mark.parametrize(
    ("decision", "said"),
    [
        ({"kind": "exclude particle", "x": -50.0, "y": -50.0}, "no outline is around"),
        ({"kind": "add particle", "x": 900.0, "y": 10.0, "diameter": 8.0}, "outside the image"),
        ({"kind": "split particle", "points": [(-50.0, 1.0), (-60.0, 1.0)]}, "do not lie in one outline"),
        ({"kind": "merge particles", "points": [(-50.0, 1.0), (-60.0, 1.0)]}, "no outline is around"),
    ],
)
def test_decisions_that_fit_nothing_are_refused(found, decision: dict, said: str) -> None:
    with pytest.raises(MethodError, match=said):
        adjust(found, [decision])


def test_polygons() -> None:
    square = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]])
    assert contains(square, 1, 1)
    assert not contains(square, 5, 1)
    assert measured(square) == pytest.approx([16, 2, 2])
    parts = [nearest_part(square.astype(np.float32), np.array([[1.0, 2.0], [3.0, 2.0]]), k) for k in (0, 1)]
    assert [measured(p)[0] for p in parts] == pytest.approx([8, 8])
