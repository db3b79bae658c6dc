"""Is there a response, and is it a wave or a defined peak? Nested models with correlated noise."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.constants import STANDARD_TEMPERATURE, thermal_voltage
from halfcell.errors import MethodError
from halfcell.results import Measured, read_only, unknown
from halfcell.signals.branch import binned
from halfcell.signals.noise import record_noise
from halfcell.voltammetry import shapes

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from halfcell.results import FloatArray

WORDS = ("none", "wave", "peak")
_RHO = (0.0, 0.3, 0.6, 0.8, 0.9, 0.95)
_WIDTHS = (0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.5)
_BINS = 128


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Response:
    """The class of a response with its evidence. Currents in A along the direction looked for.

    ``word`` is "none", "wave" or "peak"; ``decided`` whether its probability reaches the level.
    ``definition`` is 1 - i_after/i_p, i_after the smallest current between the maximum and
    ``span`` V beyond it; ``definition_interval`` holds the middle 95 % of its distribution.
    ``height`` is the fitted maximum over the background; ``prominence`` is the same over the
    standard deviation of the noise of a sample. ``at`` is the potential of the fitted maximum
    (of the half-wave for a wave), ``half`` where half of the height is reached on the way up.
    ``fit`` is the most probable response on ``potential`` (m,), ``background`` what it stands on.
    """

    word: str
    decided: bool
    none: float
    wave: float
    peak: float
    definition: Measured
    definition_low: float
    definition_high: float
    span: float
    height: Measured
    prominence: Measured
    noise: float
    rho: float
    at: float
    half: float
    potential: FloatArray
    current: FloatArray
    fit: FloatArray
    background: FloatArray
    level: float

    def probability(self) -> float:
        """The probability of the word."""
        return {"none": self.none, "wave": self.wave, "peak": self.peak}[self.word]

    def plot(self, ax: Any) -> None:
        """The data, the background and the most probable response."""
        ax.plot(self.potential, self.current, ".", color="0.6", ms=3)
        ax.plot(self.potential, self.background, "--", color="0.3", lw=1)
        ax.plot(self.potential, self.background + self.fit, color="k", lw=1.2)
        ax.set_xlabel("E / V")
        ax.set_ylabel("I / A")


def classify_response(
    potential: ArrayLike,
    current: ArrayLike,
    *,
    sign: int = 1,
    level: float = 0.95,
    temperature: float = STANDARD_TEMPERATURE,
    least_definition: float = 0.1,
    window: tuple[float, float] | None = None,
    blank: ArrayLike | None = None,
    repeatability: float = 0.05,
) -> Response:
    """Decide between no response, a wave and a defined peak.

    Parameters
    ----------
    potential, current : (n,) arrays, V and A
        One branch in scan order with the blank's current taken off.
    sign : int
        +1 for an oxidation, -1 for a reduction.
    level : float
        A response is claimed when the probability of none is below 1 - level.
    least_definition : float
        A maximum counts as a defined peak when the current falls by at least this share after it.
    window : pair of V, optional
        Where the response may stand; default the whole branch.
    blank : (n,) array, A, optional
        The blank that was taken off: a share of it, of standard deviation ``repeatability``, may be
        left over in the difference, because no two records charge and discharge quite alike.

    Raises
    ------
    MethodError
        Fewer than 40 samples, or a branch shorter than 12 RT/F (0.31 V at 25 °C).

    Notes
    -----
    Models: a background (constant, slope, a share of the blank) alone, or with
    a wave, a diffusion peak, a bound layer's peak, or a wave with either peak on it, over a grid of
    positions and widths (0.5 to 4.5 RT/F). Each is weighed by its marginal likelihood in closed form under
    Zellner's g-prior with g = n (Liang et al., J. Am. Stat. Assoc. 2008, 103, 410; from memory), AR(1) noise
    being taken off by generalised least squares for a grid of correlations. None, wave and
    peak are equally likely beforehand. A mixture whose fitted maximum falls by less than
    ``least_definition`` counts as a wave; so does a current that still rises at the end of the scan.
    Valid for one response in the window.
    """
    noise = record_noise(np.asarray(current, float)[np.isfinite(np.asarray(current, float))])
    data = _prepare(potential, current, sign, temperature, window, blank, repeatability, noise.sigma)
    models = _Models(data)
    weights, ratio, heights = models.weigh(least_definition)
    return _conclude(data, models, weights, ratio, heights, noise.sigma, level)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Data:
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


def _prepare(
    potential: ArrayLike,
    current: ArrayLike,
    sign: int,
    temperature: float,
    window: tuple[float, float] | None,
    blank: ArrayLike | None,
    repeatability: float,
    sigma: float,
) -> _Data:
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
    eb, ib, block = binned(e, sign * i, _BINS)
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
        left = binned(e, sign * np.asarray(blank, float)[good], _BINS)[1] / scale
        left = read_only(left - left.mean())
        hold = max(sigma / math.sqrt(block) / scale, 1e-4 * float(np.std(left)) + 1e-12) / repeatability
    return _Data(
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


class _Models:
    """All candidate shapes on the data's axis: (grid, kind, n)."""

    def __init__(self, data: _Data) -> None:
        self.data = data
        x = data.x
        places = np.linspace(data.low, data.high, int(np.clip((data.high - data.low) / 0.6, 8, 72)))
        self.grid = np.array([(p, w) for w in _WIDTHS for p in places])
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
        n_rho, n_kind, n_grid = len(_RHO), len(self.kinds), len(self.grid)
        log = np.full((n_rho, n_kind + 1, n_grid), -np.inf)
        ratio = np.zeros((n_rho, n_kind, n_grid))
        height = np.zeros((n_rho, n_kind, n_grid))
        self.amplitudes = np.zeros((n_rho, n_kind, n_grid, 2))
        self.s2 = np.zeros((n_rho, n_kind, n_grid))
        self.var = np.zeros((n_rho, n_kind, n_grid))
        for r, rho in enumerate(_RHO):
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
        nuisance, y, basis = (_whiten(a, rho) for a in (self.nuisance, self.data.y, self.basis))
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


