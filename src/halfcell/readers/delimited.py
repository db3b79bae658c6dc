"""Text exports: any delimiter, any header, columns by heading and unit, else by shape."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from halfcell import units
from halfcell.errors import ReadError, UnitError
from halfcell.readers import headings, shape
from halfcell.readers.heads import Heads, own_text
from halfcell.readers.hints import Hints
from halfcell.readers.layout import Layout
from halfcell.readers.legible import legible
from halfcell.readers.mend import LARGEST, LOOK
from halfcell.readers.refusal import ALL_KEYS, refuse
from halfcell.readers.remarks import (
    between,
    from_start,
    grouped_or_decimal,
    labels,
    minus_signs,
    not_kept,
)
from halfcell.readers.roles import Record, Roles, assign
from halfcell.readers.source import Source, open_source
from halfcell.readers.stack import stack
from halfcell.readers.table import Table, read_table
from halfcell.recording import Recording

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_MOST_EXTRA = 24
_HEADER = 20_000
_MILLION = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Understood:
    """A file taken apart, before its numbers are brought into SI."""

    source: Source
    layout: Layout
    heads: Heads
    roles: Roles
    notes: tuple[str, ...] = ()
    """What had to be changed in the text before it could be read."""
    clock: frozenset[int] = frozenset()
    """Columns whose times of day became seconds."""
    units: Mapping[str, str] = field(default_factory=dict)
    """Units a person gave, by role."""


def read_delimited(path: Path, *, name: str, sha256: Callable[[], str], hints: Hints) -> Recording:
    """A recording from a text export. Raises ReadError with the first lines and the keys to add.

    ``sha256`` gives the hash of the file; it is asked for last, so that it may be found meanwhile.
    """
    found = understand(path, name=name, hints=hints)
    wanted, extra = _wanted(found)
    table = read_table(found.source, found.layout, wanted)
    if table.grouped:  # far below the top the numbers are written in another way
        found = understand(path, name=name, hints=hints, look=LARGEST)
        wanted, extra = _wanted(found)
        table = read_table(found.source, found.layout, wanted)
    roles = _by_shape(found, table)
    roles = _with_units(found.source, found.layout, found.heads, roles, table)
    return _recording(found, roles, table, extra, sha256())


def understand(path: Path, *, name: str, hints: Hints, look: int = LOOK) -> Understood:
    """Encoding, layout, headings and roles of a file, told by its first bytes, as many as ``look``.

    Raises ReadError where there is no table.
    """
    source = open_source(path, name=name, encoding=hints.encoding)
    found = legible(source, hints, look)
    source, layout, heads, hints = found.source, found.layout, found.heads, found.hints
    if layout is None or heads is None:
        refuse(source, "no table of numbers with two or more columns was found.", ALL_KEYS)
    if heads.doubt and not hints.columns:
        marks = {"delimiter": '","', "decimal": '","'} if heads.pairs else {}
        refuse(source, heads.doubt + ".", marks or _columns_key(), around=layout.first)
    if not hints.decimal and (cell := grouped_or_decimal(layout)):
        refuse(
            source,
            f"{cell!r} may be a number with decimals or one with a mark between thousands.",
            {"decimal": '"."' if "," in cell else '","'},
            around=layout.first,
        )
    roles = assign(layout, heads, hints, name)
    return Understood(
        source=source,
        layout=layout,
        heads=heads,
        roles=roles,
        notes=found.notes,
        clock=found.clock,
        units=hints.units,
    )


def _columns_key() -> dict[str, str]:
    return {key: ALL_KEYS[key] for key in ("columns", "units")}


def _wanted(found: Understood) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Columns to read: those with a role, and further numeric ones as far as they are few."""
    used = found.roles.used
    others = tuple(i for i in found.layout.numeric if i not in used)
    few = others[:_MOST_EXTRA] if found.source.size < 20 * _MILLION or not _complete(found.roles) else ()
    return tuple(sorted({*used, *few})), few


def _complete(roles: Roles) -> bool:
    first = roles.records[0]
    both = roles.forward is not None and roles.backward is not None
    return (first.current is not None or both) and (first.potential is not None or first.time is not None)


def _by_shape(found: Understood, table: Table) -> Roles:
    """The roles, completed from the shape of the columns where the headings say nothing."""
    roles = found.roles
    if _complete(roles):
        return roles
    free = {
        i: v[:20_000] for i, v in table.columns.items() if i not in roles.used and not _named(found.heads, i)
    }
    first = roles.records[0]
    known = {"time": first.time, "potential": first.potential, "current": first.current}
    free |= {column: table.columns[column][:20_000] for column in known.values() if column is not None}
    guess = shape.guess(free)
    settled = all(column is None or guess.get(role) == column for role, column in known.items())
    if guess and settled:
        said = ", ".join(
            f"{role} in column {column + 1}" for role, column in guess.items() if known.get(role) is None
        )
        note = f"columns without headings were told apart by their shape: {said}"
        units = {**roles.units, **{guess[r]: u for r, u in found.units.items() if r in guess}}
        return replace(roles, records=(Record(**guess),), units=units, assumed=(*roles.assumed, note))
    missing = "current" if first.current is None and roles.forward is None else "potential or time"
    texts = [h.text for h in found.heads.columns if h.text]
    seen = f"its headings are {', '.join(map(repr, texts[:12]))}" if texts else "it has no headings"
    return refuse(
        found.source,
        f"which column of the table holds the {missing} cannot be told: {seen}.",
        _columns_key(),
        around=found.layout.first,
    )


