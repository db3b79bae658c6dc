"""Diffusion layers against hand-computed values, and the four categories in order."""

from __future__ import annotations

import pytest

from halfcell.errors import MethodError
from halfcell.micrographs.diffusion_regime import (
    FULLY,
    ISOLATED,
    PARTLY,
    PLANAR,
    diffusion_regime,
    layer_of_step,
    layer_of_sweep,
)


def test_layers() -> None:
    # (2·1e-9·0.0256926/0.05)^½ = 32.06 µm; (2·1e-9·1)^½ = 44.72 µm.
    assert layer_of_sweep(0.05, 1e-9) == pytest.approx(32.058e-6, rel=1e-4)
    assert layer_of_sweep(0.05, 1e-9, electrons=2) == pytest.approx(32.058e-6 / 2**0.5, rel=1e-4)
    assert layer_of_step(1.0, 1e-9) == pytest.approx(44.721e-6, rel=1e-4)


@pytest.mark.reference(
    "categories 1 to 4 of a partly covered surface, in order of growing diffusion layer",
    "Davies & Compton 2005, J. Electroanal. Chem. 585, 63",
    "from memory",
)
def test_categories_in_order() -> None:
    density = 1e10  # domain radius 5.64 µm
    found = [
        diffusion_regime(layer, radius=0.5e-6, density=density).category
        for layer in (0.2e-6, 2e-6, 7e-6, 40e-6)
    ]
    assert found == [PLANAR, ISOLATED, PARTLY, FULLY]


def test_dense_nanoparticles_are_one_plane_at_usual_scan_rates() -> None:
    regime = diffusion_regime(layer_of_sweep(0.1, 1e-9), radius=20e-9, density=60e12)
    assert regime.category == FULLY
    assert regime.half_distance == pytest.approx(72.8e-9, rel=1e-3)
    assert "one plane" in regime.meaning


@pytest.mark.parametrize("bad", [{"layer": 0.0}, {"radius": -1.0}, {"density": 0.0}])
def test_refuses(bad: dict) -> None:
    usual = {"layer": 1e-6, "radius": 1e-8, "density": 1e12} | bad
    with pytest.raises(MethodError):
        diffusion_regime(usual.pop("layer"), **usual)
    with pytest.raises(MethodError):
        layer_of_step(-1.0, 1e-9)
    with pytest.raises(MethodError):
        layer_of_sweep(0.0, 1e-9)
