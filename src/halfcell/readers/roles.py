"""Which column is what: by the person's word, by heading and unit, else by shape."""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass, field, replace

from halfcell.errors import ReadError
from halfcell.readers import headings
from halfcell.readers.heads import Heads
from halfcell.readers.hints import Hints
from halfcell.readers.layout import Layout


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """The columns (from 0) of one record within a table; several stand side by side."""

    time: int | None = None
    potential: int | None = None
    current: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Roles:
    """The columns of a table, by what they hold."""

    records: tuple[Record, ...]
    cycle: int | None = None
    forward: int | None = None
    backward: int | None = None
    units: dict[int, str] = field(default_factory=dict)
    """Unit of each used column that has one."""
    assumed: tuple[str, ...] = ()

    @property
    def used(self) -> tuple[int, ...]:
        """All columns with a role, in order, once each."""
        found = [c for r in self.records for c in (r.time, r.potential, r.current)]
        return tuple(sorted({c for c in [*found, self.cycle, self.forward, self.backward] if c is not None}))


def assign(layout: Layout, heads: Heads, hints: Hints, name: str) -> Roles:
    """The roles that headings, units and hints give; shape is looked at where these say nothing."""
    said = {role: column(where, layout, heads, role, name) for role, where in hints.columns.items()}
    guessed = [
        ("", 0.0) if i not in layout.numeric else headings.role_of(h) for i, h in enumerate(heads.columns)
    ]
    free = [i for i in layout.numeric if i not in said.values()]
    by_role: dict[str, list[int]] = {}
    for i in free:
        by_role.setdefault(guessed[i][0], []).append(i)
    units = {i: heads.columns[i].unit for i in layout.numeric if heads.columns[i].unit}
    assumed: list[str] = []
    assumed += [
        f"column {i + 1} ({heads.columns[i].text!r}) holds words, not numbers; it was not used"
        for i in range(layout.columns)
        if i not in layout.numeric and headings.role_of(heads.columns[i])[0]
    ]
    wanted = str(hints.columns.get("current", ""))
    at = said.get("current")
    alone = at is not None and sum(h.text == heads.columns[at].text for h in heads.columns) == 1
    one_alone = wanted.isdigit() or alone
    records = [] if one_alone else _side_by_side(heads, by_role, said, assumed, name)
    one = {
        role: said.get(role, _best(by_role.get(role, []), guessed, heads, role, assumed))
        for role in ("cycle", "forward", "backward")
    }
    if not records:
        single = {
            role: said.get(role, _best(by_role.get(role, []), guessed, heads, role, assumed))
            for role in ("time", "potential", "current")
        }
        records = [Record(**single)]
    for role, unit in hints.units.items():
        for i in _columns_of(role, records, one):
            units[i] = unit
    return Roles(records=tuple(records), units=units, assumed=tuple(assumed), **one)


def column(where: int | str, layout: Layout, heads: Heads, role: str, name: str) -> int | None:
    """A column (from 0) as a person names it: number from 1, or heading; 0 says that there is none (None)."""
    if where == 0 and not isinstance(where, bool):
        return None
    if isinstance(where, int) and not isinstance(where, bool):
        if 1 <= where <= layout.columns:
            return where - 1
        raise ReadError(f"{name}: columns.{role} = {where}, but the table has columns 1 to {layout.columns}.")
    wanted = headings.clean(str(where)).casefold()
    for i, heading in enumerate(heads.columns):
        if heading.text and wanted in {heading.text.casefold(), heading.name.casefold()}:
            return i
    if wanted.isdigit():
        return column(int(wanted), layout, heads, role, name)
    known = ", ".join(repr(h.text) for h in heads.columns[:12] if h.text) or "none"
    raise ReadError(
        f"{name}: columns.{role} = {where!r} is not a heading of the table; its headings are: {known}."
    )


def _best(
    candidates: list[int], guessed: list[tuple[str, float]], heads: Heads, role: str, assumed: list[str]
) -> int | None:
    if not candidates:
        return None
    best = max(candidates, key=lambda i: (guessed[i][1], -i))
    if len(candidates) > 1:
        others = ", ".join(f"{i + 1} ({heads.columns[i].text!r})" for i in candidates if i != best)
        assumed.append(
            f"{role} was taken from column {best + 1} ({heads.columns[best].text!r}), not from {others}"
        )
    return best


