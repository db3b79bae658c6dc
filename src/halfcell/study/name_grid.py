"""The names of files as a grid: one column a part, so that a person can say what a part means."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath

from halfcell.study import intake_names as told

MEANINGS: Mapping[str, str] = {
    "": "– not used –",
    "material": "material",
    "recipe": "recipe",
    "batch": "batch",
    "electrode": "electrode",
    "technique": "kind of record",
    "solution": "solution",
    "concentration": "concentration",
    "concentration mmol/L": "in mmol/L",
    "concentration umol/L": "in µmol/L",
    "scan_rate": "scan rate",
    "scan_rate mV/s": "in mV/s",
    "order": "order, repeat",
    "sample": "sample",
}
"""What a part can mean, in words for a list."""
_OF_ELECTRODE = ("material", "recipe", "batch", "electrode")
_KNOWN = ("technique", "medium", "air", "blank", "concentration", "scan_rate", "counter")
_PRESET = {"medium": "solution", "air": "solution", "blank": "concentration", "counter": "order"}
_TITLES = {"technique": "kind", "medium": "electrolyte", "scan_rate": "scan rate", "counter": "number"}


@dataclass(frozen=True, slots=True, kw_only=True)
class NamePart:
    """One part of the names: its value in each file (empty where a name lacks it) and what it is taken for."""

    key: str
    title: str
    meaning: str
    values: tuple[str, ...]


def name_grid(files: Sequence[str]) -> tuple[NamePart, ...]:
    """The parts of the names of files, alike ones in one column: what is understood goes by what it
    says ("50mVs" is a scan rate wherever it stands), the others by their place."""
    split = [_pieces(file) for file in files]
    known = {kind: tuple(" ".join(t for k, t in row if k == kind) for row in split) for kind in _KNOWN}
    unknown = [[text for kind, text in row if kind == "part"] for row in split]
    width = max((len(row) for row in unknown), default=0)
    columns = [tuple(row[i] if i < len(row) else "" for row in unknown) for i in range(width)]
    parts = [
        NamePart(key=f"part {i + 1}", title=f"part {i + 1}", meaning=_taken_for(i, column), values=column)
        for i, column in enumerate(columns)
    ]
    parts += [
        NamePart(key=kind, title=_TITLES.get(kind, kind), meaning=_PRESET.get(kind, kind), values=values)
        for kind, values in known.items()
        if any(values)
    ]
    return tuple(parts)


def cells_of(
    parts: Sequence[NamePart], meanings: Mapping[str, str], row: int
) -> tuple[dict[str, str], dict[str, str]]:
    """(cells of runs.csv, keys of the electrode) that the parts of one name give with such meanings.

    A part whose text cannot be what it is said to mean gives nothing.
    """
    by_meaning: dict[str, list[str]] = {}
    for part in parts:
        if part.values[row] and meanings.get(part.key, ""):
            by_meaning.setdefault(meanings[part.key], []).append(part.values[row])
    cells: dict[str, str] = {}
    made: dict[str, str] = {}
    electrode = [
        part.values[row] for part in parts if meanings.get(part.key) in _OF_ELECTRODE and part.values[row]
    ]
    if electrode:
        cells["electrode"] = "-".join(electrode)
    for key in ("material", "recipe", "batch"):
        if key in by_meaning:
            text = " ".join(by_meaning[key])
            made[key] = told.made_of(text).material if key == "material" else text
    if "solution" in by_meaning:
        cells["solution"] = "-".join(by_meaning["solution"])
    if "sample" in by_meaning:
        cells["sample"] = " ".join(by_meaning["sample"])
    for meaning, texts in by_meaning.items():
        column, _, unit = meaning.partition(" ")
        value = next((v for v in (_value(column, unit, t) for t in texts) if v), "")
        if value:
            cells[column] = value
    return cells, made


def _value(column: str, unit: str, text: str) -> str:
    if column == "technique":
        return told.technique_of(text)
    if column == "concentration":
        if told.is_blank(text):
            return "0 mol/L"
        return told.concentration_of(text) or (f"{_number(text)} {unit}" if unit and _number(text) else "")
    if column == "scan_rate":
        return told.scan_rate_of(text) or (f"{_number(text)} {unit}" if unit and _number(text) else "")
    if column == "order":
        digits = re.search(r"\d+", text)
        return str(int(digits.group())) if digits else ""
    return ""


def _number(text: str) -> str:
    found = re.fullmatch(r"\D*(\d+(?:[.,p]\d+)?)\D*", text)
    return told.plain_number(found.group(1)) if found else ""


def _pieces(file: str) -> list[tuple[str, str]]:
    """(kind, text) of the parts of one path; its first folder (data, images) says nothing."""
    pure = PurePosixPath(file)
    found: list[tuple[str, str]] = []
    for text in (*pure.parts[1:-1], pure.stem):
        found += told.pieces(text)
    return [(kind, text) for kind, text in found if kind != "log"]


def _taken_for(place: int, column: Sequence[str]) -> str:
    """What an unknown part is taken for: the first is a material where metals or bare substrates are named."""
    filled = [text for text in column if text]
    named = sum(map(told.names_a_metal, filled))
    if place == 0 and named >= 0.5 * len(filled):
        return "material"
    return "electrode" if place < 2 else ""
