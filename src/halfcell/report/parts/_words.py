"""Words and cells the parts share."""

from __future__ import annotations

from typing import TYPE_CHECKING

from halfcell.units import with_uncertainty

if TYPE_CHECKING:
    from collections.abc import Sequence

    from halfcell.finding import Finding
    from halfcell.pipeline.outcome import Analysis


def joined(texts: Sequence[str]) -> str:
    """ "a, b and c"."""
    return " and ".join([", ".join(texts[:-1]), texts[-1]] if len(texts) > 1 else list(texts))


def cell(finding: Finding) -> str:
    """A finding's value with its uncertainty, without its unit."""
    return with_uncertainty(finding.value, finding.standard_uncertainty)


def value_of(analysis: Analysis, name: str, electrode: str, condition: str = "") -> str:
    """The cell of a finding, or a dash where there is none."""
    found = analysis.findings.named(name, electrode=electrode, condition=condition)
    return cell(found[0]) if found else "–"
