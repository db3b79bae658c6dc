"""What a study tells of its files so far, for the guesses about further ones."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from pathlib import PurePosixPath
from typing import Any

from halfcell.study.intake_names import made_of, name_parts, pieces, shared_lead_removed
from halfcell.study.translate import BLANK

_MOST_PARTS = 3
"""Parts of a name that may together be the electrode."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """The answers of a person that names of files can be understood by; empty for a new study."""

    electrodes: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    """[electrodes] of study.toml."""
    solutions: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    called: Mapping[str, str] = field(default_factory=dict)
    """Part of the names taken for an electrode to the electrode all those files are of."""
    parts: tuple[str, ...] = ()
    """All parts taken for an electrode so far."""
    places: tuple[int, ...] = ()
    """Which parts of the names make the electrode, where a person said so and it is not what a guess would take."""
    solved: Mapping[str, str] = field(default_factory=dict)
    """Solution that the names alone would tell to the solution all those files were taken in."""
    logs: tuple[tuple[str, str], ...] = ()
    """(name it came under, file) of the addition logs."""
    orders: Mapping[str, int | None] = field(default_factory=dict)
    """Electrode to the highest order of its records; None where one of them has none."""

    def short(self, parts: Iterable[str]) -> dict[str, str]:
        """Parts taken for an electrode without what all files of the study have in common."""
        return shared_lead_removed({*self.parts, *parts})

    def electrode(self, part: str, short: str, source: str) -> str:
        """The electrode of a file: as the study's files of that name are, by the parts a person said it is, else the guess."""
        if part in self.called:
            return self.called[part]
        if self.places and (said := _joined(source, self.places)):
            short = said
        return _alike(short, self.electrodes)

    def solution(self, guess: str, *, told: bool) -> str:
        """The solution of a file; "?" where the names tell nothing and the study has several."""
        found = self.solved.get(guess) or _alike(guess, self.solutions)
        if told or found in self.solutions or not self.solutions:
            return found
        return next(iter(self.solutions)) if len(self.solutions) == 1 else BLANK

    def material(self, electrode: str) -> tuple[str, str]:
        """(material, role) as the electrodes named alike have them, where they agree; empty otherwise."""
        alike = {
            (str(table.get("material", "")), str(table.get("role", "candidate")))
            for name, table in self.electrodes.items()
            if made_of(name) == made_of(electrode)
        }
        return alike.pop() if len(alike) == 1 else ("", "")


def known_of(
    document: Mapping[str, Any],
    rows: Sequence[Mapping[str, str]],
    sources: Mapping[str, str],
    logs: Sequence[str] = (),
) -> Known:
    """What study.toml (``document``) and the ``rows`` of runs.csv tell; ``sources`` maps a file to the name it came
    under, ``logs`` are addition logs that no row need name."""
    called: dict[str, set[str]] = {}
    solved: dict[str, set[str]] = {}
    told: list[tuple[str, str, str]] = []
    for cells in rows:
        source = sources.get(cells.get("file", ""), cells.get("file", ""))
        parts, electrode = name_parts(source), cells.get("electrode", BLANK)
        if parts.electrode and electrode != BLANK:
            called.setdefault(parts.electrode, set()).add(electrode)
            told.append((source, parts.electrode, electrode))
        if (solution := cells.get("solution", "")) and solution != BLANK:
            solved.setdefault(solution_named(parts.medium, parts.air), set()).add(solution)
    named = [log for cells in rows if (log := cells.get("log", "")) and log != BLANK]
    return Known(
        electrodes=_tables(document, "electrodes"),
        solutions=_tables(document, "solutions"),
        called=_agreed(called),
        parts=tuple(called),
        places=_places(told),
        solved=_agreed(solved),
        logs=tuple((sources.get(log, log), log) for log in dict.fromkeys([*named, *logs])),
        orders=_orders(rows),
    )


def solution_named(medium: str, air: str) -> str:
    """The name of a solution by what the names of files tell."""
    return (medium or "electrolyte") + {"air": "-air", "removed": "-deaerated", "": ""}[air]


def _tables(document: Mapping[str, Any], kind: str) -> dict[str, Mapping[str, Any]]:
    found = document.get(kind)
    return {n: t for n, t in found.items() if isinstance(t, dict)} if isinstance(found, dict) else {}


def _agreed(found: Mapping[str, set[str]]) -> dict[str, str]:
    return {key: next(iter(names)) for key, names in found.items() if len(names) == 1}


def _alike(name: str, known: Iterable[str]) -> str:
    """The known name that a name is, capitals and marks between its parts aside; else the name."""
    names = list(known)
    if name in names:
        return name
    same = [k for k in names if _bare(k) == _bare(name)]
    return same[0] if len(same) == 1 else name


def _bare(name: str) -> str:
    return name.casefold().replace("_", "-").replace(" ", "-")


def _places(told: Sequence[tuple[str, str, str]]) -> tuple[int, ...]:
    """The places of the parts that make the electrode in every name; empty where the guess does so, or none do."""
    short = shared_lead_removed(part for _, part, _ in told)
    if len({electrode for *_, electrode in told}) < 2 or all(short[p] == e for _, p, e in told):
        return ()
    width = min(len(_unknown(source)) for source, *_ in told)
    for size in range(1, _MOST_PARTS + 1):
        for places in combinations(range(width), size):
            if all(_joined(source, places) == electrode for source, _, electrode in told):
                return places
    return ()


def _unknown(source: str) -> list[str]:
    """The parts of a path that no meaning is known for, folders first, as the grid of names shows them."""
    pure = PurePosixPath(source)
    folders = [p for p in pure.parts[:-1] if p.lower() not in {"data", "images"}]
    return [text for one in (*folders, pure.stem) for kind, text in pieces(one) if kind == "part"]


def _joined(source: str, places: Sequence[int]) -> str:
    parts = _unknown(source)
    return "-".join(parts[i] for i in places) if max(places) < len(parts) else ""


def _orders(rows: Sequence[Mapping[str, str]]) -> dict[str, int | None]:
    found: dict[str, int | None] = {}
    for cells in rows:
        electrode, order = cells.get("electrode", BLANK), cells.get("order", "")
        if cells.get("technique") == "micrograph" or electrode == BLANK:
            continue
        highest = found.get(electrode, 0)
        found[electrode] = max(highest, int(order)) if highest is not None and order.isdigit() else None
    return found
