"""From the validator's errors to sentences for people: where, what, and a correct example."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from typing import Annotated, Any, get_args, get_origin

from pydantic import BaseModel, ValidationError

from halfcell.errors import Problem
from halfcell.study.fields import Takes, part_at, takes, takes_type
from halfcell.study.words import meant

BLANK = "?"
"""What stands where only a person knows the answer, until it is filled in."""

LACKING = "is still to be filled in"
"""Words of every problem that is a blank and no mistake."""

Path = tuple[str | int, ...]

_PAIR = re.compile(r"^[A-Za-z_]+ = ")


def problems_of(
    error: ValidationError,
    model: type[BaseModel],
    *,
    file: str,
    place: Callable[[str], str],
    quoted: bool = True,
) -> Iterable[Problem]:
    """One problem for each place that is wrong. ``quoted`` is false where values stand without quotes (a CSV)."""
    seen: set[Path] = set()
    for item in error.errors(include_url=False):
        path, kind, field = part_at(model, item["loc"])
        if path in seen:
            continue
        seen.add(path)
        expected = takes(field) if field is not None else takes_type(kind)
        what, example = _sentence(item, path, expected, model)
        if not quoted:
            example = example.strip('"')
        elif example and path and not isinstance(path[-1], int) and not _PAIR.match(example):
            example = f"{_key(path[-1])} = {example}"
        yield Problem(file=file, place=place(dotted(path)), what=what, example=example)


def blanks_of(
    document: Any, model: type[BaseModel], *, file: str, place: Callable[[str], str]
) -> Iterable[Problem]:
    """The answers still to be given where any text would have been right by itself."""
    for path in _blanks(document, ()):
        walked, kind, field = part_at(model, path)
        expected = takes(field) if field is not None else takes_type(kind)
        if walked == path and "text" in expected.what:
            what = f"{path[-1]!r} {LACKING}: it takes {expected.what}."
            yield Problem(
                file=file,
                place=place(dotted(path)),
                what=what,
                example=f"{_key(str(path[-1]))} = {expected.example}",
            )


def _blanks(value: Any, path: Path) -> Iterable[Path]:
    if value == BLANK:
        yield path
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from _blanks(inner, (*path, key))
    elif isinstance(value, list):
        for i, inner in enumerate(value):
            yield from _blanks(inner, (*path, i))


def dotted(path: Path) -> str:
    """A path as people write it; positions in a list count from 1."""
    return ".".join(str(p + 1) if isinstance(p, int) else p for p in path)


def _key(name: str) -> str:
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else f'"{name}"'


def _sentence(item: Any, path: Path, expected: Takes, model: type[BaseModel]) -> tuple[str, str]:
    kind, value, context = item["type"], item.get("input"), item.get("ctx", {})
    name = path[-1] if path else ""
    if value == BLANK and kind != "extra_forbidden":
        return f"{name!r} {LACKING}: it takes {expected.what}.", expected.example
    if kind == "missing":
        return f"the key {name!r} is missing; it takes {expected.what}.", expected.example
    if kind == "extra_forbidden":
        return _unknown(path, model)
    if kind == "value_error":
        return _first(context.get("error", item["msg"])), expected.example
    if kind in {"union_tag_invalid", "union_tag_not_found"}:
        return _unknown_kind(value, model, path)
    if kind in {"greater_than", "greater_than_equal", "less_than", "less_than_equal"}:
        limit = next(iter(v for k, v in context.items() if k in {"gt", "ge", "lt", "le"}))
        word = {
            "greater_than": "above",
            "greater_than_equal": "at least",
            "less_than": "below",
            "less_than_equal": "at most",
        }[kind]
        return f"{value!r} is out of range: it must be {word} {limit}.", str(_within(word, limit))
    if kind in {"too_short", "too_long", "string_too_short"}:
        least = context.get("min_length", context.get("max_length"))
        what = "characters" if kind == "string_too_short" else "entries"
        few = "more" if "short" in kind else "fewer"
        return f"{_shown(value)} is not enough: {least} {what} or {few} are needed.", expected.example
    if kind == "finite_number":
        return f"{value!r} is not a finite number.", expected.example
    return _other(value, expected)


def _other(value: Any, expected: Takes) -> tuple[str, str]:
    if expected.words and isinstance(value, str):
        return f"{value!r} is not known here; {meant(value, expected.words)}", expected.example
    if isinstance(value, (int, float)) and not isinstance(value, bool) and expected.what.startswith("text"):
        return (
            f"{value!r} is a bare number; this takes {expected.what}, with the unit where it is a quantity.",
            expected.example,
        )
    return f"{_shown(value)} is not right here; this takes {expected.what}.", expected.example


def _shown(value: Any) -> str:
    if isinstance(value, dict):
        return "a table"
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "…"


def _within(word: str, limit: float) -> float:
    if word in {"at least", "at most"}:
        return limit
    return (
        limit + 1
        if word == "above" and isinstance(limit, int)
        else (limit * 0.95 if word == "below" else limit + 0.45)
    )


def _unknown(path: Path, model: type[BaseModel]) -> tuple[str, str]:
    _, table, _ = part_at(model, path[:-1])
    fields = getattr(table, "model_fields", {})
    name = str(path[-1])
    near = meant(name, fields)
    example = ""
    for known, field in fields.items():
        if repr(known) in near:
            example = f"{known} = {takes(field).example}"
    return f"the key {name!r} is not known; {near}", example


def _unknown_kind(value: Any, model: type[BaseModel], path: Path) -> tuple[str, str]:
    _, union, _ = part_at(model, path)
    tags = [get_args(k.model_fields["kind"].annotation)[0] for k in _members(union)]
    given = value.get("kind") if isinstance(value, dict) else value
    if given is None:
        return "the key 'kind' is missing.", f'kind = "{tags[0]}"'
    return f"the kind {given!r} is not known; {meant(str(given), tags)}", f'kind = "{tags[0]}"'


def _members(union: Any) -> list[Any]:
    if get_origin(union) is Annotated:
        return _members(get_args(union)[0])
    return list(get_args(union))


def _first(error: object) -> str:
    # The example is shown by itself, so the sentence need not end with it.
    return str(error).partition("; write it")[0].rstrip(".") + "."
