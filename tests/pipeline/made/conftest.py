"""A small study of micrographs, written out and analysed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from halfcell.cache import Cache
from halfcell.micrographs.truth import SyntheticMicrograph, make_micrograph

STUDY = """\
format = 1
analyte = "nitrite"
reference_electrode = "Ag/AgCl, 3 M KCl"
diffusion_coefficient = "1.9e-5 cm^2/s"

[electrodes.Ni-1]
material = "nickel"
area = "0.0707 cm^2"
density = "8.908 g/cm^3"
deposition_charge = "2 mC"
deposition_electrons = 2
molar_mass = "58.693 g/mol"

[electrodes.Ni-2]
material = "nickel"
area = "0.0707 cm^2"

[electrodes.bare]
material = "carbon"
role = "bare"
area = "0.0707 cm^2"
"""


def field(seed: int, **changes: object) -> SyntheticMicrograph:
    return make_micrograph(
        np.random.default_rng(seed), **({"shape": (320, 420), "arrangement": "even"} | changes)
    )


@pytest.fixture(scope="session")
def truths() -> dict[str, SyntheticMicrograph]:
    return {
        "Ni-1 a": field(1, density=90e12),
        "Ni-1 b": field(2, density=90e12, bar_rows=40),
        "Ni-2 a": field(3, density=60e12, arrangement="random"),
        "bare a": field(4, density=0.0),
    }


@pytest.fixture
def folder(tmp_path: Path, truths: dict[str, SyntheticMicrograph]) -> Path:
    root = tmp_path / "study"
    (root / "images").mkdir(parents=True)
    (root / "study.toml").write_text(STUDY, "utf-8")
    rows = []
    for name, made in truths.items():
        file = f"images/{name.replace(' ', '_')}.png"
        Image.fromarray(np.round(made.pixels * 255).astype(np.uint8)).save(root / file)
        rows.append(f"{file},{name.split()[0]},micrograph,2 nm")
    (root / "runs.csv").write_text("file,electrode,technique,scale\n" + "\n".join(rows) + "\n", "utf-8")
    return root


@pytest.fixture
def analyzed(tmp_path: Path) -> Callable[[Path], object]:
    from halfcell.pipeline import analyze

    return lambda root: analyze(root, cores=1, cache=Cache(tmp_path / "cache"))
