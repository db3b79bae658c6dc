"""The candidate models of a response: their shapes on the data's axis and their weights."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.constants import thermal_voltage
from halfcell.errors import MethodError
from halfcell.results import read_only
from halfcell.signals.branch import binned
from halfcell.voltammetry import shapes

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from halfcell.results import FloatArray

RHO = (0.0, 0.3, 0.6, 0.8, 0.9, 0.95)
WIDTHS = (0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.5)
BINS = 128


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Data:
    """A branch binned and scaled, the response upwards."""

    x: FloatArray  # distance along the scan in RT/F
    y: FloatArray  # current, response upwards, scaled to unit spread
    scale: float
    e: FloatArray
    unit: float  # dE/dx, signed
    sign: int
    low: float
    high: float
    blank: FloatArray | None
    hold: float  # weight of the statement that no share of the blank is left


def prepare(
    potential: ArrayLike,
    current: ArrayLike,
    sign: int,
    temperature: float,
    window: tuple[float, float] | None,
    blank: ArrayLike | None,
    repeatability: float,
    sigma: float,
) -> Data:
    """The branch binned, in RT/F along the scan and scaled; refuses what is too short to judge."""
    e, i = np.asarray(potential, float), np.asarray(current, float)
    good = np.isfinite(e) & np.isfinite(i)
    e, i = e[good], i[good]
    if e.size < 40:
        raise MethodError(
            f"Telling a response from noise needs at least 40 samples on the branch; there are {e.size}."
        )
    unit = thermal_voltage(temperature) * (1 if e[-1] > e[0] else -1)
    if abs(e[-1] - e[0]) < 12 * abs(unit):
        raise MethodError(
            f"The branch covers {abs(e[-1] - e[0]):.3f} V; telling a wave from a peak needs {12 * abs(unit):.2f} V."
        )
    eb, ib, block = binned(e, sign * i, BINS)
    x = (eb - eb[0]) / unit
    scale = float(np.std(ib)) or 1.0
    low, high = float(x[0]) + 2.0, float(x[-1]) + 6.0
    if window is not None:
        ends = sorted((w - eb[0]) / unit for w in window)
        low, high = max(low, ends[0]), min(high, ends[1])
    if high <= low:
        raise MethodError(
            f"The window for the response, {window}, leaves nothing of a branch from {e[0]:.3f} to {e[-1]:.3f} V."
        )
    left, hold = None, 0.0
    if blank is not None:
        left = binned(e, sign * np.asarray(blank, float)[good], BINS)[1] / scale
        left = read_only(left - left.mean())
        hold = max(sigma / math.sqrt(block) / scale, 1e-4 * float(np.std(left)) + 1e-12) / repeatability
    return Data(
        x=read_only(x),
        y=read_only(ib / scale),
        scale=scale,
        e=eb,
        unit=unit,
        sign=sign,
        low=low,
        high=high,
        blank=left,
        hold=hold,
    )


class Models:
    """All candidate shapes on the data's axis: (grid, kind, n)."""

    def __init__(self, data: Data) -> None:
        self.data = data
        x = data.x
        places = np.linspace(data.low, data.high, int(np.clip((data.high - data.low) / 0.6, 8, 72)))
        self.grid = np.array([(p, w) for w in WIDTHS for p in places])
        xi = (x[None, :] - self.grid[:, :1]) / self.grid[:, 1:]
        # The position is that of the maximum for the peaks, of the half-height for the wave.
        self.basis = np.stack(
            [
                shapes.wave(xi),
                shapes.reversible(xi + shapes.REVERSIBLE_PEAK_AT) / shapes.REVERSIBLE_PEAK,
                4 * shapes.bound_layer(xi),
            ],
            axis=1,
        )
        line = [np.ones_like(x), (x - x.mean()) / np.ptp(x)]
        self.nuisance = np.stack(line if data.blank is None else [*line, data.blank])
        self.kinds: tuple[tuple[int, ...], ...] = ((0,), (1,), (2,), (0, 1), (0, 2))

    def weigh(self, least: float) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Posterior weights (rho, kind + none, grid), definition ratios and heights (rho, kind, grid)."""
        n_rho, n_kind, n_grid = len(RHO), len(self.kinds), len(self.grid)
        log = np.full((n_rho, n_kind + 1, n_grid), -np.inf)
        ratio = np.zeros((n_rho, n_kind, n_grid))
        height = np.zeros((n_rho, n_kind, n_grid))
        self.amplitudes = np.zeros((n_rho, n_kind, n_grid, 2))
        self.s2 = np.zeros((n_rho, n_kind, n_grid))
        self.var = np.zeros((n_rho, n_kind, n_grid))
        for r, rho in enumerate(RHO):
            self._one(r, rho, log, ratio, height)
        prior = np.full((n_kind + 1, 1), 0.0)
        wave_like = np.ones((n_rho, n_kind, n_grid), bool)
        wave_like[:, 1:] = ratio[:, 1:] < least
        wave_like[:, 0] = True
        self.wave_like = wave_like
        prior[:n_kind] = -math.log(n_grid)
        prior[1:n_kind] -= math.log(n_kind - 1)
        log = log + prior[None]
        log[:, n_kind, 1:] = -np.inf
        log -= log.max()
        weights = np.exp(log)
        return weights / weights.sum(), ratio, height

    def _one(
        self,
        r: int,
        rho: float,
        log: NDArray[np.float64],
        ratio: NDArray[np.float64],
        height: NDArray[np.float64],
    ) -> None:
        n = self.data.x.size
        nuisance, y, basis = (whiten(a, rho) for a in (self.nuisance, self.data.y, self.basis))
        if self.data.blank is not None:
            # One more "observation": the share of the blank that is left over is about zero.
            nuisance = np.column_stack([nuisance, [0.0, 0.0, self.data.hold]])
            y, basis = np.append(y, 0.0), np.concatenate([basis, np.zeros((*basis.shape[:2], 1))], axis=2)
            n += 1
        q, _ = np.linalg.qr(nuisance.T)
        y = y - q @ (q.T @ y)
        flat = basis.reshape(-1, n)
        flat = flat - (flat @ q) @ q.T
        basis = flat.reshape(basis.shape)
        free = n - q.shape[1]
        total = float(y @ y) + 1e-300
        base = 0.5 * math.log(1 - rho * rho) - 0.5 * free * math.log(total)
        log[r, -1, :] = base
        by = basis @ y
        gram = np.einsum("gkn,gln->gkl", basis, basis) + 1e-12 * np.eye(3)
        for k, kind in enumerate(self.kinds):
            amount, explained, spread = _solve(gram, by, kind)
            rest = np.clip(1 - explained / total, 1e-14, 1.0)
            g = float(n)
            log[r, k] = base + 0.5 * (free - len(kind)) * math.log(1 + g) - 0.5 * free * np.log1p(g * rest)
            self.amplitudes[r, k, :, : len(kind)] = amount
            self.s2[r, k] = total * rest / max(free - len(kind), 1)
            self.var[r, k] = spread * self.s2[r, k]
            top, definition = self._describe(kind, amount)
            if kind == (0,):
                self.var[r, k] *= (top / np.where(amount[:, 0] == 0, 1.0, amount[:, 0])) ** 2
            height[r, k], ratio[r, k] = top, definition
            log[r, k] = np.where(top > 0, log[r, k], -np.inf)

    def _describe(
        self, kind: tuple[int, ...], amount: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Height and definition ratio of each grid point's fitted shape (from the maximum to its span)."""
        curve = np.einsum("gk,gkn->gn", amount, self.basis[:, list(kind)])
        top = np.argmax(curve, axis=1)
        height = curve[np.arange(curve.shape[0]), top]
        if kind == (0,):
            return height, np.zeros(curve.shape[0])
        x = self.data.x
        span = 4 * shapes.REVERSIBLE_HALF_WIDTH * self.grid[:, 1]
        after = (x[None, :] >= x[top][:, None]) & (x[None, :] <= (x[top] + span)[:, None])
        low = np.where(after, curve, np.inf).min(axis=1)
        trough = curve.min(axis=1)
        sound = (height > 0) & (-trough < 0.5 * height)
        return np.where(sound, height, -1.0), np.where(sound, 1 - low / np.where(sound, height, 1.0), 0.0)


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
        a = b / gram[:, index, index]
        return a, a[:, 0] * b[:, 0], 1 / gram[:, index[0], index[0]]
    i, j = index
    d = gram[:, i, i] * gram[:, j, j] - gram[:, i, j] ** 2
    d = np.maximum(d, 1e-9 * gram[:, i, i] * gram[:, j, j])
    a0 = (gram[:, j, j] * b[:, 0] - gram[:, i, j] * b[:, 1]) / d
    a1 = (gram[:, i, i] * b[:, 1] - gram[:, i, j] * b[:, 0]) / d
    explained = a0 * b[:, 0] + a1 * b[:, 1]
    spread = (gram[:, j, j] + gram[:, i, i] - 2 * gram[:, i, j]) / d
    return np.stack([a0, a1], 1), explained, np.abs(spread)
