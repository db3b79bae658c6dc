"""Every method a finding may come from: its formula, its source, and its sentence in the report."""

from __future__ import annotations

from halfcell.pipeline.methods.compared import COMPARED
from halfcell.pipeline.methods.made import MADE
from halfcell.pipeline.methods.method import Method
from halfcell.pipeline.methods.quantified import QUANTIFIED
from halfcell.pipeline.methods.responded import RESPONDED

METHODS: dict[str, Method] = {m.name: m for part in (MADE, RESPONDED, QUANTIFIED, COMPARED) for m in part}

__all__ = ["METHODS", "Method"]
