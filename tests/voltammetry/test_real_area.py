from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.signals.branch import branch_of
from halfcell.voltammetry.real_area import CHARGE_DENSITIES, monolayer_area

E = np.linspace(0.2, 1.4, 1201)


def _branch(area: float, density: float) -> object:
    # A monolayer between 0.9 and 1.3 V on a double layer of 0.4 F/m², 50 mV/s.
    process = np.exp(-(((E - 1.1) / 0.06) ** 2)) / (0.06 * np.sqrt(np.pi))
    i = area * (0.4 * 0.05 + density * process * 0.05)
    return branch_of(E, i + 1e-9 * np.random.default_rng(0).standard_normal(E.size))


@pytest.mark.reference(
    "charge densities 210, 420, 390, 424 µC/cm²",
    "common usage; Trasatti & Petrii, Pure Appl. Chem. 1991, 63, 711",
    "from memory",
)
@pytest.mark.parametrize("name", sorted(CHARGE_DENSITIES))
def test_known_area(name: str) -> None:
    density = CHARGE_DENSITIES[name]
    found = monolayer_area(
        _branch(3e-5, density.density),
        rate=0.05,
        window=(0.85, 1.35),
        density=density,
        geometric=1e-5,
        double_layer=(0.3, 0.6),
    )
    assert found.area.value == pytest.approx(3e-5, rel=0.01)
    assert found.roughness.value == pytest.approx(3.0, rel=0.01)
    assert found.area.u / found.area.value >= density.u / density.density


def test_the_double_layer_must_be_taken_off() -> None:
    with pytest.raises(MethodError, match="double layer"):
        monolayer_area(
            _branch(1e-5, 2.1),
            rate=0.05,
            window=(0.85, 1.35),
            density=CHARGE_DENSITIES["oxide on gold"],
            geometric=1e-5,
        )


def test_a_window_outside_the_record_is_refused() -> None:
    with pytest.raises(MethodError, match="inside the branch"):
        monolayer_area(
            _branch(1e-5, 2.1),
            rate=0.05,
            window=(1.3, 1.8),
            density=CHARGE_DENSITIES["oxide on gold"],
            geometric=1e-5,
            double_layer=(0.3, 0.6),
        )
