"""Potentials against one reference electrode stated against another, and against the reversible hydrogen electrode."""

from __future__ import annotations

import difflib
import math
import re
from dataclasses import dataclass

from halfcell.constants import STANDARD_TEMPERATURE, thermal_voltage
from halfcell.errors import MethodError
from halfcell.results import Measured

_BF = "Bard & Faulkner 2000, as quoted in secondary tables"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferenceElectrode:
    """``potential`` V against the standard hydrogen electrode at 25 °C; ``slope`` V/K around it.

    ``u`` is the spread of the tables (liquid junction included or not). ``slope`` is nan where none was
    found; a conversion away from 25 °C then says so.
    """

    name: str
    potential: float
    u: float
    slope: float
    source: str


REFERENCE_ELECTRODES = {
    r.name: r
    for r in (
        ReferenceElectrode(name="SHE", potential=0.0, u=0.0, slope=0.0, source="zero by definition at every temperature"),
        ReferenceElectrode(name="SCE", potential=0.2412, u=0.001, slope=-6.6e-4, source=f"{_BF}; temperature coefficient from memory"),
        ReferenceElectrode(name="calomel, 1 M KCl", potential=0.2801, u=0.001, slope=-2.8e-4, source=f"{_BF}; temperature coefficient from memory"),
        ReferenceElectrode(name="calomel, 0.1 M KCl", potential=0.3337, u=0.001, slope=-0.9e-4, source=f"{_BF}; temperature coefficient from memory"),
        ReferenceElectrode(name="calomel, saturated NaCl", potential=0.2360, u=0.002, slope=math.nan, source=_BF),
        ReferenceElectrode(name="Ag/AgCl, saturated KCl", potential=0.197, u=0.002, slope=-1.01e-3, source=f"{_BF}, 0.199 with the liquid junction; temperature coefficient from memory"),
        ReferenceElectrode(name="Ag/AgCl, 3.5 M KCl", potential=0.205, u=0.002, slope=-0.73e-3, source="Sawyer, as quoted, with the liquid junction; temperature coefficient from memory"),
        ReferenceElectrode(name="Ag/AgCl, 3 M KCl", potential=0.210, u=0.002, slope=math.nan, source="secondary tables"),
        ReferenceElectrode(name="Ag/AgCl, 1 M KCl", potential=0.2360, u=0.002, slope=math.nan, source="secondary tables"),
        ReferenceElectrode(name="Ag/AgCl, 0.1 M KCl", potential=0.2881, u=0.002, slope=math.nan, source="secondary tables; 0.2895 in another"),
        ReferenceElectrode(name="Hg/HgO, 0.1 M NaOH", potential=0.165, u=0.003, slope=math.nan, source="secondary tables"),
        ReferenceElectrode(name="Hg/Hg2SO4, 1 M H2SO4", potential=0.6739, u=0.002, slope=math.nan, source="secondary tables"),
        ReferenceElectrode(name="Cu/CuSO4, saturated", potential=0.316, u=0.003, slope=math.nan, source="secondary tables"),
    )
}  # fmt: skip

_OTHER_NAMES = {
    "nhe": "SHE", "standardhydrogenelectrode": "SHE", "saturatedcalomel": "SCE", "calomelsaturatedkcl": "SCE", "sscecalomel": "calomel, saturated NaCl",
    "ssce": "calomel, saturated NaCl", "agclsat": "Ag/AgCl, saturated KCl", "ag/agclsat.kcl": "Ag/AgCl, saturated KCl", "nce": "calomel, 1 M KCl",
    "msehg2so4": "Hg/Hg2SO4, 1 M H2SO4",
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Converted:
    """A potential against ``against`` with the temperature (K) and pH used, and ``notes``."""

    potential: Measured
    against: str
    shift: Measured
    temperature: float
    ph: float | None
    notes: tuple[str, ...]


def reference_electrode(name: str) -> ReferenceElectrode:
    """A reference electrode by its name in any usual spelling. Raises MethodError naming the nearest known one."""
    wanted = _plain(name)
    for key, electrode in REFERENCE_ELECTRODES.items():
        if _plain(key) == wanted:
            return electrode
    if wanted in _OTHER_NAMES:
        return REFERENCE_ELECTRODES[_OTHER_NAMES[wanted]]
    near = difflib.get_close_matches(wanted, [_plain(k) for k in REFERENCE_ELECTRODES], n=1, cutoff=0.3)
    hint = next((k for k in REFERENCE_ELECTRODES if near and _plain(k) == near[0]), "SCE")
    raise MethodError(
        f"The reference electrode {name!r} is not in the table; did you mean {hint!r}? Known: {'; '.join(REFERENCE_ELECTRODES)}."
    )


def _plain(name: str) -> str:
    text = re.sub(r"[\s,()_-]+", "", name.lower())
    return text.replace("mol/l", "m").replace("sat.", "saturated").replace("sat'd", "saturated")


def convert(
    potential: Measured,
    *,
    from_: str,
    to: str,
    temperature: float = STANDARD_TEMPERATURE,
    ph: float | None = None,
) -> Converted:
    """A potential in V against another reference electrode, or against "RHE".

    Parameters
    ----------
    from_, to : names of reference electrodes, or "RHE"
    temperature : K
    ph : float, optional
        Needed where one of the two is RHE: E(RHE) = E(SHE) + (ln 10 RT/F) pH.

    Raises
    ------
    MethodError
        An electrode that is not in the table, or RHE without a pH.

    Notes
    -----
    Each electrode's entry says its source: secondary tables quoting Bard & Faulkner 2000, and others.
    """
    notes: list[str] = []
    a, ua = _against_she(from_, temperature, ph, notes)
    b, ub = _against_she(to, temperature, ph, notes)
    shift = Measured(value=a - b, u=0.0 if from_ == to else math.hypot(ua, ub))
    u = math.hypot(potential.u if math.isfinite(potential.u) else 0.0, shift.u)
    return Converted(
        potential=Measured(value=potential.value + shift.value, u=u, df=potential.df),
        against=to,
        shift=shift,
        temperature=temperature,
        ph=ph,
        notes=tuple(dict.fromkeys(notes)),
    )


def _against_she(name: str, temperature: float, ph: float | None, notes: list[str]) -> tuple[float, float]:
    if _plain(name) == "rhe":
        if ph is None:
            raise MethodError(
                "The reversible hydrogen electrode needs the solution's pH; state it as `ph` of the solution."
            )
        notes.append(
            f"pH {ph:g} and {temperature - 273.15:.1f} °C used for the reversible hydrogen electrode"
        )
        return -math.log(10) * thermal_voltage(temperature) * ph, 0.0
    electrode = reference_electrode(name)
    away = temperature - STANDARD_TEMPERATURE
    if abs(away) < 0.5:
        return electrode.potential, electrode.u
    if math.isfinite(electrode.slope):
        return electrode.potential + electrode.slope * away, electrode.u
    notes.append(
        f"no temperature coefficient is known for {electrode.name}; its potential at 25 °C was used at {temperature - 273.15:.1f} °C"
    )
    return electrode.potential, math.hypot(electrode.u, 1e-3 * abs(away))
