"""Taking off the blank: branch by branch, on the sample's potentials, its noise propagated."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import read_only
from halfcell.signals.branch import Branch, interpolated
from halfcell.signals.noise import record_noise

if TYPE_CHECKING:
    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Subtracted:
    """A branch less its blank. ``potential`` (n,) V in scan order, currents (n,) A.

    ``noise`` is the standard deviation of the difference, from both records' own noise;
    ``lost`` the number of the sample's points outside the blank's range; ``stretch`` the factor
    the blank was multiplied with (the ratio of the scan rates; 1 where they agree).
    """

    potential: FloatArray
    sample: FloatArray
    blank: FloatArray
    difference: FloatArray
    noise: float
    lost: int
    stretch: float
    note: str = ""

    def plot(self, ax: Any) -> None:
        """Sample, blank and difference."""
        ax.plot(self.potential, self.sample, color="0.4", lw=1, label="sample")
        ax.plot(self.potential, self.blank, color="0.7", lw=1, label="blank")
        ax.plot(self.potential, self.difference, color="k", lw=1.2, label="difference")
        ax.set_xlabel("E / V")
        ax.set_ylabel("I / A")
        ax.legend(frameon=False)


def subtract_blank(sample: Branch, blank: Branch, *, rates: tuple[float, float] | None = None) -> Subtracted:
    """The sample's branch less the blank's at the same potentials.

    Parameters
    ----------
    sample, blank : Branch
        Of the same direction.
    rates : pair of V/s, optional
        Scan rates of sample and blank. Within 2 % nothing is done; up to a factor of 1.5 the blank
        is stretched by their ratio (a charging current is proportional to the scan rate), which the note says.

    Raises
    ------
    MethodError
        Branches of different direction, scan rates further apart than that, or less than half
        of the sample's potentials covered by the blank.
    """
    if sample.direction != blank.direction:
        raise MethodError("The sample's branch and the blank's go in different directions.")
    stretch, note = 1.0, ""
    if rates is not None and all(math.isfinite(r) and r > 0 for r in rates):
        ratio = rates[0] / rates[1]
        if not 1 / 1.5 <= ratio <= 1.5:
            raise MethodError(
                f"The blank was taken at {rates[1]:.4g} V/s, the sample at {rates[0]:.4g} V/s: too far apart to subtract."
            )
        if abs(ratio - 1) > 0.02:
            stretch = ratio
            note = f"the blank, taken at {rates[1]:.4g} V/s, was multiplied by {ratio:.3f} to stand for {rates[0]:.4g} V/s"
    under = np.asarray(interpolated(blank, sample.potential)) * stretch
    known = np.isfinite(under)
    if known.sum() < 0.5 * known.size:
        raise MethodError(
            f"The blank covers {blank.potential.min():.3f} to {blank.potential.max():.3f} V, the sample "
            f"{sample.potential.min():.3f} to {sample.potential.max():.3f} V: less than half in common."
        )
    e, i, b = sample.potential[known], sample.current[known], under[known]
    own, its = record_noise(sample.current).sigma, record_noise(blank.current).sigma * stretch
    return Subtracted(
        potential=read_only(e),
        sample=read_only(i),
        blank=read_only(b),
        difference=read_only(i - b),
        noise=math.hypot(own, its),
        lost=int((~known).sum()),
        stretch=stretch,
        note=note,
    )
