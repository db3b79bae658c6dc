"""Methods behind the findings that are responded."""

from __future__ import annotations

from halfcell.pipeline.methods.method import Method

RESPONDED: tuple[Method, ...] = ()
