"""Reading a TOML file of a person: every syntax mistake with its line, and the line of every key."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from typing import Any

from halfcell.errors import Problem
from halfcell.study.table import lines_of

_AT = re.compile(r"\(at line (\d+), column (\d+)\)")
_PAIR = re.compile(
    r"^\s*((?:[A-Za-z0-9_-]+|\"[^\"]*\"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+|\"[^\"]*\"|'[^']*'))*)\s*=\s*(.*?)\s*$"
)
_TABLE = re.compile(r"^\s*(\[\[?)\s*(.+?)\s*\]\]?\s*(?:#.*)?$")
_PART = re.compile(r"\"([^\"]*)\"|'([^']*)'|([A-Za-z0-9_-]+)")
_MOST_MISTAKES = 30


@dataclass(frozen=True, slots=True)
class Toml:
    """What a TOML file holds; ``lines`` maps a dotted key to its line (from 1)."""

    document: dict[str, Any]
    lines: dict[str, int] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    whole: bool = True
    """False when a mistake hid the rest of the file."""

    def place(self, key: str) -> str:
        """A key with its line, or that of the table it stands in: "electrodes.Ni-1.area (line 12)"."""
        at = key
        while at and at not in self.lines:
            at = at.rpartition(".")[0]
        return f"{key} (line {self.lines[at]})" if at else key


def read_toml(text: str, name: str) -> Toml:
    """The document, reading on behind syntax mistakes so that all of them are found."""
    text = text.removeprefix("\ufeff")
    lines, problems = lines_of(text), []
    for _ in range(_MOST_MISTAKES):
        try:
            document = tomllib.loads("\n".join(lines) + "\n")
        except RecursionError:
            problems.append(Problem(file=name, what="is nested too deeply to be a study's file."))
            break
        except tomllib.TOMLDecodeError as error:
            number = _line_of(str(error), len(lines))
            problems.append(_mistake(str(error), number, lines, name))
            if not _mend(lines, number):
                break
        except ValueError as error:  # a number of thousands of digits, a date that does not exist
            problems.append(Problem(file=name, what=f"holds a value that cannot be read ({error})."))
            break
        else:
            return Toml(document, _lines_of_keys(lines), tuple(problems))
    return Toml({}, {}, tuple(problems), whole=False)


def _line_of(message: str, last: int) -> int:
    match = _AT.search(message)
    return min(int(match.group(1)), last) if match else last


def _mistake(message: str, number: int, lines: list[str], name: str) -> Problem:
    line = lines[number - 1] if lines else ""
    what, example = _AT.sub("", message).strip().rstrip(".").lower(), ""
    pair = _PAIR.match(line)
    if pair and not pair.group(2):
        what, example = f"{line.strip()!r} has no value behind the equals sign", f'{pair.group(1)} = "…"'
    elif pair and pair.group(2)[0] not in "\"'[{":
        what = f"{line.strip()!r} is not TOML: text and quantities stand in quotes"
        bare = pair.group(2).strip("„“”‚‘’«» ")
        example = f'{pair.group(1)} = "{bare}"'
    elif "overwrite" in what or "twice" in what or "already" in what or "declare" in what:
        what = f"{line.strip()!r} stands there a second time; each key and each [table] may stand once"
    elif pair and line.count('"') % 2:
        what = f"{line.strip()!r} has a quote that is not closed"
        example = f'{pair.group(1)} = "{pair.group(2).strip(chr(34))}"'
    elif pair and "\\" in pair.group(2):
        what = (
            f"{line.strip()!r} holds a backslash, which starts a sign of its own within quotes; write a slash"
        )
        example = f"{pair.group(1)} = {pair.group(2).replace(chr(92), '/')}"
    else:
        what = f"{line.strip()!r} is not TOML ({what})"
        example = 'analyte = "nitrite"'
    return Problem(file=name, place=f"line {number}", what=what + ".", example=example)


def _mend(lines: list[str], number: int) -> bool:
    """Make the line readable, or empty, so that reading can go on; False when that is no use."""
    if not lines or not lines[number - 1].strip():
        return False
    line = lines[number - 1]
    pair = _PAIR.match(line)
    mended = ""
    if pair and pair.group(2) and pair.group(2)[0] not in "\"'[{":
        value = pair.group(2).split("#")[0].strip().replace("\\", "").replace('"', "")
        mended = f'{pair.group(1)} = "{value}"'
    lines[number - 1] = mended if mended != line else ""
    return True


def _lines_of_keys(lines: list[str]) -> dict[str, int]:
    found: dict[str, int] = {}
    counts: dict[str, int] = {}
    prefix = ""
    for number, line in enumerate(lines, 1):
        if table := _TABLE.match(line):
            prefix = _dotted(table.group(2))
            if table.group(1) == "[[":
                counts[prefix] = counts.get(prefix, 0) + 1
                prefix = f"{prefix}.{counts[prefix]}"
            found.setdefault(prefix, number)
        elif pair := _PAIR.match(line):
            key = _dotted(pair.group(1))
            found.setdefault(f"{prefix}.{key}" if prefix else key, number)
    return found


def _dotted(text: str) -> str:
    return ".".join(a or b or c for a, b, c in _PART.findall(text))
