"""The readers over real measurements (each folder's SOURCE.md says what is known of it)."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from halfcell.errors import ReadError
from halfcell.readers import preview, read, read_image


@pytest.mark.reference(
    "scan rate of gold film records, 49.9 mV/s",
    "echemdb/electrochemistry-data, Zenodo 10.5281/zenodo.20723429, CC BY 4.0",
    "recomputed",
)
@pytest.mark.parametrize("salt", ["KCl", "KBr", "KI", "H2SO4"])
def test_gold_films_without_units_in_the_heads(salt: str, shared_data: Path) -> None:
    recording = read(shared_data / "metal_films" / f"au111_film_{salt}.csv")
    assert not recording.per_area
    assert sum("gives no unit" in said for said in recording.assumed) == 3
    rate = np.median(np.abs(np.gradient(recording.potential, recording.time)))
    assert rate == pytest.approx(0.0499, rel=0.02)
    assert 1e-6 < np.abs(recording.current).max() < 2e-5


@pytest.mark.reference(
    "anodic peaks of Pt(111) in three electrolytes, µA/cm² and V",
    "echemdb/electrochemistry-data, Zenodo 10.5281/zenodo.20723429, CC BY 4.0",
    "recomputed",
)
@pytest.mark.parametrize(
    ("name", "high", "low"),
    [
        ("0p05M_H2SO4", (54.1, 0.526), (-81.8, 0.519)),
        ("0p1M_HClO4", (82.9, 0.801), (-101.8, 0.792)),
        ("alkaline", (66.9, 0.769), (-65.7, 0.771)),
    ],
)
def test_platinum_films_per_area(
    name: str, high: tuple[float, float], low: tuple[float, float], shared_data: Path
) -> None:
    recording = read(shared_data / "metal_films" / f"pt111_{name}.csv")
    assert recording.per_area
    assert recording.time is None
    for at, (density, potential) in ((recording.current.argmax(), high), (recording.current.argmin(), low)):
        assert recording.current[at] == pytest.approx(density * 1e-2, abs=5e-4)
        assert recording.potential[at] == pytest.approx(potential, abs=5e-4)


@pytest.mark.reference(
    "peak potential and current at six scan rates",
    "SYWu876/h-BN-Electrochemical-Analysis, reported_peak_summary.csv, CC BY 4.0",
    "seen",
)
def test_six_pairs_side_by_side(shared_data: Path) -> None:
    folder = shared_data / "surface_scan_rates"
    recording = read(folder / "CV_total.csv")
    with (folder / "reported_peak_summary.csv").open(encoding="utf-8", newline="") as file:
        reported = list(csv.DictReader(file))
    assert [int(c) for c in np.unique(recording.cycle)] == list(range(1, len(reported) + 1))
    for cycle, row in enumerate(reported, start=1):
        own = recording.cycle == cycle
        at = recording.current[own].argmax()
        assert recording.current[own][at] == pytest.approx(float(row["peak_current_mA"]) * 1e-3, rel=1e-12)
        assert recording.potential[own][at] == pytest.approx(float(row["peak_potential_V"]), rel=1e-12)
    assert any("scan rate" in said for said in recording.assumed)


@pytest.mark.reference(
    "ferrocene cycles 2 to 6: peak potentials and currents",
    "Copley & Gibson 2019, open data set, CC BY 4.0",
    "recomputed",
)
def test_six_currents_over_one_potential(shared_data: Path) -> None:
    recording = read(shared_data / "ferrocene_cycles" / "ferrocene.csv")
    counts = [int((recording.cycle == c).sum()) for c in range(1, 7)]
    assert counts == [400] * 5 + [368]
    assert recording.current.max() == pytest.approx(235.279e-6)
    for cycle, current in ((2, 133.4e-6), (6, 130.4e-6)):
        own = recording.cycle == cycle
        at = recording.current[own].argmax()
        assert recording.current[own][at] == pytest.approx(current, abs=0.1e-6)
        assert recording.potential[own][at] == pytest.approx(-0.065, abs=1e-9)
        assert recording.potential[own][recording.current[own].argmin()] == pytest.approx(-0.185, abs=1e-9)


@pytest.mark.reference(
    "first rows of the oxide library's files as printed",
    "jmprzybysz/Research-Data (IrCo mixed-metal oxides, 2024), CC BY 4.0",
    "seen",
)
def test_three_header_rows(shared_data: Path) -> None:
    folder = shared_data / "oxide_library"
    recording = read(folder / "Co_CV.txt")
    assert recording.columns == (("potential", "E", "V"), ("current", "j", "mA/cm^2"))
    assert (recording.first_row, recording.current[1]) == (4, pytest.approx(-0.06851 * 10))
    assert recording.extra["j (column 2)"][1] == pytest.approx(-9.59125e-4)
    for name in ("LSV_Co.txt", "LSV_Ir.txt", "LSV_IrCo4060.txt"):
        sweep = read(folder / name)
        assert sweep.per_area
        assert list(sweep.extra) == ["j C (column 3)", "j C (column 4)", "j  Ageo"]
        assert any("not from" in said for said in sweep.assumed)
    normed = read(folder / "LSV_Co.txt", hints={"columns": {"potential": 1, "current": 5}})
    assert normed.current[0] == pytest.approx(4.5828)


@pytest.mark.parametrize(
    "name", ["oxide_library/Tafel_slopes.txt", "surface_scan_rates/reported_peak_summary.csv"]
)
def test_tables_of_results_are_no_records(name: str, shared_data: Path) -> None:
    with pytest.raises(ReadError, match="cannot be told"):
        read(shared_data / name)
    assert preview(shared_data / name).columns[0].heading


def test_the_fast_scan_recording_needs_a_word_about_its_unit(shared_data: Path) -> None:
    path = shared_data / "fast_scan_recording" / "sham_part1.tsv"
    with pytest.raises(ReadError, match="gives no unit") as caught:
        read(path)
    assert "units = { current =" in str(caught.value)
    recording = read(path, hints={"units": {"current": "nA"}})
    assert len(recording.current) == 200 * 1000
    assert recording.current[0] == pytest.approx(11.521767e-9)
    assert recording.potential.max() == pytest.approx(1.296, abs=2e-3)


def test_micrographs_of_agglomerates(shared_data: Path) -> None:
    for path in sorted((shared_data / "agglomerate_images").glob("*.[jp]*g")):
        image = read_image(path)
        assert image.pixels.shape == (960, 1280)
        assert np.isnan(image.metres_per_pixel)
        assert image.bar_rows == 0
        if path.suffix == ".jpg":
            assert any("100 dots per inch" in said for said in image.assumed)
