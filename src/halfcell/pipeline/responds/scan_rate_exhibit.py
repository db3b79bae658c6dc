"""The exhibit of a scan-rate study."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.pipeline.outcome import Exhibit

if TYPE_CHECKING:
    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.responds.records import Judged
    from halfcell.voltammetry.power_law import Parts, PowerLaw
    from halfcell.voltammetry.transfer_coefficient import PeakShift


def scan_rate_exhibit(
    bench: Bench, electrode: str, of: list[Judged], law: PowerLaw, shift: PeakShift, parts: Parts | None
) -> Exhibit:
    """Voltammograms at each scan rate, i_p against v, E_p against ln v, and the parts of the current. V, A, V/s."""
    data: dict[str, Any] = {
        "loops": [
            {"potential": j.result.raw.potential, "current": j.result.raw.current, "rate": j.result.rate.used}
            for j in of
        ],
        "rates": law.rates,
        "heights": law.currents,
        "heights_u": np.array(
            [j.fit.peak.height.u if j.fit is not None and j.fit.peak is not None else math.nan for j in of]
        ),
        "exponent": law.exponent.value,
        "exponent_low": law.interval.low,
        "exponent_high": law.interval.high,
        "prefactor": law.prefactor.value,
        "word": law.word,
        "peak_potentials": shift.potentials,
        "shift": shift.slope.value,
        "moves": shift.moves,
        "direction": of[0].direction,
        "reference_electrode": bench.study.file.reference_electrode,
        "units": {"potential": "V", "current": "A", "rates": "V/s"},
    }
    if parts is not None:
        data |= {
            "parts_potential": parts.potential,
            "surface": parts.surface * parts.reference,
            "diffusional": parts.diffusional * math.sqrt(parts.reference),
            "reference": parts.reference,
        }
    return Exhibit(
        kind="scan rates",
        key=f"scan rates {electrode}",
        title=f"{electrode}: {len(of)} scan rates",
        place="Responds",
        electrode=electrode,
        group=bench.study.group(electrode),
        recordings=tuple(j.pair.run.file for j in of),
        data=data,
    )
