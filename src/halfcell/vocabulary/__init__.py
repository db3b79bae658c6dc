"""The names of all findings: what each means, its unit, and the question it answers.

The only list of them: criteria are checked against it, tables and figures are labelled by it,
docs/findings.md is generated from it.
"""

from __future__ import annotations

from halfcell.vocabulary.compared import COMPARED
from halfcell.vocabulary.made import MADE
from halfcell.vocabulary.quantified import QUANTIFIED
from halfcell.vocabulary.responded import RESPONDED
from halfcell.vocabulary.term import Term

TERMS: dict[str, Term] = {
    term.name: term for part in (MADE, RESPONDED, QUANTIFIED, COMPARED) for term in part
}

__all__ = ["TERMS", "Term"]
