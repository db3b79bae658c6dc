"""What a person has said about how to read a file (``[readers.NAME]`` in study.toml)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from halfcell.errors import ReadError

ROLES = ("time", "potential", "current", "cycle", "forward", "backward")
_DELIMITERS = {
    "": "",
    ",": ",",
    ";": ";",
    "|": "|",
    "tab": "\t",
    "\t": "\t",
    "space": " ",
    " ": " ",
    "comma": ",",
    "semicolon": ";",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Hints:
    """The same, checked; empty values are for the reader to find."""

    reader: str = ""
    columns: Mapping[str, int | str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    delimiter: str = ""
    decimal: str = ""
    skip: int | None = None
    encoding: str = ""


def checked(hints: Mapping[str, Any], name: str) -> Hints:
    """Hints as the reader needs them. Raises ReadError that names the key and shows a correct one."""
    delimiter, decimal = str(hints.get("delimiter") or ""), str(hints.get("decimal") or "")
    if delimiter not in _DELIMITERS:
        raise ReadError(
            f'{name}: delimiter = {delimiter!r} is not known; write ",", ";", "|", "tab" or "space".'
        )
    if decimal not in {"", ".", ","}:
        raise ReadError(f'{name}: decimal = {decimal!r} is not known; write "." or ",".')
    for key in ("columns", "units"):
        for role in hints.get(key) or {}:
            if role not in ROLES:
                raise ReadError(f"{name}: {key}.{role} is not known; the roles are {', '.join(ROLES)}.")
    skip = hints.get("skip")
    if skip is not None and (isinstance(skip, bool) or not isinstance(skip, int) or skip < 0):
        raise ReadError(f"{name}: skip = {skip!r} is not a number of lines; write for example skip = 12.")
    return Hints(
        reader=str(hints.get("reader") or ""),
        columns=dict(hints.get("columns") or {}),
        units=dict(hints.get("units") or {}),
        delimiter=_DELIMITERS[delimiter],
        decimal=decimal,
        skip=skip,
        encoding=str(hints.get("encoding") or ""),
    )
