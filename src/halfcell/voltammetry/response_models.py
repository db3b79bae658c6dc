"""The candidate models of a response: their shapes on the data's axis and their weights."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.voltammetry import shapes
from halfcell.voltammetry.response_data import Data

if TYPE_CHECKING:
    from numpy.typing import NDArray

SHAPES = 4
RHO = (0.0, 0.3, 0.6, 0.8, 0.9, 0.95)
WIDTHS = (0.5, 0.7, 1.0, 1.4, 2.0, 2.8, 4.0, 5.6)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Library:
    """All shapes on one axis: ``grid`` (g, 2) of position and width, ``basis`` (g, 3, n) of wave, reversible peak, bound layer, irreversible peak.

    ``inner`` are their inner products (rhos, g, 4, 4) under the AR(1) weight matrix of each correlation,
    ``tops`` (g, 4) their largest values inside the scan, ``falls`` (g, 4) their definition ratios.
    """

    grid: NDArray[np.float64]
    basis: NDArray[np.float64]
    inner: NDArray[np.float64]
    tops: NDArray[np.float64]
    falls: NDArray[np.float64]


@functools.lru_cache(maxsize=2)
def library(axis: bytes, low: float, high: float) -> Library:
    """The shapes for an axis (its float64 bytes): some 3 MB, made in 15 ms.

    Those of the last two axes are kept, the two directions of a record: the records of a study share them.
    """
    x = np.frombuffer(axis)
    places = np.linspace(low, high, int(np.clip((high - low) / 0.6, 8, 72)))
    grid = np.array([(p, w) for w in WIDTHS for p in places])
    xi = (x[None, :] - grid[:, :1]) / grid[:, 1:]
    # The position is that of the maximum for the peaks, of the half-height for the wave.
    peaked = shapes.reversible(xi + shapes.REVERSIBLE_PEAK_AT) / shapes.REVERSIBLE_PEAK
    slow = shapes.irreversible(xi) / shapes.IRREVERSIBLE_PEAK
    basis = np.stack([shapes.wave(xi), peaked, 4 * shapes.bound_layer(xi), slow], axis=1)
    every, near = np.einsum("gkn,gln->gkl", basis, basis), _neighbours(basis)
    within = np.einsum("gkn,gln->gkl", basis[..., 1:-1], basis[..., 1:-1])
    inner = np.stack([every - rho * near + rho * rho * within for rho in RHO])
    described = [_describe(x, basis[:, k], grid[:, 1]) for k in range(SHAPES)]
    tops = np.stack([d[0] for d in described], axis=1)
    falls = np.stack([d[1] for d in described], axis=1)
    falls[:, 0] = 0.0
    return Library(grid=grid, basis=basis, inner=inner, tops=tops, falls=falls)


def _neighbours(basis: NDArray[np.float64]) -> NDArray[np.float64]:
    one: NDArray[np.float64] = np.einsum("gkn,gln->gkl", basis[..., 1:], basis[..., :-1])
    both: NDArray[np.float64] = one + one.transpose(0, 2, 1)
    return both


def _describe(
    x: NDArray[np.float64], curves: NDArray[np.float64], widths: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Height (m,) of curves (m, n), -1 for one that is no rise, and the definition ratio over the span after the maximum."""
    top = np.argmax(curves, axis=1)
    height = curves[np.arange(curves.shape[0]), top]
    at = x[top][:, None]
    span = 4 * shapes.REVERSIBLE_HALF_WIDTH * widths[:, None]
    low = np.where((x[None, :] >= at) & (x[None, :] <= at + span), curves, np.inf).min(axis=1)
    sound = (height > 0) & (-curves.min(axis=1) < 0.5 * height)
    return np.where(sound, height, -1.0), np.where(sound, 1 - low / np.where(sound, height, 1.0), 0.0)