def _whiten(a: NDArray[np.float64], rho: float) -> NDArray[np.float64]:
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


def _conclude(
    data: _Data,
    models: _Models,
    weights: NDArray[np.float64],
    ratio: NDArray[np.float64],
    heights: NDArray[np.float64],
    noise: float,
    level: float,
) -> Response:
    none = float(weights[:, -1].sum())
    shaped = weights[:, :-1]
    wave = float(shaped[models.wave_like].sum())
    peak = float(shaped[~models.wave_like].sum())
    word = "none" if none >= 1 - level else ("peak" if peak >= wave else "wave")
    probability = {"none": none, "wave": wave, "peak": peak}[word]
    chosen = (
        np.where(models.wave_like if word == "wave" else ~models.wave_like, shaped, 0.0)
        if word != "none"
        else shaped
    )
    if chosen.sum() <= 0:
        chosen = shaped + 1e-300
    r, k, g = np.unravel_index(int(np.argmax(chosen)), chosen.shape)
    kind = models.kinds[k]
    amount = models.amplitudes[r, k, g, : len(kind)]
    fit = amount @ models.basis[g, list(kind)]
    rest = data.y - fit
    q = models.nuisance
    left, right = _whiten(q, _RHO[r]).T, _whiten(rest, _RHO[r])
    if data.blank is not None:
        left, right = np.vstack([left, [0.0, 0.0, data.hold]]), np.append(right, 0.0)
    background = q.T @ np.linalg.lstsq(left, right, rcond=None)[0]
    share = chosen / chosen.sum()
    mean_height = float(np.sum(share * heights))
    spread = float(np.sum(share * ((heights - mean_height) ** 2 + models.var)))
    height = Measured(value=mean_height * data.scale, u=math.sqrt(max(spread, 0)) * data.scale)
    definition, low, high = _definition(share, ratio, models.var, heights)
    top, half = _places(data, fit, kind, models.grid[g])
    return Response(
        word=word,
        decided=probability >= level,
        none=none,
        wave=wave,
        peak=peak,
        definition=definition if word != "none" else unknown("no response was found"),
        definition_low=low if word != "none" else math.nan,
        definition_high=high if word != "none" else math.nan,
        span=float(4 * shapes.REVERSIBLE_HALF_WIDTH * models.grid[g, 1] * abs(data.unit)),
        height=height
        if word != "none"
        else Measured(value=height.value, u=height.u, why="no response was found; the largest that fits"),
        prominence=Measured(value=height.value / noise, u=height.u / noise)
        if noise > 0
        else unknown("the record has no noise"),
        noise=noise,
        rho=float(np.sum(weights.sum(axis=(1, 2)) * np.array(_RHO))),
        at=top,
        half=half,
        potential=data.e,
        current=read_only(data.sign * data.y * data.scale),
        fit=read_only(data.sign * fit * data.scale),
        background=read_only(data.sign * background * data.scale),
        level=level,
    )


def _definition(
    share: NDArray[np.float64],
    ratio: NDArray[np.float64],
    var: NDArray[np.float64],
    heights: NDArray[np.float64],
) -> tuple[Measured, float, float]:
    """Mean, spread and middle 95 % of the definition ratio over all models of the class."""
    mean = float(np.sum(share * ratio))
    noise = np.where(heights > 0, var / np.where(heights > 0, heights, 1.0) ** 2, 0.0) * (
        1 + (1 - ratio) ** 2
    )
    u = math.sqrt(float(np.sum(share * ((ratio - mean) ** 2 + noise))))
    return Measured(value=mean, u=u), max(mean - 1.96 * u, 0.0), min(mean + 1.96 * u, 1.0)


def _places(
    data: _Data, fit: NDArray[np.float64], kind: tuple[int, ...], grid: NDArray[np.float64]
) -> tuple[float, float]:
    start = float(data.e[0])
    if kind == (0,):
        middle = min(float(grid[0]), float(data.x[-1]))
        return start + middle * data.unit, start + middle * data.unit
    top = int(np.argmax(fit))
    below = np.flatnonzero(fit[: top + 1] < 0.5 * fit[top])
    if below.size == 0:
        return float(data.e[top]), float(data.e[0])
    k = int(below[-1])
    part = (0.5 * fit[top] - fit[k]) / (fit[k + 1] - fit[k]) if fit[k + 1] != fit[k] else 0.0
    return float(data.e[top]), float(data.e[k] + part * (data.e[k + 1] - data.e[k]))
