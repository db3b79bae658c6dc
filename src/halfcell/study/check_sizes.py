"""Values that no such measurement has: most likely a slip in the unit's prefix (warnings).

The limits are wide (common practice, no source); pure water is 55.5 mol/L, the fastest scans reported are
of the order of 1 MV/s and are made at 400 V/s in daily use.
"""

from __future__ import annotations

from collections.abc import Iterator

from halfcell.errors import Problem
from halfcell.study.draft import RUNS, STUDY, Draft

_RUNS = (
    ("scan_rate", 1e-6, 1e5, "1 µV/s to 100 kV/s", "50 mV/s"),
    ("concentration", 0.0, 6e4, "0 to 60 mol/L", "1 mmol/L"),
    ("spike", 0.0, 6e4, "0 to 60 mol/L", "10 umol/L"),
    ("scale", 1e-12, 1e-4, "1 pm to 0.1 mm", "1.5 nm"),
    ("step_potential", -20.0, 20.0, "−20 to 20 V", "0.6 V"),
)
"""Column, lower and upper limit in SI units, the same in words, an example."""


def check_sizes(draft: Draft) -> Iterator[Problem]:
    """Every stated value far outside what is ever measured, with the unit to look at again."""
    for row in draft.rows:
        run = draft.runs.get(row.number)
        for column, low, high, words, example in _RUNS if run is not None else ():
            value = getattr(run, column)
            if value is not None and not low <= value <= high:
                yield _odd(RUNS, draft.at(row, column), row.cells.get(column, ""), words, example)
    if draft.file is None:
        return
    if not 150 <= draft.file.temperature <= 600:
        given = str(draft.toml.document.get("temperature", ""))
        yield _odd(STUDY, draft.toml.place("temperature"), given, "150 to 600 K", 'temperature = "25 degC"')
    for name, electrode in draft.file.electrodes.items():
        if electrode.area is not None and not 1e-16 <= electrode.area <= 0.1:
            given = str(draft.toml.document["electrodes"][name].get("area", ""))
            key = draft.toml.place(f"electrodes.{name}.area")
            yield _odd(STUDY, key, given, "100 nm² to 1000 cm²", 'area = "0.0707 cm^2"')


def _odd(file: str, place: str, given: str, words: str, example: str) -> Problem:
    what = f"{given!r} lies outside {words}; is the unit right (m is milli, M is mega)?"
    return Problem(file=file, place=place, what=what, example=example, severity="warning")
