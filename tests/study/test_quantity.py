from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import UnitError
from halfcell.study import quantity as q
from halfcell.study.model import Electrode, Run, StudyFile

KINDS = [
    m for kind in vars(q).values() for m in getattr(kind, "__metadata__", ()) if isinstance(m, q.Quantity)
]


def test_all_kinds_are_tested() -> None:
    assert len(KINDS) >= 17


@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.unit)
def test_what_is_written_reads_back_to_the_same_digit(kind: q.Quantity) -> None:
    rng = np.random.default_rng(3)
    values = [float(v) for v in 10.0 ** rng.uniform(-12, 6, 200)] + [kind.read(kind.example)]
    assert all(kind.read(kind.write(v)) == v for v in values)


@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.unit)
def test_the_example_is_written_as_a_person_would(kind: q.Quantity) -> None:
    assert kind.write(kind.read(kind.example)) == kind.example


def test_a_model_dumped_loads_again() -> None:
    made = Electrode.model_validate({"material": "nickel", "area": "0.0707 cm^2", "resistance": "0 ohm"})
    assert Electrode.model_validate(made.model_dump()) == made
    run = Run.model_validate(
        {
            "file": "a",
            "electrode": "b",
            "technique": "additions",
            "concentration": "1/3 mM".replace("1/3", "0.3333333333333333"),
        }
    )
    assert Run.model_validate(run.model_dump(exclude_none=True)) == run
    study = StudyFile.model_validate({"format": 1, "analyte": "x", "reference_electrode": "y"})
    assert StudyFile.model_validate(study.model_dump(exclude_none=True)) == study


def test_signs() -> None:
    with pytest.raises(UnitError, match="above zero"):
        next(k for k in KINDS if k.unit == "m^2").read("0 cm^2")
    for text in ("-1 mmol/L",):
        with pytest.raises(UnitError, match="zero or more"):
            next(k for k in KINDS if k.unit == "mol/m^3").read(text)
    assert next(k for k in KINDS if k.unit == "V").read("-0.65 V") == -0.65
