"""Where sizes vary: between electrodes, between fields of an electrode, between particles of a field."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


@dataclass(frozen=True, slots=True, kw_only=True)
class NestedVariance:
    """Variance components (input's unit squared; never below 0) and their counts.

    ``between_electrodes`` and ``between_fields`` are nan where there is only one of each.
    ``p_electrodes``, ``p_fields`` of the F tests that a component is zero.
    """

    between_electrodes: float
    between_fields: float
    within_fields: float
    electrodes: int
    fields: int
    particles: int
    p_electrodes: float
    p_fields: float

    @property
    def total(self) -> float:
        """Sum of the components that could be estimated."""
        return float(np.nansum([self.between_electrodes, self.between_fields, self.within_fields]))


def nested_variance(electrodes: Mapping[str, Sequence[ArrayLike]]) -> NestedVariance:
    """Components of variance of a value measured on particles in fields of electrodes.

    Method of moments with unequal numbers: mean squares of the nested analysis of variance are set equal
    to their expectations. The test of electrodes uses Satterthwaite's combination of mean squares
    where the numbers differ.

    Raises MethodError when there are fewer than 2 particles in every field.

    References
    ----------
    Searle, Casella & McCulloch (1992) Variance Components (from memory); checked by simulation.
    """
    data = [[np.asarray(f, dtype=float) for f in fields if np.size(f)] for fields in electrodes.values()]
    data = [fields for fields in data if fields]
    counts = [np.array([len(f) for f in fields], dtype=float) for fields in data]
    a, b = len(data), sum(len(fields) for fields in data)
    n = float(sum(c.sum() for c in counts))
    if n - b < 1:
        raise MethodError("Variance components need at least two particles in some field.")
    grand = sum(float(f.sum()) for fields in data for f in fields) / n
    field_means = [np.array([f.mean() for f in fields]) for fields in data]
    means = [float((m * c).sum() / c.sum()) for m, c in zip(field_means, counts, strict=True)]
    within = sum(float(((f - f.mean()) ** 2).sum()) for fields in data for f in fields) / (n - b)
    ss_fields = sum(
        float((c * (m - e) ** 2).sum()) for m, c, e in zip(field_means, counts, means, strict=True)
    )
    ss_electrodes = sum(float(c.sum()) * (e - grand) ** 2 for c, e in zip(counts, means, strict=True))
    inner = sum(float((c**2).sum() / c.sum()) for c in counts)
    between_fields, p_fields = np.nan, np.nan
    from scipy.stats import f as f_distribution

    if b > a:
        mean_square = ss_fields / (b - a)
        between_fields = max((mean_square - within) / ((n - inner) / (b - a)), 0.0)
        p_fields = float(f_distribution.sf(mean_square / within, b - a, n - b)) if within > 0 else 0.0
    between_electrodes, p_electrodes = np.nan, np.nan
    if a > 1:
        mean_square = ss_electrodes / (a - 1)
        k_fields = (inner - sum(float((c**2).sum()) for c in counts) / n) / (a - 1)
        k_electrodes = (n - sum(float(c.sum()) ** 2 for c in counts) / n) / (a - 1)
        known = 0.0 if np.isnan(between_fields) else float(between_fields)
        expected = within + k_fields * known
        between_electrodes = max((mean_square - expected) / k_electrodes, 0.0)
        df = (b - a) if known > 0 and b > a else n - b
        p_electrodes = float(f_distribution.sf(mean_square / expected, a - 1, df)) if expected > 0 else 0.0
    return NestedVariance(
        between_electrodes=float(between_electrodes), between_fields=float(between_fields), within_fields=within,
        electrodes=a, fields=b, particles=int(n), p_electrodes=p_electrodes, p_fields=p_fields,
    )  # fmt: skip
