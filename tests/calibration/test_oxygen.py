from __future__ import annotations

import pytest

from halfcell.calibration.oxygen import oxygen_in_air_saturated_water
from halfcell.errors import MethodError


@pytest.mark.reference(
    "Dissolved oxygen in fresh and sea water",
    "Benson & Krause 1984 as tabulated in APHA 4500-O (14.621, 8.263, 6.413 mg/L; 35 g/kg not compared)",
    "from memory",
)
def test_fresh_water() -> None:
    for celsius, mg in ((0, 14.621), (25, 8.263), (40, 6.413)):
        assert oxygen_in_air_saturated_water(273.15 + celsius) * 31.998 == pytest.approx(mg, abs=0.002)


def test_salt_and_low_pressure_lower_it() -> None:
    fresh = oxygen_in_air_saturated_water(298.15)
    assert oxygen_in_air_saturated_water(298.15, salinity=35) < 0.85 * fresh
    assert oxygen_in_air_saturated_water(298.15, pressure=0.8 * 101325) == pytest.approx(
        0.794 * fresh, rel=0.01
    )


def test_outside_its_range() -> None:
    with pytest.raises(MethodError, match="0 to 40 °C"):
        oxygen_in_air_saturated_water(350)
