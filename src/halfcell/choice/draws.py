"""Joint random draws of the candidates' true means.

Each mean is drawn from Student's t about its estimate, with the scatter steadied as in ``scatter``: a
normal deviate over the root of a chi square of the mean's degrees of freedom. Findings of one electrode are kept together by the
correlation of the normal deviates, which is pooled over candidates and drawn towards zero, since
three electrodes a candidate cannot give it by themselves.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.choice.estimates import Column, Estimate
from halfcell.choice.scatter import steadied
from halfcell.results import read_only

if TYPE_CHECKING:
    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Draws:
    """``means`` is a (draws, candidates, columns) array in the findings' units.

    ``correlation`` (columns, columns) is the one used; ``borrowed`` tells which candidate's scatter
    was taken from the others; ``blind`` which has no uncertainty at all.
    """

    candidates: tuple[str, ...]
    columns: tuple[Column, ...]
    means: FloatArray
    correlation: FloatArray
    borrowed: tuple[str, ...] = ()
    blind: tuple[str, ...] = ()


def draw(table: Sequence[Sequence[Estimate]], count: int, seed: int) -> Draws:
    """Draws for ``table[candidate][column]``; the same seed gives the same draws."""
    candidates = tuple(row[0].candidate for row in table)
    columns = tuple(e.column for e in table[0])
    correlation = pooled_correlation(table)
    rng = np.random.default_rng(seed)
    z = rng.standard_normal((count, len(table), len(columns))) @ np.linalg.cholesky(correlation).T
    means = np.empty_like(z)
    borrowed, blind = [], []
    for c in range(len(columns)):
        steady = steadied([row[c] for row in table])
        for r, (row, mean) in enumerate(zip(table, steady, strict=True)):
            if row[c].n == 1 and math.isfinite(mean.u):
                borrowed.append(f"{candidates[r]}: {columns[c].finding}")
            if not math.isfinite(mean.u):
                blind.append(f"{candidates[r]}: {columns[c].finding}")
                means[:, r, c] = mean.value
                continue
            scale = 1.0 if math.isinf(mean.df) else np.sqrt(rng.chisquare(mean.df, count) / mean.df)
            means[:, r, c] = mean.value + mean.u * z[:, r, c] / scale
    return Draws(
        candidates=candidates,
        columns=columns,
        means=read_only(means),
        correlation=correlation,
        borrowed=tuple(borrowed),
        blind=tuple(blind),
    )


def pooled_correlation(table: Sequence[Sequence[Estimate]]) -> FloatArray:
    """Correlation of the columns within candidates, over electrodes that have all of a pair.

    Pooled over candidates and multiplied by ν/(ν + 4), ν the pooled degrees of freedom; brought to
    positive definite. Columns without electrodes in common count as independent.
    """
    p = len(table[0])
    out = np.eye(p)
    for a in range(p):
        for b in range(a + 1, p):
            out[a, b] = out[b, a] = _correlation([(row[a], row[b]) for row in table])
    values, vectors = np.linalg.eigh(out)
    fixed = (vectors * np.maximum(values, 0.02)) @ vectors.T
    d = np.sqrt(np.diag(fixed))
    return read_only(fixed / np.outer(d, d))


def _correlation(pairs: Sequence[tuple[Estimate, Estimate]]) -> float:
    sums, df = np.zeros(3), 0
    for first, second in pairs:
        x = {s.electrode: s.value for s in first.samples}
        y = {s.electrode: s.value for s in second.samples}
        both = [e for e in x if e in y]
        if len(both) < 2 or first.s == 0 or second.s == 0:
            continue
        dx = np.array([x[e] for e in both])
        dy = np.array([y[e] for e in both])
        dx, dy = (dx - dx.mean()) / first.s, (dy - dy.mean()) / second.s
        sums += [dx @ dy, dx @ dx, dy @ dy]
        df += len(both) - 1
    if df == 0 or sums[1] * sums[2] <= 0:
        return 0.0
    return float(sums[0] / math.sqrt(sums[1] * sums[2])) * df / (df + 4)
