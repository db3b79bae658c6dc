from __future__ import annotations

import re
import tomllib
from pathlib import Path

from pydantic import BaseModel

import halfcell.study
from halfcell.study.adjustments import AdjustmentsFile
from halfcell.study.fields import takes
from halfcell.study.model import Run, StudyFile
from halfcell.study.reference import decisions, reference_page, tables
from halfcell.study.settings_amperometry import WAYS, Stock


def models() -> list[type[BaseModel]]:
    return [model for _, model in tables()] + [Run, *decisions()]


def test_every_key_stands_on_the_page_with_its_meaning() -> None:
    page = reference_page()
    for model in models():
        for name, field in model.model_fields.items():
            assert (
                f"`{name}`" in page or f"{name}.NAME]" in page or f"[{name}]" in page or f".{name}]" in page
            ), (model, name)
            described = (
                field.description
                or name in {"kind", "format", "adjustment"}
                or isinstance(field.annotation, type)
            )
            assert described or f"{name}" in page


def test_keys_a_person_writes_are_described() -> None:
    undescribed = [
        f"{model.__name__}.{name}"
        for model in [m for _, m in tables()] + [Run]
        for name, field in model.model_fields.items()
        if not field.description
        and "Settings" not in str(field.annotation)
        and not re.match(r"dict|list\[halfcell", str(field.annotation))
    ]
    assert undescribed == []


def test_the_page_is_the_same_every_time() -> None:
    assert reference_page() == reference_page()
    assert "PydanticUndefined" not in reference_page()
    assert "<class" not in reference_page()


def test_every_example_of_the_model_is_right() -> None:
    # A table made of all its examples must be accepted by the model that shows them.
    for model in models():
        lines = [
            f"{name} = {takes(field).example}"
            for name, field in model.model_fields.items()
            if not _inner(field.annotation)
        ]
        values = tomllib.loads("\n".join(lines).replace('"…"', '"text"'))
        for name, value in values.items():
            if isinstance(value, dict) and "name" in value:
                values[name] = {}
        for chosen in _alternatives(model, values):
            model.model_validate(chosen)


def _alternatives(model: type, values: dict) -> list[dict]:
    """The examples as they can stand together: a stock is known in one way only."""
    if model is not Stock:
        return [values]
    every = {way: {*needed, *further} for way, (needed, further) in WAYS.items()}
    out = []
    for way in every:
        others = set().union(*(keys for other, keys in every.items() if other != way))
        out.append({k: v for k, v in values.items() if k not in others})
    return out


def _inner(kind: object) -> bool:
    text = str(kind)
    return "halfcell.study" in text and "Quantity" not in text


def test_the_smallest_study_of_the_page_is_right() -> None:
    toml, table = re.findall(r"```(?:toml|csv)\n(.*?)```", reference_page(), re.DOTALL)
    StudyFile.model_validate(tomllib.loads(toml))
    head, *rows = [line.split(",") for line in table.strip().splitlines()]
    for row in rows:
        Run.model_validate({k: v for k, v in zip(head, row, strict=True) if v})


def test_the_written_format_names_every_file_and_is_of_this_version() -> None:
    text = (Path(halfcell.study.__file__).parent / "format.md").read_text("utf-8")
    for name in (
        "study.toml",
        "runs.csv",
        "adjustments.toml",
        "intake.csv",
        "report/",
        ".adjustments.toml.lock",
    ):
        assert f"`{name}`" in text
    assert "format 1" in text
    assert StudyFile.model_fields["format"].annotation == AdjustmentsFile.model_fields["format"].annotation
    numbers = [int(n) for n in re.findall(r"^(\d+)\. ", text, re.MULTILINE)]
    assert numbers == list(range(1, len(numbers) + 1))
