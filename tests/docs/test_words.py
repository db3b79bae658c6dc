"""Every finding and method is told in whole: words, units that convert, a source."""

from __future__ import annotations

import pytest

from halfcell.pipeline.methods import METHODS
from halfcell.report.tables import PLACES
from halfcell.units import factor
from halfcell.vocabulary import TERMS


@pytest.mark.parametrize("term", TERMS.values(), ids=lambda t: t.name)
def test_a_term_is_whole(term):
    assert term.label
    assert term.meaning
    assert term.place in PLACES
    assert term.better in {"", "higher", "lower"}
    assert factor(term.si, term.unit) > 0


@pytest.mark.parametrize("method", METHODS.values(), ids=lambda m: m.name)
def test_a_method_is_whole(method):
    assert method.formula
    assert method.source
    assert method.sentence
    assert method.sentence[0].isupper() or not method.sentence[0].isalpha()


def test_no_name_is_given_twice():
    from halfcell.pipeline.methods.compared import COMPARED
    from halfcell.pipeline.methods.made import MADE
    from halfcell.pipeline.methods.quantified import QUANTIFIED
    from halfcell.pipeline.methods.responded import RESPONDED

    names = [m.name for part in (MADE, RESPONDED, QUANTIFIED, COMPARED) for m in part]
    assert len(names) == len(set(names)) == len(METHODS)
    labels = [t.label for t in TERMS.values()]
    assert len(labels) == len(set(labels)), sorted(x for x in labels if labels.count(x) > 1)
