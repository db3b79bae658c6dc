"""The stages of the analysis, in the order of the questions."""

from __future__ import annotations

import importlib
from collections.abc import Callable

from halfcell.finding import Findings
from halfcell.pipeline.bench import Bench
from halfcell.pipeline.outcome import Outcome

Stage = Callable[[Bench, Findings], Outcome]

STAGES: tuple[str, ...] = ("made", "responds", "quantifies", "confounds")
"""Each is a package here with a function of its name; it is loaded when there is work for it."""


def work(name: str, bench: Bench, findings: Findings) -> Outcome:
    """What a stage makes of the study and the findings so far."""
    stage: Stage = getattr(importlib.import_module(f"halfcell.pipeline.{name}"), name)
    return stage(bench, findings)
