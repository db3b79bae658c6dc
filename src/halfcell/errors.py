"""What can go wrong, said for people.

    HalfcellError (ValueError)
    ├── ReadError      a raw file could not be read
    ├── StudyError     a study folder has mistakes; carries all of them
    ├── UnitError      a quantity without a unit, or with one of another kind
    └── MethodError    a method refuses its data; carries the reason

Every error pickles with its text and its parts, because work runs in other processes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing that is wrong: where, what, and what a correct one looks like.

    ``file`` is relative to the study; ``place`` is a row ("row 7, column scan_rate") or a
    key ("electrodes.Ni-1.area"); ``severity`` is "error" or "warning"; ``lines`` are those of a raw
    file that a person must look at, numbered.
    """

    file: str
    place: str = ""
    what: str
    example: str = ""
    severity: str = "error"
    lines: str = ""

    def __str__(self) -> str:
        where = ": ".join(part for part in (self.file, self.place) if part)
        text = f"{where}: {self.what}" if where else self.what
        if self.lines:
            text += f"\nThe lines in question:\n{self.lines}\n"
        apart = "\n" if "\n" in self.example else " "
        return f"{text.rstrip()}{apart}Example:{apart}{self.example}" if self.example else text.rstrip()


class HalfcellError(ValueError):
    """The root of all errors that a person can act on."""

    def __init__(self, what: str, *, problems: tuple[Problem, ...] = ()) -> None:
        super().__init__(what)
        self.what = what
        self.problems = problems

    def __str__(self) -> str:
        return self.what

    def __reduce__(self) -> tuple[Any, ...]:
        return (_rebuild, (type(self), self.what, self.problems))


def as_problem(error: HalfcellError, *, about: str, severity: str = "warning") -> Problem:
    """All that an error says as one problem of a file or electrode, without its name said twice."""
    if len(error.problems) == 1:
        return replace(error.problems[0], what=without_name(error.problems[0].what, error.problems[0].file))
    if error.problems:
        first = error.problems[0]
        told = [
            f"{problem.place}: {problem.what}" if problem.place else problem.what
            for problem in error.problems
        ]
        return replace(first, place="", what=" ".join(told), example=first.example)
    return Problem(file=about, what=without_name(str(error), about), severity=severity)


def without_name(what: str, file: str) -> str:
    """A message without the file's name at its beginning, for where the name stands already."""
    return what.removeprefix(f"{file}: ") if file else what


def _rebuild(kind: type[HalfcellError], what: str, problems: tuple[Problem, ...]) -> HalfcellError:
    return kind(what, problems=problems)


class ReadError(HalfcellError):
    """A raw file could not be read as what it was taken for."""


class StudyError(HalfcellError):
    """A study folder has mistakes; ``problems`` names each one."""


class UnitError(HalfcellError):
    """A quantity has no unit, or a unit of another kind than is needed."""


class MethodError(HalfcellError):
    """A method refuses its data; the text is the reason, with the numbers."""
