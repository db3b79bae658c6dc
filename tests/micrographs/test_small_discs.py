"""Blurred discs of known size are measured without bias, down to the size of the blur."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from halfcell.micrographs.small_discs import Discs, Neighbours, fit_discs

NOBODY = Neighbours(
    of=np.empty(0, np.intp), x=np.empty(0), y=np.empty(0), radius=np.empty(0), contrast=np.empty(0), small=np.empty(0, np.intp)
)  # fmt: skip


def _painted(
    x: np.ndarray, y: np.ndarray, r: np.ndarray, contrast: np.ndarray, shape: tuple[int, int], blur: float
) -> np.ndarray:
    """Discs on a level of 0.3, by nine times finer pixels, blurred and brought to size."""
    n = 9
    fine = np.zeros((shape[0] * n, shape[1] * n))
    for u, v, q, c in zip(x, y, r, contrast, strict=True):
        left, top = int((u - q - 1) * n), int((v - q - 1) * n)
        size = int((2 * q + 3) * n)
        row, column = np.mgrid[top : top + size, left : left + size]
        inside = np.hypot((column + 0.5) / n - 0.5 - u, (row + 0.5) / n - 0.5 - v) < q
        fine[row[inside], column[inside]] = c
    fine = gaussian_filter(fine, blur * n, truncate=4)
    return 0.3 + fine.reshape(shape[0], n, shape[1], n).mean(axis=(1, 3))


def _fitted(noise: float, scatter: float, seed: int) -> tuple[Discs, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    column, row = np.meshgrid(np.arange(8) * 20 + 14.0, np.arange(8) * 20 + 14.0)
    x, y = column.ravel() + rng.uniform(-1, 1, 64), row.ravel() + rng.uniform(-1, 1, 64)
    r = np.linspace(1.4, 4.5, 64)[rng.permutation(64)]
    contrast = 0.2 * (1 + scatter * rng.standard_normal(64))
    image = _painted(x, y, r, contrast, (168, 168), 1.2) + noise * rng.standard_normal((168, 168))
    found = fit_discs(
        image.astype(np.float32), x + rng.uniform(-0.4, 0.4, 64), y + rng.uniform(-0.4, 0.4, 64),
        r * rng.uniform(0.9, 1.3, 64), np.full(64, 0.17), np.full((64, 32), 0.3), NOBODY,
        blur=1.35, noise=max(noise, 0.001), typical=0.18,
    )  # fmt: skip
    return found, r, np.hypot(found.x - x, found.y - y)


def test_discs_without_noise_are_got_back() -> None:
    found, r, moved = _fitted(0.0, 0.0, 1)
    assert found.good.all()
    assert found.radius == pytest.approx(r, rel=0.02)
    assert moved.max() < 0.03
    # A pixel's own width adds 1/12 to the variance of the blur.
    assert found.blur == pytest.approx(np.sqrt(1.2**2 + 1 / 12), rel=0.01)
    assert found.typical == pytest.approx(0.2, rel=0.01)


def test_noise_does_not_bias_and_is_told() -> None:
    runs = [_fitted(0.03, 0.08, seed) for seed in range(5)]
    error = np.concatenate([found.radius - r for found, r, _ in runs])
    told = np.concatenate([found.u_radius for found, _, _ in runs])
    r = np.concatenate([r for _, r, _ in runs])
    assert np.concatenate([found.good for found, _, _ in runs]).mean() > 0.97
    assert error.mean() / r.mean() == pytest.approx(0.0, abs=0.015)
    assert error[r < 2].mean() / 1.7 == pytest.approx(0.0, abs=0.05)
    # The uncertainty each fit states is the one it has.
    assert np.std(error / told) == pytest.approx(1.0, abs=0.25)
    assert np.mean([found.scatter / found.typical for found, _, _ in runs]) == pytest.approx(0.08, abs=0.05)


def test_a_neighbour_in_the_window_is_taken_off() -> None:
    x, y, r = np.array([30.0, 36.5]), np.array([30.0, 30.0]), np.array([3.0, 3.0])
    image = _painted(x, y, r, np.full(2, 0.2), (60, 66), 1.2).astype(np.float32)
    both = Neighbours(of=np.array([0, 1]), x=x[::-1], y=y[::-1], radius=r, contrast=np.full(2, 0.2), small=np.array([1, 0]))  # fmt: skip
    given = {"blur": 1.23, "noise": 0.005, "typical": 0.2}
    start = (image, x, y, r * 1.1, np.full(2, 0.2), np.full((2, 32), 0.3))
    assert fit_discs(*start, both, **given).radius == pytest.approx(r, rel=0.02)
