"""Methods behind the findings that are quantified."""

from __future__ import annotations

from halfcell.pipeline.methods.method import Method

QUANTIFIED: tuple[Method, ...] = ()