def _side_by_side(
    heads: Heads,
    by_role: dict[str, list[int]],
    said: dict[str, int | None],
    assumed: list[str],
    name: str,
) -> list[Record]:
    """Several records in one table: one potential and many like currents, or repeated groups."""
    named = said.get("current")
    if "current" in said and (named is None or not _repeats(heads, named, by_role)):
        return []
    potentials, times = by_role.get("potential", []), by_role.get("time", [])
    currents = by_role.get("current", [])
    if named is not None:
        currents = [named, *[i for i in currents if _same(heads, i, named)]]
    if len(currents) < 2 or by_role.get("cycle"):
        return []
    groups = len(currents)
    alike = all(_same(heads, i, currents[0]) for i in currents)
    if len(potentials) == groups and "potential" not in said and _periodic(potentials, currents, times):
        records = [
            Record(potential=p, current=c, time=times[k] if len(times) == groups else None)
            for k, (p, c) in enumerate(zip(potentials, currents, strict=True))
        ]
    elif alike and len(times) == groups and not potentials and _periodic(times, currents, []):
        records = [Record(time=t, current=c) for t, c in zip(times, currents, strict=True)]
    elif alike and len(potentials) <= 1 and len(times) <= 1:
        if channels := _channels(heads, currents):
            raise ReadError(
                f"{name}: the currents under {channels} stand side by side and may be of different electrodes; name the "
                f"one that belongs to this run by its column's number, such as columns = {{ current = {currents[0] + 1} }}."
            )
        shared = said.get("potential", potentials[0] if potentials else None)
        clock = said.get("time", times[0] if times else None)
        records = [Record(potential=shared, current=c, time=clock) for c in currents]
    else:
        return []
    names = ", ".join(str(c + 1) for c in currents[:12]) + (", …" if groups > 12 else "")
    assumed.append(
        f"{groups} currents stand side by side (columns {names}); they were read as cycles 1 to {groups} in this order, "
        "and what sets them apart (such as the scan rate) is not in the table"
    )
    return records


_CHANNEL = {
    "channel",
    "ch",
    "kanal",
    "we",
    "electrode",
    "elektrode",
    "sensor",
    "sample",
    "probe",
    "chip",
    "spot",
    "strip",
}


def _channels(heads: Heads, currents: list[int]) -> str:
    """The headings of currents that differ and name channels or electrodes; empty where they don't."""
    texts = [heads.columns[i].text for i in currents]
    if len(set(texts)) < 2:
        return ""
    names = [set(headings.words(heads.columns[i].name)) for i in currents]
    unknown = all(
        found and not headings.role_of(replace(heads.columns[i], unit="", kind=""))[0]
        for i, found in zip(currents, names, strict=True)
    )
    if unknown or any(_CHANNEL & found for found in names):
        return ", ".join(map(repr, texts[:6])) + (", …" if len(texts) > 6 else "")
    return ""


def _repeats(heads: Heads, at: int, by_role: dict[str, list[int]]) -> bool:
    return bool(heads.columns[at].text) and any(_same(heads, i, at) for i in by_role.get("current", []))


def _same(heads: Heads, a: int, b: int) -> bool:
    """Two headings that are alike but for a number."""
    first, second = heads.columns[a], heads.columns[b]
    bare = [re.sub(r"[\d.#\s_]+", "", h.text) for h in (first, second)]
    return bool(bare[0]) and bare[0] == bare[1] and (first.unit, first.kind) == (second.unit, second.kind)


def _periodic(first: list[int], second: list[int], third: list[int]) -> bool:
    """Whether the columns come in groups of one order: E, I, E, I … or t, E, I, t, E, I …"""
    steps = {b - a for a, b in itertools.pairwise(first)} | {b - a for a, b in itertools.pairwise(second)}
    offsets = {b - a for a, b in zip(first, second, strict=True)}
    return (
        len(steps) == 1
        and len(offsets) == 1
        and (len(third) != len(first) or {b - a for a, b in itertools.pairwise(third)} == steps)
    )


def _columns_of(role: str, records: list[Record], one: dict[str, int | None]) -> list[int]:
    if role in one:
        return [c for c in [one[role]] if c is not None]
    return [c for c in (getattr(record, role) for record in records) if c is not None]
