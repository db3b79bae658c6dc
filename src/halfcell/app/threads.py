"""From a number in a table back to its finding, so that a click tells where it came from."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from halfcell.report.tables import label, shown_value
from halfcell.units import number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from halfcell.finding import Finding
    from halfcell.pipeline import Analysis


@dataclass(slots=True)
class Threads:
    """The findings of an analysis by whom they are about and how they are printed."""

    _found: dict[tuple[str, str], list[Finding]] = field(default_factory=dict)
    _plain: dict[tuple[str, str], list[Finding]] = field(default_factory=dict)
    """By their value alone, which also other things can be: head or row must tell what it is."""
    _abouts: set[str] = field(default_factory=set)

    @classmethod
    def of(cls, analysis: Analysis | None) -> Threads:
        """Of the newest analysis; of none there are no threads."""
        made = cls()
        for finding in analysis.findings if analysis else ():
            about = finding.electrode or finding.group
            made._abouts.add(about)
            bare = shown_value(finding, unit=False)
            alone = set() if finding.text else {number(finding.value)}
            if not finding.text and not finding.standard_uncertainty > 0:
                alone.add(bare)
            for text in {shown_value(finding), bare} - alone:
                made._found.setdefault((about, text), []).append(finding)
            for text in alone:
                made._plain.setdefault((about, text), []).append(finding)
        return made

    def key(self, head: Sequence[str], row: Sequence[str], column: int) -> str:
        """Key of the finding a cell shows, or nothing where that is none or could be several.

        A finding is about an electrode or group named in the row (in the head, for a table on its
        side); of several printed alike the head or the row tells which is meant.
        """
        text, above = row[column].removesuffix(" *"), head[column]
        named = {cell for cell in (*row, above) if cell in self._abouts}

        def says(f: Finding) -> bool:
            return above.startswith(label(f.name)) or label(f.name) in row

        def under(f: Finding) -> bool:
            return bool(f.condition) and (f.condition in row or f.condition in above)

        found = [f for about in named for f in self._found.get((about, text), ())]
        if not found:
            plain = [f for about in named for f in self._plain.get((about, text), ())]
            found = [f for f in plain if says(f) and (not f.condition or under(f))]
        for fits in (says, under, lambda f: not f.condition):
            if len(found) > 1:
                found = [f for f in found if fits(f)] or found
        return found[0].key if len(found) == 1 else ""
