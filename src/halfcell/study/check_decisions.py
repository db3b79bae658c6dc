"""Checks of adjustments.toml: that each decision is about something of the study, and can be meant."""

from __future__ import annotations

from collections.abc import Iterator

from halfcell.errors import Problem
from halfcell.study.adjustments import BaselineWindow, PeakWindow
from halfcell.study.check_files import unknown_file
from halfcell.study.draft import ADJUSTMENTS, Draft
from halfcell.study.words import meant

_SWEEPS = ("cyclic voltammogram", "linear sweep", "differential pulse", "square wave")
_FOR: dict[str, tuple[str, ...]] = {
    "baseline window": _SWEEPS,
    "peak window": _SWEEPS,
    "use cycle": ("cyclic voltammogram",),
    "add step": ("additions",),
    "remove step": ("additions",),
    "move step": ("additions",),
    "exclude particle": ("micrograph",),
    "add particle": ("micrograph",),
    "split particle": ("micrograph",),
    "merge particles": ("micrograph",),
    "mask region": ("micrograph",),
    "scale bar": ("micrograph",),
}
"""Techniques of the records a kind of decision can be about; a kind that is not here: any."""


def check_decisions(draft: Draft) -> Iterator[Problem]:
    """Every decision about a file or electrode that is not there, or of another kind than the record."""
    items = draft.decided.document.get("adjustment")
    electrodes = draft.names("electrodes")
    techniques = {run.file: run.technique for run in draft.runs.values()}
    for i, item in enumerate(items if isinstance(items, list) else (), 1):
        if not isinstance(item, dict):
            continue
        at, file, electrode = f"adjustment.{i}", item.get("file"), item.get("electrode")
        if isinstance(file, str) and (wrong := unknown_file(draft, file)):
            example = f'file = "{draft.rows[0].cells.get("file", "data/ni1.csv")}"'
            yield Problem(
                file=ADJUSTMENTS, place=draft.decided.place(f"{at}.file"), what=wrong, example=example
            )
        if isinstance(electrode, str) and electrodes and electrode not in electrodes:
            what = f"{electrode!r} is not in [electrodes] of study.toml; {meant(electrode, electrodes)}"
            example = f'electrode = "{electrodes[0]}"'
            yield Problem(
                file=ADJUSTMENTS, place=draft.decided.place(f"{at}.electrode"), what=what, example=example
            )
        kind, technique = item.get("kind"), techniques.get(str(file))
        wanted = _FOR.get(str(kind), ())
        if technique is not None and wanted and technique not in wanted:
            what = f"a {kind!r} is about a record of the kind {wanted[0]!r}; {file!r} is of the kind {technique!r}."
            fitting = next((f for f, t in techniques.items() if t in wanted), "")
            example = f'file = "{fitting}"' if fitting else "remove the decision"
            yield Problem(file=ADJUSTMENTS, place=draft.decided.place(at), what=what, example=example)
    for i, decision in enumerate(draft.decisions, 1):
        ends: list[tuple[float, float]] = []
        if isinstance(decision, BaselineWindow):
            ends = list(decision.windows)
        elif isinstance(decision, PeakWindow):
            ends = [(decision.start, decision.end)]
        for start, end in ends:
            if start == end:
                place = draft.decided.place(f"adjustment.{i}")
                what = f"the window from {start:g} V to {end:g} V has no width."
                yield Problem(file=ADJUSTMENTS, place=place, what=what, example='["0.30 V", "0.36 V"]')
