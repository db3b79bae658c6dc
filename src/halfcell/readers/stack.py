"""From the columns of a table to the columns of one recording: cycles joined, empty rows left out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.readers.roles import Record, Roles
from halfcell.readers.table import Table, all_finite

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stack:
    """The columns of a recording, all of one length; ``rows`` are the table's rows kept (None: several records)."""

    time: Array | None
    potential: Array | None
    current: Array
    cycle: Array | None
    forward: Array | None = None
    backward: Array | None = None
    rows: NDArray[np.bool_] | slice | None = None
    assumed: tuple[str, ...] = ()


def stack(roles: Roles, scaled: dict[int, Array], table: Table) -> Stack:
    """One recording from one record, or from several side by side as cycles 1, 2 …"""
    if len(roles.records) > 1:
        return _joined(roles.records, scaled)
    record = roles.records[0]
    assumed: list[str] = []
    forward, backward = (None if c is None else scaled[c] for c in (roles.forward, roles.backward))
    current: Array
    if record.current is not None:
        current = scaled[record.current]
    else:
        assert forward is not None
        assert backward is not None
        current = forward - backward
        assumed.append("the current is the forward minus the backward current")
    time, potential = (None if c is None else scaled[c] for c in (record.time, record.potential))
    cycle = None if roles.cycle is None else table.columns[roles.cycle]
    if cycle is None and table.block is not None:
        cycle = np.add(table.block, 1.0, dtype=np.float64)
        numbers = np.unique(cycle).astype(int)
        order = "in this order" if numbers[-1] == len(numbers) else _listed(numbers)
        assumed.append(f"{len(numbers)} blocks of rows one below the other were read as cycles {order}")
    rows: NDArray[np.bool_] | slice = slice(None)
    whole = _whole([a for a in (current, potential, time) if a is not None])
    if whole is not None:
        rows = whole
        empty = np.flatnonzero(~whole)
        odd = next((table.words[i] for i in roles.used if i in table.words), "")
        if odd or empty[0] != len(whole) - len(empty):
            assumed.append(f"{rows_with(len(empty))} an empty cell{such(odd)} {was(len(empty))} left out")

    def kept(array: Array | None) -> Array | None:
        return None if array is None else array[rows]

    return Stack(
        time=kept(time), potential=kept(potential), current=current[rows], cycle=kept(cycle), forward=kept(forward),
        backward=kept(backward), rows=rows, assumed=tuple(assumed),
    )  # fmt: skip


def rows_with(count: int, of: str = "") -> str:
    """The beginning of a note on rows."""
    return f"{count} row{'s' if count != 1 else ''}{of} with"


def was(count: int) -> str:
    """The verb of a note."""
    return "was" if count == 1 else "were"


def such(odd: str) -> str:
    """What stands in a cell that holds no number."""
    return f" or one that holds no number ({odd!r})" if odd else ""


def _listed(numbers: NDArray[np.int64]) -> str:
    shown = ", ".join(map(str, numbers[:12]))
    return f"{shown}{', …' if len(numbers) > 12 else ''}, as the lines above them say"


def _whole(arrays: list[Array]) -> NDArray[np.bool_] | None:
    """Rows in which every array has a number; None where that is every row."""
    if all(all_finite(array) for array in arrays):
        return None
    bad = np.zeros(len(arrays[0]), dtype=bool)
    for array in arrays:
        bad |= ~np.isfinite(array)
    return ~bad


def _joined(records: tuple[Record, ...], scaled: dict[int, Array]) -> Stack:
    parts: dict[str, list[Array]] = {"time": [], "potential": [], "current": [], "cycle": []}
    assumed, number = [], 0
    for at, record in enumerate(records, start=1):
        columns = {
            role: scaled[c]
            for role in ("time", "potential", "current")
            if (c := getattr(record, role)) is not None
        }
        whole = _whole(list(columns.values()))
        rows = np.ones(len(columns["current"]), dtype=bool) if whole is None else whole
        if not rows.any():
            assumed.append(f"record {at} holds no numbers")
            continue
        number = at
        empty = np.flatnonzero(~rows)
        if len(empty) and empty[0] != len(rows) - len(empty):
            assumed.append(
                f"{rows_with(len(empty), f' of cycle {at}')} an empty cell {was(len(empty))} left out"
            )
        for role, array in columns.items():
            parts[role].append(array[rows])
        parts["cycle"].append(np.full(int(rows.sum()), float(number)))
    joined = {role: np.concatenate(arrays) if arrays else None for role, arrays in parts.items()}
    current = joined["current"] if joined["current"] is not None else np.empty(0)
    return Stack(
        time=joined["time"],
        potential=joined["potential"],
        current=current,
        cycle=joined["cycle"],
        assumed=tuple(assumed),
    )
