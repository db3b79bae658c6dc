"""Methods behind the findings that are made."""

from __future__ import annotations

from halfcell.pipeline.methods.method import Method

MADE: tuple[Method, ...] = ()
