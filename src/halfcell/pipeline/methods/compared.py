"""Methods behind the findings that are compared."""

from __future__ import annotations

from halfcell.pipeline.methods.method import Method

COMPARED: tuple[Method, ...] = ()
