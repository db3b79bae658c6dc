"""How a text export would be read, for a person to check before it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from halfcell.errors import ReadError
from halfcell.readers.delimited import Understood, read_delimited, understand
from halfcell.readers.heads import find_heads
from halfcell.readers.hints import Hints, checked
from halfcell.readers.layout import find_layout
from halfcell.readers.refusal import first_lines
from halfcell.readers.roles import Record, Roles
from halfcell.readers.source import Source, open_source
from halfcell.recording import Recording

_LINES = 30
_ROWS = 12
_WHOLE = 20_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column: number from 1, heading and unit as found, and the role it was given."""

    number: int
    heading: str
    unit: str
    role: str
    """time, potential, current, cycle, forward, backward, or empty."""
    numeric: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """What is known of a text export, and what is still to be decided."""

    file: str
    lines: tuple[tuple[int, str], ...]
    """(number from 1, text) of the first lines."""
    columns: tuple[Column, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    """The first rows of numbers, as they stand in the file."""
    first_row: int = 0
    """Line number (from 1) of the first row of numbers; 0: none found."""
    delimiter: str = ""
    """In the words of study.toml: ``,`` ``;`` ``tab`` ``space``."""
    decimal: str = ""
    encoding: str = ""
    assumed: tuple[str, ...] = ()
    samples: int = 0
    """Rows of the recording, where it could be read."""
    cycles: int = 0
    problem: str = ""
    """Why the file cannot be read as it stands; empty where it can."""
    example: str = ""
    """The keys to add to study.toml, where there is a problem."""


def preview(
    path: str | Path, hints: Mapping[str, Any] | None = None, *, name: str = "", most: int = _LINES
) -> Preview:
    """Take a text export apart and try to read it; what is wrong becomes ``problem``, never an error.

    ``most`` lines from the first are shown.
    """
    path = Path(path)
    name = name or path.name
    try:
        options = checked(hints or {}, name)
        source = open_source(path, name=name, encoding=options.encoding)
    except ReadError as error:
        return Preview(file=name, lines=(), problem=str(error))
    lines = first_lines(source, most)
    try:
        found = understand(path, name=name, hints=options)
    except ReadError as error:
        return _with_problem(_undecided(source, options, name, lines), error)
    shown = _described(found, name, lines)
    try:
        recording = read_delimited(path, name=name, sha256=lambda: "", hints=options)
    except ReadError as error:
        return _with_problem(shown, error)
    return _completed(shown, recording)


def _undecided(source: Source, options: Hints, name: str, lines: tuple[tuple[int, str], ...]) -> Preview:
    """The columns of a table whose roles cannot be told, so that a person can; none where there is no table."""
    plain = Preview(file=name, lines=lines, encoding=source.encoding)
    try:
        layout = find_layout(source, options)
        if layout is None:
            return plain
        heads = find_heads(layout)
    except ReadError:
        return plain
    nothing = Roles(records=(Record(),))
    return _described(Understood(source=source, layout=layout, heads=heads, roles=nothing), name, lines)


def _completed(shown: Preview, recording: Recording) -> Preview:
    """A preview with the roles and units that the numbers themselves have told."""
    import numpy as np

    by_heading = {(heading, unit): role for role, heading, unit in recording.columns}
    named = {heading: (role, unit) for role, heading, unit in recording.columns}
    columns = []
    for column in shown.columns:
        heading = column.heading or f"column {column.number}"
        by_shape = "" if column.heading else named.get(heading, ("", ""))[0]
        role = column.role or by_heading.get((heading, column.unit), "") or by_shape
        unit = column.unit or (named[heading][1] if role and heading in named else "")
        columns.append(replace(column, role=role, unit=unit))
    cycles = 0 if recording.cycle is None else len(np.unique(recording.cycle))
    return replace(
        shown,
        columns=tuple(columns),
        assumed=recording.assumed,
        samples=len(recording.current),
        cycles=cycles,
    )


def _described(found: Understood, name: str, lines: tuple[tuple[int, str], ...]) -> Preview:
    layout, heads, roles = found.layout, found.heads, found.roles
    role_of: dict[int, str] = {}
    for record in roles.records:
        for role in ("time", "potential", "current"):
            column = getattr(record, role)
            if column is not None:
                role_of[column] = role
    for role in ("cycle", "forward", "backward"):
        column = getattr(roles, role)
        if column is not None:
            role_of[column] = role
    columns = tuple(
        Column(
            number=i + 1,
            heading=h.text,
            unit=roles.units.get(i, h.unit),
            role=role_of.get(i, ""),
            numeric=i in layout.numeric,
        )
        for i, h in enumerate(heads.columns)
    )
    delimiter = {"\t": "tab", " ": "space"}.get(layout.delimiter, layout.delimiter)
    return Preview(
        file=name, lines=lines, columns=columns, rows=layout.rows[:_ROWS], first_row=layout.first + 1, delimiter=delimiter,
        decimal=layout.decimal, encoding=found.source.encoding, assumed=roles.assumed,
    )  # fmt: skip


def _with_problem(shown: Preview, error: ReadError) -> Preview:
    what = error.problems[0].what if error.problems else str(error)
    return replace(shown, problem=what, example=error.problems[0].example if error.problems else "")
