"""Findings made by comparing and choosing."""

from __future__ import annotations

from halfcell.vocabulary.term import Term

COMPARED: tuple[Term, ...] = ()
