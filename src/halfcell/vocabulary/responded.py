"""Findings about the response."""

from __future__ import annotations

from halfcell.vocabulary.term import Term

RESPONDED: tuple[Term, ...] = ()
