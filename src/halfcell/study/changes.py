"""What was changed in a file of a study, in plain words: "weight of sensitivity 2 → 3"."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import PurePosixPath
from typing import Any

from halfcell.errors import StudyError
from halfcell.study.draft import ADJUSTMENTS, RUNS, STUDY
from halfcell.study.model import Run
from halfcell.study.table import read_table
from halfcell.study.words import count, listed, printable

Place = tuple[str | int, ...]
"""Where a value stands in a document: names, and positions from 1."""

_MOST = 48
"""Letters shown of one value."""


def change_words(name: str, before: bytes | None, after: bytes | None) -> str:
    """One line about what became different in the file ``name`` between two states of it."""
    found = {STUDY: _study, RUNS: _runs, ADJUSTMENTS: _adjustments}.get(name, _other)(before, after)
    found = list(dict.fromkeys(found)) or [f"{name} written anew"]
    if len(found) == 1:
        return found[0]
    return f"{found[0]}; {count(len(found) - 1, 'further change')}"


def step_words(changed: Mapping[str, tuple[bytes | None, bytes | None]]) -> str:
    """One line about a change of several files of a study: "3 files added (new: Ni-4)"."""
    if (added := _added(changed)) is not None:
        return added
    return "; ".join(change_words(name, *states) for name, states in changed.items())


def _added(changed: Mapping[str, tuple[bytes | None, bytes | None]]) -> str | None:
    """Words for rows that came in, with the tables they need; None for any other change."""
    if RUNS not in changed or set(changed) - {RUNS, STUDY}:
        return None
    try:
        old, new = (
            [row.cells for row in read_table(data or b"", Run.model_fields).rows] for data in changed[RUNS]
        )
    except StudyError:
        return None
    if not 0 < len(old) < len(new) or any(
        {k: v for k, v in b.items() if v} != {k: v for k, v in a.items() if v}
        for a, b in zip(old, new, strict=False)
    ):
        return None
    before, after = (_toml(data) for data in changed.get(STUDY, (b"", b"")))
    if (
        before is None
        or after is None
        or any(leaves(after).get(p) != v for p, v in leaves(before).items() if v != {})
    ):
        return None
    fresh = [name for name in after.get("electrodes", {}) if name not in before.get("electrodes", {})]
    told = f" (new: {listed(map(shown, fresh), 3)})" if fresh else ""
    return f"{count(len(new) - len(old), 'file')} added{told}"


def leaves(document: Any, at: Place = ()) -> dict[Place, Any]:
    """Every value of a document by its place; an empty table or list is a value."""
    if isinstance(document, Mapping) and document:
        return {p: v for key, inner in document.items() for p, v in leaves(inner, (*at, str(key))).items()}
    if isinstance(document, list) and any(isinstance(one, Mapping) for one in document):
        return {p: v for i, inner in enumerate(document, 1) for p, v in leaves(inner, (*at, i)).items()}
    return {at: document}


def place_words(place: Place, document: Mapping[str, Any]) -> str:
    """A place of study.toml as a person calls it: "area of Ni-1", "weight of sensitivity"."""
    match place:
        case ("choice", "wants" | "musts" as kind, int(i), *rest):
            entries = document.get("choice", {}).get(kind, [])
            name = _label(entries[i - 1].get("finding", "")) if i <= len(entries) else f"{kind[:-1]} {i}"
            what = " ".join(str(r) for r in rest).replace("_", " ")
            return f"weight of {name}" if what == "weight" else f"{name}, {what}"
        case ("electrodes" | "solutions" | "recipes" | "confounders", str(name), *rest) if rest:
            *_, last = rest
            return f"{str(last).replace('_', ' ')} of {name}"
        case ("readers", str(name), *_):
            return f"how {document.get('readers', {}).get(name, {}).get('files', name)} is read"
        case ("analysis", "confidence"):
            return "confidence"
    return ", ".join(str(p) for p in place).replace("_", " ")


def shown(value: Any) -> str:
    """A value as it is written in a sentence."""
    if value is None or value == "":
        return "empty"
    if isinstance(value, bool):
        return "yes" if value else "no"
    text = f"{value:g}" if isinstance(value, float) else printable(str(value)).replace("\n", " ")
    return text if len(text) <= _MOST else f"{text[: _MOST - 1]}…"


def decision_words(one: Mapping[str, Any]) -> str:
    """A decision of adjustments.toml in a few words."""
    kind, file = str(one.get("kind", "decision")), PurePosixPath(str(one.get("file", ""))).name
    words = {
        "baseline window": "baseline of {file}",
        "peak window": "peak window of {file}",
        "use cycle": "cycle {cycle} of {file} used",
        "reject point": "point {concentration} of {electrode} left out",
        "add step": "addition at {time} added in {file}",
        "remove step": "addition at {time} removed from {file}",
        "move step": "addition of {file} moved from {time} to {to}",
        "exclude particle": "particle taken out of {file}",
        "add particle": "particle added to {file}",
        "split particle": "particle of {file} split",
        "merge particles": "particles of {file} made one",
        "mask region": "region of {file} left out",
        "scale bar": "scale bar of {file}: {length}",
    }.get(kind, f"{kind} of {{file}}")
    known = {key: shown(value) for key, value in one.items() if isinstance(value, (str, int, float))}
    return words.format_map(_Known(known | {"file": shown(file)}))


class _Known(dict[str, str]):
    def __missing__(self, key: str) -> str:
        return "?"


def _study(before: bytes | None, after: bytes | None) -> list[str]:
    old, new = _toml(before), _toml(after)
    if old is None or new is None:
        return []
    a, b = leaves(old), leaves(new)
    out = []
    for place in [p for p in {**a, **b} if a.get(p) != b.get(p) and {} not in (a.get(p), b.get(p))]:
        what = place_words(place, new if place in b else old)
        if what.startswith("how "):
            out.append(what)
        elif place not in a:
            out.append(f"{what}: {shown(b[place])}")
        elif place not in b:
            out.append(f"{what} {shown(a[place])} taken out")
        else:
            out.append(f"{what} {shown(a[place])} → {shown(b[place])}")
    return out


def _runs(before: bytes | None, after: bytes | None) -> list[str]:
    try:
        old, new = (read_table(data or b"", Run.model_fields).rows for data in (before, after))
    except StudyError:
        return []
    if len(old) != len(new):
        more = len(new) - len(old)
        return [f"{count(abs(more), 'record')} {'added to' if more > 0 else 'taken out of'} {RUNS}"]
    out = []
    for a, b in zip(old, new, strict=True):
        for column in dict.fromkeys([*a.cells, *b.cells]):
            was, is_ = a.cells.get(column, ""), b.cells.get(column, "")
            if was != is_:
                record = PurePosixPath(b.cells.get("file", f"row {b.number}")).name
                out.append(f"{column.replace('_', ' ')} of {record} {shown(was)} → {shown(is_)}")
    return out


def _adjustments(before: bytes | None, after: bytes | None) -> list[str]:
    old, new = ((_toml(data) or {}).get("adjustment", []) for data in (before, after))
    coming, going = [one for one in new if one not in old], [one for one in old if one not in new]
    told = coming or going
    alike = {one.get("kind") for one in told}
    if len(told) > 1 and len(alike) == 1:
        first = count(len(told), "decision") + f" ({', '.join(map(str, alike))})"
        return [first if coming else f"{first} withdrawn"]
    words = [decision_words(one) for one in told]
    return words if coming else [f"{one}: withdrawn" for one in words]


def _other(_before: bytes | None, _after: bytes | None) -> list[str]:
    return []


def _toml(data: bytes | None) -> dict[str, Any] | None:
    try:
        return tomllib.loads((data or b"").decode("utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError):
        return None


def _label(finding: str) -> str:
    from halfcell.vocabulary import TERMS

    term = TERMS.get(finding)
    words = term.label if term else finding
    return words[:1].lower() + words[1:] if words[1:2].islower() else words
