from __future__ import annotations

import pytest
from scipy import constants as codata

from halfcell import constants


@pytest.mark.reference("F, R, N_A", "CODATA 2018/2022 as shipped with scipy.constants", "seen")
def test_constants_are_those_of_a_general_library() -> None:
    # Printed digits: ten; exact in the SI of 2019.
    assert pytest.approx(codata.value("Faraday constant"), rel=1e-9) == constants.FARADAY
    assert pytest.approx(codata.R, rel=1e-9) == constants.GAS_CONSTANT
    assert constants.AVOGADRO == codata.N_A
    assert codata.zero_Celsius == constants.ZERO_CELSIUS


@pytest.mark.reference(
    "RT/F at 25 °C is 25.693 mV",
    "Bard and Faulkner, Electrochemical Methods, 2nd edition, constants inside the cover (0.0256926 V)",
    "from memory",
)
def test_thermal_voltage() -> None:
    assert constants.thermal_voltage() == pytest.approx(25.693e-3, abs=5e-7)
