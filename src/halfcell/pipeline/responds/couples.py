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
    from halfcell.voltammetry.peak import Peak
    from halfcell.voltammetry.reversibility import Couple


def couple_findings(bench: Bench, one: Judged) -> list[Finding]:
    """The findings of a couple, or none where there is no reverse peak."""
    forward, reverse = one.fit, one.result.along(-one.direction)
    if forward is None or reverse is None or one.pair.run.technique != "cyclic voltammogram" or reverse.tail:
        return []
    file = bench.study.file
    couple = couple_of(
        forward,
        reverse,
        rate=one.result.rate.used,
        electrons=float(file.electrons or 1),
        diffusion=file.diffusion_coefficient,
        temperature=file.temperature,
    )
    if couple is None:
        return []
    at = "" if one.pair.headline else one.pair.condition
    settings: dict[str, Any] = {"condition": one.pair.condition, "electrons": file.electrons or "1, assumed"}
    runs = tuple(r for r in (one.pair.run, one.pair.blank) if r is not None)
    rows = (
        ("peak_separation", couple.separation, "Nicholson's ψ", (couple.word, *couple.notes)),
        ("peak_ratio", couple.ratio, "peak ratio", ()),
        ("rate_constant", couple.rate_constant, "Nicholson's ψ", (couple.word,)),
    )
    return [
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
        for name, measured, method, notes in rows
        if math.isfinite(measured.value)
    ]


def couple_of(
    forward: BranchFit,
    reverse: BranchFit,
    *,
    rate: float,
    electrons: float,
    diffusion: float | None,
    temperature: float,
) -> Couple | None:
    """The two peaks judged as a couple, or None where they are not one. Units as ``judge_couple``."""
    ahead, back = forward.peak, reverse.peak
    if ahead is None or back is None or not _is_couple(ahead, back):
        return None
    try:
        return judge_couple(
            ahead.potential,
            back.potential,
            ratio=_ratio(forward, reverse, ahead, back),
            rate=rate,
            electrons=electrons,
            diffusion=diffusion,
            temperature=temperature,
        )
    except MethodError:
        return None


def _is_couple(ahead: Peak, back: Peak) -> bool:
    gap = (ahead.potential.value - back.potential.value) * ahead.sign
    return 0 <= gap < 0.5 and back.height.value > 0.15 * ahead.height.value


def _ratio(forward: BranchFit, reverse: BranchFit, ahead: Peak, back: Peak) -> Measured:
    out, home = forward.difference or forward.sample, reverse.difference or reverse.sample
    sign, u = forward.direction, ahead.height.u
    end = max(out.current.size // 60, 2)
    switching = float(np.mean(sign * out.current[-end:]))
    near = np.abs(home.potential - back.potential.value) < 0.01
    reverse_height = -float(np.mean(sign * home.current[near])) if near.any() else math.nan
    return peak_ratio(
        Measured(value=max(reverse_height, 0.0), u=u), Measured(value=switching, u=u), ahead.height
    )
