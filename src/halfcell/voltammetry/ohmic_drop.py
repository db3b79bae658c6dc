"""Taking the ohmic drop off after the measurement, from a stated resistance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OhmicCorrected:
    """``potential`` (n,) V less I·R; ``largest`` the largest correction (V); ``folds`` is True where the
    corrected potential runs backwards within a sweep, the mark of too high a resistance."""

    potential: FloatArray
    largest: float
    folds: bool
    note: str


def correct_ohmic_drop(potential: ArrayLike, current: ArrayLike, *, resistance: float) -> OhmicCorrected:
    """E - I R, oxidation current positive (V, A, ohm).

    The correction puts the potentials right, not the shape: the true scan rate varied along the peak, and
    peak currents stay as they were. Raises MethodError for a negative resistance or arrays of unequal length.
    Bard & Faulkner, Electrochemical Methods, 2nd ed., 1.3.4 and 15.6 (from memory).
    """
    e, i = np.asarray(potential, float), np.asarray(current, float)
    if resistance < 0 or not np.isfinite(resistance):
        raise MethodError(f"A resistance is zero or above; it is {resistance!r} ohm.")
    if e.shape != i.shape:
        raise MethodError(f"Potential and current have unequal lengths, {e.size} and {i.size}.")
    drop = i * resistance
    out = e - drop
    folds = e.size > 30 and bool(np.mean(_runs_back(e, out)) > 0.01)
    largest = float(np.nanmax(np.abs(drop))) if e.size else 0.0
    note = f"I·R of {resistance:g} ohm taken off, at most {largest * 1e3:.1f} mV"
    if folds:
        note += "; the corrected potential runs backwards in places: the resistance is too high or the current too noisy"
    return OhmicCorrected(potential=read_only(out), largest=largest, folds=folds, note=note)


def _runs_back(before: FloatArray, after: FloatArray, width: int = 9) -> NDArray[np.bool_]:
    """Where the moving mean of the corrected potential goes against the programme's direction."""
    mean = np.ones(width) / width
    a, b = np.diff(np.convolve(before, mean, mode="valid")), np.diff(np.convolve(after, mean, mode="valid"))
    return np.asarray(a * b < 0, bool)
