"""Findings about quantification and confounders."""

from __future__ import annotations

from halfcell.vocabulary.term import Term

QUANTIFIED: tuple[Term, ...] = ()
