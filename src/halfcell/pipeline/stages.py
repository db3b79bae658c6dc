"""The stages of the analysis, in the order of the questions."""

from __future__ import annotations

from collections.abc import Callable

from halfcell.finding import Findings
from halfcell.pipeline.bench import Bench
from halfcell.pipeline.confounds import confounds
from halfcell.pipeline.made import made
from halfcell.pipeline.outcome import Outcome
from halfcell.pipeline.quantifies import quantifies
from halfcell.pipeline.responds import responds

Stage = Callable[[Bench, Findings], Outcome]

STAGES: tuple[Stage, ...] = (made, responds, quantifies, confounds)
