"""What a key of the model takes, said for people: used by the check and by the reference page."""

from __future__ import annotations

import types
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from halfcell.study.quantity import Part, Quantity


@dataclass(frozen=True, slots=True)
class Takes:
    """What a key takes: in words, a correct example as it is written in TOML, and the words allowed."""

    what: str
    example: str
    words: tuple[str, ...] = ()


_PLAIN: Mapping[Any, tuple[str, str]] = {
    str: ("text in quotes", '"…"'),
    int: ("a whole number", "1"),
    float: ("a number", "1.0"),
    bool: ("true or false", "true"),
}


def takes(field: FieldInfo) -> Takes:
    """What a field of a model takes."""
    for mark in field.metadata:
        if isinstance(mark, Quantity):
            return _quantity(mark)
    found = takes_type(field.annotation)
    if field.examples and isinstance(field.examples[0], str) and field.examples[0].startswith(("{", "[")):
        return Takes(found.what, field.examples[0], found.words)
    least = next((m.min_length for m in field.metadata if hasattr(m, "min_length")), 1)
    if found.example.startswith("[") and least > 1:
        entries = ", ".join([found.example[1:-1]] * least)
        return Takes(f"{found.what}, {least} or more", f"[{entries}]", found.words)
    shown = field.examples[0] if field.examples else field.get_default(call_default_factory=False)
    if isinstance(shown, bool):
        return Takes(found.what, str(shown).lower(), found.words)
    if isinstance(shown, (int, float)):
        return Takes(found.what, str(shown), found.words)
    if isinstance(shown, str) and shown:
        return Takes(found.what, f'"{shown}"', found.words)
    return found


def takes_type(kind: Any) -> Takes:
    """What a type takes."""
    origin, inner = get_origin(kind), get_args(kind)
    if origin is Annotated:
        marks = [m for m in inner[1:] if isinstance(m, Quantity)]
        return _quantity(marks[0]) if marks else takes_type(inner[0])
    if origin is Literal:
        words = tuple(str(w) for w in inner if w != "")
        first = str(inner[0]) if isinstance(inner[0], int) else f'"{words[0]}"'
        return Takes("one of " + ", ".join(words) if len(words) > 1 else words[0], first, words)
    if origin in (Union, types.UnionType):
        parts = [takes_type(k) for k in inner if k is not type(None)]
        words = tuple(w for p in parts for w in p.words)
        return Takes(", or ".join(p.what for p in parts), parts[0].example, words)
    if origin is list:
        part = takes_type(inner[0])
        return Takes(f"a list of {part.what}", f"[{part.example}]")
    if origin is tuple:
        parts = [takes_type(k) for k in inner]
        return Takes(" and ".join(p.what for p in parts), f"[{', '.join(p.example for p in parts)}]")
    if origin is dict:
        part = takes_type(inner[1])
        return Takes(f"a table of names, each with {part.what}", f"{{ name = {part.example} }}")
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return Takes("a table of its own keys", example_of_table(kind))
    what, example = _PLAIN.get(kind, ("a value", '"…"'))
    return Takes(what, example)


def _quantity(mark: Quantity) -> Takes:
    return Takes("a quantity with its unit" + (f", {mark.least}" if mark.least else ""), f'"{mark.example}"')


def example_of_table(model: type[BaseModel]) -> str:
    """The needed keys of a table with an example each, on one line."""
    needed = [f"{n} = {takes(f).example}" for n, f in model.model_fields.items() if f.is_required()]
    return "{ " + ", ".join(needed) + " }" if needed else "{ }"


def part_at(
    model: type[BaseModel], path: tuple[str | int, ...]
) -> tuple[tuple[str | int, ...], Any, FieldInfo | None]:
    """Follow a path of keys, names and positions into a model as far as it goes.

    Gives the part of the path that names something a person wrote, the type there, and the field
    whose description tells about it. Parts of the path behind that are choices of the validator.
    """
    here: Any = model
    field: FieldInfo | None = None
    walked: list[str | int] = []
    for step in path:
        here = _bare(here)
        origin, inner = get_origin(here), get_args(here)
        if isinstance(here, type) and issubclass(here, Part):
            if step not in here.model_fields:
                walked.append(step)
                return tuple(walked), None, None
            field = here.model_fields[str(step)]
            here = _typed(field)
        elif origin is dict:
            here, field = inner[1], None
        elif origin in (list, tuple) and isinstance(step, int):
            here = inner[0] if origin is list else inner[min(step, len(inner) - 1)]
            field = None
        elif origin in (Union, types.UnionType) and (chosen := _tagged(inner, step)) is not None:
            here = chosen
            continue
        else:
            break
        walked.append(step)
    return tuple(walked), here, field


def _typed(field: FieldInfo) -> Any:
    return Annotated[(field.annotation, *field.metadata)] if field.metadata else field.annotation


def _bare(kind: Any) -> Any:
    """Without the marks around a type and without "or nothing"."""
    if get_origin(kind) is Annotated:
        return _bare(get_args(kind)[0])
    if get_origin(kind) in (Union, types.UnionType):
        rest = [k for k in get_args(kind) if k is not type(None)]
        if len(rest) == 1:
            return _bare(rest[0])
    return kind


def _tagged(kinds: tuple[Any, ...], tag: str | int) -> Any:
    """The member of a union of tables whose ``kind`` is the tag."""
    for kind in kinds:
        bare = _bare(kind)
        kinds_field = (
            bare.model_fields.get("kind") if isinstance(bare, type) and issubclass(bare, Part) else None
        )
        if kinds_field is not None and tag in get_args(kinds_field.annotation):
            return bare
    return None