def _named(heads: Heads, column: int) -> bool:
    heading = heads.columns[column]
    other = heading.other_unit or headings.of_another_kind(heading)
    return bool(heading.text) and headings.role_of(heading)[0] == "" and other


_KIND = {"time": "s", "potential": "V", "current": "A", "forward": "A", "backward": "A"}


def _with_units(source: Source, layout: Layout, heads: Heads, roles: Roles, table: Table) -> Roles:
    """The roles with a unit for every column, or ReadError where one cannot be told."""
    known, assumed = dict(roles.units), list(roles.assumed)
    for role, column in _each(roles):
        if column is None or known.get(column):
            continue
        values, heading = table.columns[column], heads.columns[column].text or f"column {column + 1}"
        if factor := heads.columns[column].factor:
            refuse(
                source,
                f"the heading {heading!r} holds a factor ({factor}), which people write in both senses; "
                "write the unit in which the numbers stand in the file.",
                _unit_key(role),
                around=layout.first,
            )
        if heads.columns[column].other_unit:
            refuse(
                source,
                f"the unit in the heading {heading!r} is not one of {role}.",
                _unit_key(role),
                around=layout.first,
            )
        unit = {"time": "s", "potential": shape.potential_unit(values)}.get(role, shape.current_unit(values))
        if not unit:
            low, high = (
                (float(f(shape.finite(values))) for f in (np.min, np.max))
                if len(shape.finite(values))
                else (0.0, 0.0)
            )
            why = f"the heading {heading!r} gives no unit, and values from {low:.4g} to {high:.4g} allow more than one."
            refuse(source, why, _unit_key(role), around=layout.first)
        known[column] = unit
        said = f"the heading {heading!r} gives no unit; {role} was taken to be in {unit}"
        if role != "time":
            said += " by its magnitude"
        assumed.append(said)
    return replace(roles, units=known, assumed=tuple(assumed))


def _unit_key(role: str) -> dict[str, str]:
    example = {"time": "s", "potential": "mV"}.get(role, "uA")
    return {"units": f'{{ {role} = "{example}" }}'}


def _each(roles: Roles) -> list[tuple[str, int | None]]:
    """(role, column) of every column that needs a unit."""
    found: list[tuple[str, int | None]] = []
    for record in roles.records:
        found += [("time", record.time), ("potential", record.potential), ("current", record.current)]
    return [*found, ("forward", roles.forward), ("backward", roles.backward)]


def _scale(source: Source, unit: str, role: str) -> tuple[float, bool]:
    """(factor to SI, whether per area) of a column's unit."""
    try:
        return units.factor(unit, _KIND[role]), False
    except UnitError:
        pass
    if role in {"current", "forward", "backward"}:
        plain = headings.unit_of(unit)
        try:
            return units.factor(plain[0] if plain and plain[1] == "density" else unit, "A/m^2"), True
        except UnitError:
            pass
    raise ReadError(
        f'{source.name}: {unit!r} is not a unit of {role}; write for example units = {{ {role} = "{_KIND[role]}" }}.'
    )


def _recording(
    found: Understood, roles: Roles, table: Table, extra: tuple[int, ...], sha256: str
) -> Recording:
    source, heads = found.source, found.heads
    scaled, per_area = _in_si(source, roles, table)
    stacked = stack(roles, scaled, table)
    if not len(stacked.current):
        raise ReadError(f"{source.name}: no row holds both a current and what it was measured against.")
    used = set(roles.used)
    further = (
        {}
        if stacked.rows is None
        else {own_text(heads, i): table.columns[i][stacked.rows] for i in extra if i not in used}
    )
    if {record.time for record in roles.records} <= found.clock:
        stacked = from_start(stacked)
    columns = {
        role: getattr(stacked, role)
        for role in ("time", "potential", "current", "cycle", "forward", "backward")
    }
    for array in (*columns.values(), *further.values()):
        if array is not None:
            array.setflags(write=False)
    return Recording(
        file=source.name, sha256=sha256, extra=further, per_area=per_area, reader="delimited text",
        columns=_used_columns(roles, heads), first_row=found.layout.first + 1,
        assumed=(
            *found.notes, *roles.assumed, *labels(roles, heads), *minus_signs(heads, roles),
            *between(found.layout, heads.row), *table.notes, *stacked.assumed,
            *not_kept(found.layout, len(used) + len(further)),
        ),
        header="\n".join(found.layout.above)[:_HEADER], **columns,
    )  # fmt: skip


def _in_si(source: Source, roles: Roles, table: Table) -> tuple[dict[int, Array], bool]:
    """The used columns in SI units, turned in place, and whether the currents are per area."""
    scaled: dict[int, Array] = {}
    kinds = set()
    for role, column in _each(roles):
        if column is None or column in scaled:
            continue
        factor, per_area = _scale(source, roles.units[column], role)
        if role in {"current", "forward", "backward"}:
            kinds.add(per_area)
        scaled[column] = table.columns[column]
        if factor != 1.0:
            scaled[column] *= factor
    if len(kinds) > 1:
        raise ReadError(
            f"{source.name}: some currents are per area and some are not; name the right one in columns.current."
        )
    return scaled, True in kinds


def _used_columns(roles: Roles, heads: Heads) -> tuple[tuple[str, str, str], ...]:
    found = [(role, column) for role, column in [*_each(roles), ("cycle", roles.cycle)] if column is not None]
    return tuple(
        (role, heads.columns[c].text or f"column {c + 1}", roles.units.get(c, ""))
        for role, c in dict.fromkeys(found)
    )
