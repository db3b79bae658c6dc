"""Records that show both peaks of a couple: separation, ratio and rate constant."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured
from halfcell.voltammetry.reversibility import judge_couple, peak_ratio

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.responds.records import Judged
    from halfcell.pipeline.responds.voltammogram import BranchFit


def couple_findings(bench: Bench, one: Judged) -> list[Finding]:
    """The findings of a couple, or none where there is no reverse peak."""
    forward, reverse = one.fit, one.result.along(-one.direction)
    if not _is_couple(forward, reverse) or one.pair.run.technique != "cyclic voltammogram":
        return []
    assert (
        forward is not None and reverse is not None and forward.peak is not None and reverse.peak is not None
    )
    file, rate = bench.study.file, one.result.rate.used
    try:
        ratio = _ratio(forward, reverse)
        couple = judge_couple(
            forward.peak.potential,
            reverse.peak.potential,
            ratio=ratio,
            rate=rate,
            electrons=float(file.electrons or 1),
            diffusion=file.diffusion_coefficient,
            temperature=file.temperature,
        )
    except MethodError:
        return []
    at = "" if one.pair.headline else one.pair.condition
    settings: dict[str, Any] = {"condition": one.pair.condition, "electrons": file.electrons or "1, assumed"}
    runs = tuple(r for r in (one.pair.run, one.pair.blank) if r is not None)
    found = []
    for name, measured, method, notes in (
        ("peak_separation", couple.separation, "Nicholson's ψ", (couple.word, *couple.notes)),
        ("peak_ratio", couple.ratio, "peak ratio", ()),
        ("rate_constant", couple.rate_constant, "Nicholson's ψ", (couple.word,)),
    ):
        if math.isfinite(measured.value):
            found.append(
                bench.finding(
                    name,
                    measured,
                    method=method,
                    electrode=one.pair.run.electrode,
                    condition=at,
                    runs=runs,
                    settings=settings,
                    notes=notes,
                )
            )
    return found


def _is_couple(forward: BranchFit | None, reverse: BranchFit | None) -> bool:
    if forward is None or reverse is None or forward.peak is None or reverse.peak is None or reverse.tail:
        return False
    gap = (forward.peak.potential.value - reverse.peak.potential.value) * forward.direction
    return 0 <= gap < 0.5 and reverse.peak.height.value > 0.15 * forward.peak.height.value


def _ratio(forward: BranchFit, reverse: BranchFit) -> Measured:
    assert forward.peak is not None and reverse.peak is not None
    ahead, back = forward.difference or forward.sample, reverse.difference or reverse.sample
    sign, u = forward.direction, forward.peak.height.u
    end = max(ahead.current.size // 60, 2)
    switching = float(np.mean(sign * ahead.current[-end:]))
    near = np.abs(back.potential - reverse.peak.potential.value) < 0.01
    reverse_height = -float(np.mean(sign * back.current[near])) if near.any() else math.nan
    return peak_ratio(
        Measured(value=max(reverse_height, 0.0), u=u), Measured(value=switching, u=u), forward.peak.height
    )
