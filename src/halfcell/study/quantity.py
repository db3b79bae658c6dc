"""Field types of the study file: text with a unit in the file, SI float64 in the model."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, PlainSerializer

from halfcell.units import parse


def quantity(unit: str, example: str) -> Any:
    """A pydantic field type for a quantity given as text and held in ``unit``.

    The example is shown in the error for a bare number or a wrong unit. The model's JSON schema
    and docs/study-folder.md take it from here too.
    """

    def read(value: object) -> float:
        if isinstance(value, float) and getattr(value, "from_model", False):
            return value
        return parse(value, unit, example=example)

    return Annotated[
        float,
        BeforeValidator(read, json_schema_input_type=str),
        PlainSerializer(lambda value: f"{value!r} {unit}", return_type=str),
    ]


Area = quantity("m^2", "0.0707 cm^2")
Concentration = quantity("mol/m^3", "1 mmol/L")
CurrentDensity = quantity("A/m^2", "10 uA/cm^2")
Charge = quantity("C", "2.5 mC")
ChargeDensity = quantity("C/m^2", "210 uC/cm^2")
Current = quantity("A", "1 uA")
Diffusivity = quantity("m^2/s", "1.9e-5 cm^2/s")
Duration = quantity("s", "30 s")
Length = quantity("m", "50 nm")
Mass = quantity("kg", "12 ug")
MolarMass = quantity("kg/mol", "58.693 g/mol")
Density = quantity("kg/m^3", "8.908 g/cm^3")
Potential = quantity("V", "450 mV")
Resistance = quantity("ohm", "120 ohm")
ScanRate = quantity("V/s", "50 mV/s")
Temperature = quantity("K", "25 degC")
Volume = quantity("m^3", "20 mL")


class Part(BaseModel):
    """A table of the study file: unknown keys are mistakes, values never change after loading."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)
