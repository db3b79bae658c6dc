"""Does the scan rate in the data agree with the stated one?"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfcell.results import Measured
from halfcell.units import percent

TOLERANCE = 0.02
"""Relative disagreement above which a person is told (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RateCheck:
    """``used`` (V/s) is the stated rate where there is one, else the measured one."""

    stated: float
    measured: Measured
    used: float
    disagrees: bool
    note: str


def check_scan_rate(measured: Measured, stated: float | None, *, tolerance: float = TOLERANCE) -> RateCheck:
    """Compare the measured scan rate with the stated one (V/s, None where it is not stated).

    They disagree when they differ by more than ``tolerance`` and by more than twice the measured
    rate's standard uncertainty. The measured rate is then used, for it is in the data. Source: common practice, no source.
    """
    known = math.isfinite(measured.value)
    if stated is None:
        note = (
            "the scan rate is not stated; that of the data is used"
            if known
            else "the scan rate is neither stated nor in the data"
        )
        return RateCheck(stated=math.nan, measured=measured, used=measured.value, disagrees=False, note=note)
    if not known:
        return RateCheck(
            stated=stated,
            measured=measured,
            used=stated,
            disagrees=False,
            note=f"stated, not checked: {measured.why}",
        )
    off = measured.value / stated - 1
    wrong = abs(off) > tolerance and abs(measured.value - stated) > 2 * (
        measured.u if math.isfinite(measured.u) else 0.0
    )
    note = ""
    if wrong:
        note = f"stated {stated * 1e3:.4g} mV/s, in the data {measured.value * 1e3:.4g} mV/s ({percent(off, 1, sign=True)}); that of the data is used"
    return RateCheck(
        stated=stated, measured=measured, used=measured.value if wrong else stated, disagrees=wrong, note=note
    )
