"""Field types of the study file: text with a unit in the file, SI float64 in the model."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, PlainSerializer

from halfcell.constants import ZERO_CELSIUS
from halfcell.errors import UnitError
from halfcell.units import factor, parse


@dataclass(frozen=True, slots=True)
class Quantity:
    """How one kind of quantity is written: SI unit, a correct example, and the least it may be."""

    unit: str
    example: str
    least: str = ""
    """"above zero", "zero or more", or empty where any sign is right."""

    def read(self, text: object) -> float:
        """The value in ``unit``. Raises UnitError, which shows the example."""
        value = parse(text, self.unit, example=self.example)
        if (self.least == "above zero" and value <= 0) or (self.least == "zero or more" and value < 0):
            raise UnitError(f"{text!r} must be {self.least}; write it such as {self.example!r}.")
        return value

    def write(self, value: float) -> str:
        """A text that reads back as the very same value, in the example's unit where that is possible."""
        value = float(value)
        unit = self.example.split(" ", 1)[1]
        shown = value - ZERO_CELSIUS if self.unit == "K" else value / factor(unit, self.unit)
        text = f"{shown:.12g} {unit}".replace("e-0", "e-").replace("e+0", "e")
        if parse(text, self.unit, example=self.example) == value:
            return text
        return f"{value!r} {self.unit}"


def quantity(unit: str, example: str, least: str = "") -> Any:
    """A pydantic field type for a quantity given as text and held in ``unit``.

    The example is shown in the error for a bare number or a wrong unit. The model's JSON schema
    and docs/study-folder.md take it from here too.
    """
    kind = Quantity(unit, example, least)
    return Annotated[
        float,
        kind,
        BeforeValidator(kind.read, json_schema_input_type=str),
        PlainSerializer(kind.write, return_type=str),
    ]


_ABOVE, _FROM_ZERO = "above zero", "zero or more"

Absorptivity = quantity("m^2/mol", "23.4 L/mol/cm")
Area = quantity("m^2", "0.0707 cm^2", _ABOVE)
Concentration = quantity("mol/m^3", "1 mmol/L", _FROM_ZERO)
CurrentDensity = quantity("A/m^2", "10 uA/cm^2")
Charge = quantity("C", "2.5 mC")
ChargeDensity = quantity("C/m^2", "210 uC/cm^2")
Current = quantity("A", "1 uA")
Diffusivity = quantity("m^2/s", "1.9e-5 cm^2/s", _ABOVE)
Duration = quantity("s", "30 s", _FROM_ZERO)
Length = quantity("m", "50 nm", _ABOVE)
Mass = quantity("kg", "12 ug", _FROM_ZERO)
MolarMass = quantity("kg/mol", "58.693 g/mol", _ABOVE)
Density = quantity("kg/m^3", "8.908 g/cm^3", _ABOVE)
Potential = quantity("V", "450 mV")
PathLength = quantity("m", "1 cm", _ABOVE)
Resistance = quantity("ohm", "120 ohm", _FROM_ZERO)
ScanRate = quantity("V/s", "50 mV/s", _ABOVE)
Temperature = quantity("K", "25 degC", _ABOVE)
Volume = quantity("m^3", "20 mL", _FROM_ZERO)


class Part(BaseModel):
    """A table of the study file: unknown keys are mistakes, values never change after loading."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)
