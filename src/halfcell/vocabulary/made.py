"""Findings about what is on the surface."""

from __future__ import annotations

from halfcell.vocabulary.term import Term

MADE: tuple[Term, ...] = ()
