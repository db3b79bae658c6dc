"""Is there a response, and is it a wave or a defined peak? Nested models with correlated noise."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.constants import STANDARD_TEMPERATURE
from halfcell.results import Measured, read_only, unknown
from halfcell.signals.noise import record_noise
from halfcell.voltammetry import shapes
from halfcell.voltammetry.response_data import Data, prepare
from halfcell.voltammetry.response_models import RHO, Models, whiten

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from halfcell.results import FloatArray

WORDS = ("none", "wave", "peak")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Response:
    """The class of a response with its evidence. Currents in A along the direction looked for.

    ``word`` is "none", "wave" or "peak"; ``decided`` whether its probability reaches the level.
    ``definition`` is 1 - i_after/i_p, i_after the smallest current between the maximum and
    ``span`` V beyond it; ``definition_interval`` holds the middle 95 % of its distribution.
    ``height`` is the fitted maximum over the background; ``prominence`` is the same over the
    standard deviation of the noise of a sample. ``at`` is the potential of the fitted maximum
    (for a wave, where its current is highest), ``half`` where half of the height is reached on the way up;
    ``complete`` is False where the current still rises at the end of the scan.
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
    complete: bool
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
        Fewer than 30 samples, or a branch shorter than 12 RT/F (0.31 V at 25 °C).

    Notes
    -----
    Models: a background (constant, slope, a share of the blank) alone, or with
    a wave, the peak of a reversible, an irreversible or a bound couple, or a wave with one of these on it,
    over a grid of positions and widths (0.5 to 5.6 RT/F). Each is weighed by its marginal likelihood in closed form under
    Zellner's g-prior with g = n (Liang et al., J. Am. Stat. Assoc. 2008, 103, 410; from memory), AR(1) noise
    being taken off by generalised least squares for a grid of correlations. None, wave and
    peak are equally likely beforehand. A mixture whose fitted maximum falls by less than
    ``least_definition`` counts as a wave; so does a current that still rises at the end of the scan.
    Valid for one response in the window.
    """
    noise = record_noise(np.asarray(current, float)[np.isfinite(np.asarray(current, float))])
    data = prepare(potential, current, sign, temperature, window, blank, repeatability, noise.sigma)
    models = Models(data)
    return _conclude(data, models, models.weigh(least_definition), noise.sigma, level)


def _conclude(
    data: Data, models: Models, weights: NDArray[np.float64], noise: float, level: float
) -> Response:
    ratio, heights = models.ratio, models.height
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
    left, right = whiten(q, RHO[r]).T, whiten(rest, RHO[r])
    if data.blank is not None:
        left, right = np.vstack([left, [0.0, 0.0, data.hold]]), np.append(right, 0.0)
    background = q.T @ np.linalg.lstsq(left, right, rcond=None)[0]
    share = chosen / chosen.sum()
    mean_height = float(np.sum(share * heights))
    spread = float(np.sum(share * ((heights - mean_height) ** 2 + models.var)))
    height = Measured(value=mean_height * data.scale, u=math.sqrt(max(spread, 0)) * data.scale)
    definition, low, high = _definition(share, ratio, models.var, heights)
    top, half = _places(data, fit)
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
        rho=float(np.sum(weights.sum(axis=(1, 2)) * np.array(RHO))),
        at=top,
        half=half,
        complete=bool(fit[-1] - fit[-1 - fit.size // 16] < 0.05 * fit.max()),
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


def _places(data: Data, fit: NDArray[np.float64]) -> tuple[float, float]:
    """Potential of the fitted maximum, and of half its height before it."""
    top = int(np.argmax(fit))
    below = np.flatnonzero(fit[: top + 1] < 0.5 * fit[top])
    if below.size == 0:
        return float(data.e[top]), float(data.e[0])
    k = int(below[-1])
    part = (0.5 * fit[top] - fit[k]) / (fit[k + 1] - fit[k]) if fit[k + 1] != fit[k] else 0.0
    return float(data.e[top]), float(data.e[k] + part * (data.e[k + 1] - data.e[k]))