class Models:
    """The candidate models of one record with their posterior weights.

    The weight matrix of AR(1) noise is I - rho N + rho² M with N the neighbours and M the inner samples, so
    that all inner products are taken once and combined for each correlation.
    """

    kinds: tuple[tuple[int, ...], ...] = ((0,), (1,), (2,), (3,), (0, 1), (0, 2), (0, 3))

    def __init__(self, data: Data) -> None:
        self.data = data
        x = np.ascontiguousarray(data.x)
        self.library = library(x.tobytes(), round(data.low, 9), round(data.high, 9))
        self.grid, self.basis = self.library.grid, self.library.basis
        line = [np.ones_like(x), (x - x.mean()) / np.ptp(x)]
        self.nuisance = np.stack(line if data.blank is None else [*line, data.blank])
        sizes = (len(RHO), len(self.kinds), len(self.grid))
        self.amplitudes = np.zeros((*sizes, 2))
        self.var, self.ratio, self.height = np.zeros(sizes), np.zeros(sizes), np.zeros(sizes)
        self.wave_like = np.zeros(sizes, bool)

    def weigh(self, least: float) -> NDArray[np.float64]:
        """Posterior weights (rho, kind + none, grid); fills heights, ratios, variances and what counts as a wave."""
        n_kind, n_grid = len(self.kinds), len(self.grid)
        log = np.full((len(RHO), n_kind + 1, n_grid), -np.inf)
        other, own = self._products()
        for r, rho in enumerate(RHO):
            self._one(
                r,
                rho,
                log,
                other[0] - rho * other[1] + rho * rho * other[2],
                own[0] - rho * own[1] + rho * rho * own[2],
            )
        log[:, :n_kind] -= math.log(n_grid)
        log[:, 1:n_kind] -= math.log(n_kind - 1)
        self._mixtures(log)
        self.wave_like = self.ratio < least
        log -= log.max()
        weights = np.exp(np.maximum(log, -700.0))
        weights[log < -600] = 0.0
        return np.asarray(weights / weights.sum(), float)

    def _products(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Inner products of the shapes, and of background and data, with background and data: (3, g, 3, p + 1), (3, p + 1, p + 1)."""
        rows = np.vstack([self.nuisance, self.data.y])
        flat = self.basis.reshape(-1, rows.shape[1])
        other = [
            flat @ rows.T,
            flat[:, 1:] @ rows[:, :-1].T + flat[:, :-1] @ rows[:, 1:].T,
            flat[:, 1:-1] @ rows[:, 1:-1].T,
        ]
        near = rows[:, 1:] @ rows[:, :-1].T
        own = [rows @ rows.T, near + near.T, rows[:, 1:-1] @ rows[:, 1:-1].T]
        if self.data.blank is not None:
            # One more "observation": the share of the blank that is left over is about zero.
            # The little more keeps a blank that is flat, or itself a straight line, solvable.
            own[0][2, 2] += self.data.hold**2 + 1e-9 * own[0][2, 2] + 1e-12
        shape = (*self.basis.shape[:2], rows.shape[0])
        return np.stack([a.reshape(shape) for a in other]), np.stack(own)

    def _one(
        self,
        r: int,
        rho: float,
        log: NDArray[np.float64],
        other: NDArray[np.float64],
        own: NDArray[np.float64],
    ) -> None:
        p = self.nuisance.shape[0]
        n = self.data.x.size + (self.data.blank is not None)
        inverse = np.linalg.inv(own[:p, :p])
        held = other[..., :p] @ inverse
        left = float(own[p, p] - own[p, :p] @ inverse @ own[:p, p])
        rounding = 1e-13 * float(own[p, p])
        total = max(left, rounding, 1e-300)
        by = other[..., p] - held @ own[:p, p]
        if left <= rounding:
            by = np.zeros_like(by)  # the background is all there is, to the last digit
        gram = self.library.inner[r] - held @ other[..., :p].transpose(0, 2, 1) + 1e-12 * np.eye(SHAPES)
        free = n - p
        base = 0.5 * math.log(1 - rho * rho) - 0.5 * free * math.log(total)
        log[r, -1, 0] = base
        for k, kind in enumerate(self.kinds):
            amount, explained, spread = _solve(gram, by, kind)
            rest = np.clip(1 - explained / total, 1e-14, 1.0)
            log[r, k] = base + 0.5 * (free - len(kind)) * math.log(1 + n) - 0.5 * free * np.log1p(n * rest)
            self.amplitudes[r, k, :, : len(kind)] = amount
            self.var[r, k] = spread * total * rest / max(free - len(kind), 1)
            if len(kind) == 1:
                self.height[r, k] = amount[:, 0] * self.library.tops[:, kind[0]]
                self.ratio[r, k] = self.library.falls[:, kind[0]]
                log[r, k, self.height[r, k] <= 0] = -np.inf
                if kind == (0,):
                    self.var[r, k] *= self.library.tops[:, 0] ** 2

    def _mixtures(self, log: NDArray[np.float64]) -> None:
        """Heights and ratios of the mixtures that matter; those that are no rise are struck out."""
        open_ = np.zeros(self.var.shape, bool)
        open_[:, SHAPES:] = True
        shape = self.var.shape[1:]
        while True:
            todo = np.flatnonzero(open_ & (log[:, :-1] > log.max() - 40))
            if todo.size == 0:
                break
            # The best first: when one of them stands, the rest of the field narrows.
            todo = todo[np.argsort(-log[:, :-1].reshape(-1)[todo])][:400]
            r, k, g = np.unravel_index(todo, (log.shape[0], *shape))
            second = k - SHAPES + 1
            amounts = self.amplitudes[r, k, g]
            curves = amounts[:, :1] * self.basis[g, 0] + amounts[:, 1:] * self.basis[g, second]
            self.height[r, k, g], self.ratio[r, k, g] = _describe(self.data.x, curves, self.grid[g, 1])
            open_[r, k, g] = False
            struck = self.height[r, k, g] <= 0
            log[r[struck], k[struck], g[struck]] = -np.inf
        log[:, :-1][open_] = -np.inf


def whiten(a: NDArray[np.float64], rho: float) -> NDArray[np.float64]:
    """Rows free of AR(1) correlation (the last axis is the scan)."""
    out = np.array(a, float)
    out[..., 1:] -= rho * a[..., :-1]
    out[..., 0] *= math.sqrt(1 - rho * rho)
    return out


def _solve(
    gram: NDArray[np.float64], by: NDArray[np.float64], kind: tuple[int, ...]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Amplitudes (g, k), explained sum of squares (g,) and relative variance of the summed height (g,)."""
    index = list(kind)
    b = by[:, index]
    if len(index) == 1:
        own = gram[:, index[0], index[0]]
        a = b / own[:, None]
        return a, a[:, 0] * b[:, 0], 1 / own
    i, j = index
    d = gram[:, i, i] * gram[:, j, j] - gram[:, i, j] ** 2
    d = np.maximum(d, 1e-9 * gram[:, i, i] * gram[:, j, j])
    a0 = (gram[:, j, j] * b[:, 0] - gram[:, i, j] * b[:, 1]) / d
    a1 = (gram[:, i, i] * b[:, 1] - gram[:, i, j] * b[:, 0]) / d
    explained = a0 * b[:, 0] + a1 * b[:, 1]
    spread = (gram[:, j, j] + gram[:, i, i] - 2 * gram[:, i, j]) / d
    return np.stack([a0, a1], 1), explained, np.abs(spread)
