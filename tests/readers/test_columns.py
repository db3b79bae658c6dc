"""Densities, square-wave columns, records side by side, further columns, and what is said of them."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
import pytest

from halfcell.cache import decode, encode
from halfcell.readers import read
from readers import messy

TRUTH = messy.truth()
E, SCI = ".5f", ".6e"


def written(path: Path, head: str, columns: list[tuple[np.ndarray, str]], sep: str = ",") -> Path:
    path.write_text(head + "\n" + messy.table(columns, sep), "utf-8")
    return path


def test_a_density_stays_one_until_the_area_is_known(tmp_path: Path) -> None:
    area = 0.0707e-4
    path = written(
        tmp_path / "j.csv", "E / V,j / uA cm-2", [(TRUTH.potential, E), (TRUTH.current / area * 100, ".6f")]
    )
    recording = read(path)
    assert recording.per_area
    np.testing.assert_allclose(recording.current, TRUTH.current / area, rtol=1e-4, atol=1e-7)
    known = recording.oriented(negative=False, area=area)
    assert not known.per_area
    np.testing.assert_allclose(known.current, TRUTH.current, rtol=1e-4, atol=1e-13)
    assert any("0.0707 cm²" in said for said in known.assumed)
    assert recording.oriented(negative=False, area=None).per_area


def test_square_wave_columns_and_their_difference(tmp_path: Path) -> None:
    forward, backward = TRUTH.current * 1.5, TRUTH.current * -0.5
    head = "Potential (V),I forward (A),I reverse (A),I difference (A)"
    path = written(tmp_path / "swv.csv", head, [(TRUTH.potential, E), (forward, SCI), (backward, SCI), (forward - backward, SCI)])  # fmt: skip
    recording = read(path)
    np.testing.assert_allclose(recording.current, forward - backward, rtol=1e-6)
    np.testing.assert_allclose(recording.forward, forward, rtol=1e-6)
    np.testing.assert_allclose(recording.backward, backward, rtol=1e-6)
    turned = recording.oriented(negative=True, area=None)
    np.testing.assert_array_equal(turned.forward, -recording.forward)


def test_forward_and_backward_alone_give_the_difference(tmp_path: Path) -> None:
    path = written(tmp_path / "swv.csv", "E/V,ifwd/A,irev/A", [(TRUTH.potential, E), (TRUTH.current, SCI), (TRUTH.current * -0.5, SCI)])  # fmt: skip
    recording = read(path)
    np.testing.assert_allclose(recording.current, 1.5 * TRUTH.current, rtol=1e-5)
    assert any("forward minus the backward" in said for said in recording.assumed)


def test_differential_pulse_with_base_and_difference(tmp_path: Path) -> None:
    path = written(tmp_path / "dpv.txt", "E/mV\tdelta I/nA", [(TRUTH.potential * 1e3, ".2f"), (TRUTH.current * 1e9, ".3f")], "\t")  # fmt: skip
    np.testing.assert_allclose(read(path).current, TRUTH.current, atol=1e-12)


def test_time_and_current_alone(tmp_path: Path) -> None:
    path = written(
        tmp_path / "it.csv", "Time (s),Current (nA)", [(TRUTH.time, ".4f"), (TRUTH.current * 1e9, ".3f")]
    )
    recording = read(path)
    assert recording.potential is None
    np.testing.assert_allclose(recording.time, TRUTH.time, atol=1e-4)


def test_several_currents_over_one_time_are_told_to_the_person(tmp_path: Path) -> None:
    columns = [(TRUTH.time, ".4f")] + [(TRUTH.current * 1e9 * k, ".3f") for k in (1, 2, 3)]
    recording = read(written(tmp_path / "four.csv", "t/s,I1/nA,I2/nA,I3/nA", columns))
    assert set(np.unique(recording.cycle)) == {1.0, 2.0, 3.0}
    np.testing.assert_allclose(recording.current[recording.cycle == 3], 3 * TRUTH.current, atol=1e-12)
    assert any("side by side" in said for said in recording.assumed)


def test_the_column_with_a_unit_is_preferred(tmp_path: Path) -> None:
    columns = [(TRUTH.potential, E), (TRUTH.current * 7, SCI), (TRUTH.current * 1e3, ".9f")]
    recording = read(written(tmp_path / "two.csv", "E,j,j\nV,,mA", columns))
    np.testing.assert_allclose(recording.current, TRUTH.current, atol=1e-12)
    assert recording.columns == (("potential", "E", "V"), ("current", "j", "mA"))


def test_further_columns_are_kept_unconverted(tmp_path: Path) -> None:
    charge = np.cumsum(TRUTH.current)
    path = written(tmp_path / "more.csv", "E/V,I/A,Q/mC,pH", [(TRUTH.potential, E), (TRUTH.current, SCI), (charge, SCI), (charge * 0 + 7, ".1f")])  # fmt: skip
    recording = read(path)
    assert list(recording.extra) == ["Q/mC", "pH"]
    np.testing.assert_allclose(recording.extra["Q/mC"], charge, rtol=1e-5)


def test_rows_with_an_empty_cell_are_counted(tmp_path: Path) -> None:
    current = TRUTH.current.copy()
    current[[5, 9]] = np.nan
    recording = read(written(tmp_path / "gaps.csv", "E/V,I/A", [(TRUTH.potential, E), (current, SCI)]))
    assert len(recording.current) == len(current) - 2
    assert any("2 rows with an empty cell" in said for said in recording.assumed)


def test_a_word_in_a_cell_is_an_empty_cell(tmp_path: Path) -> None:
    lines = messy.table([(TRUTH.time, ".4f"), (TRUTH.potential, E), (TRUTH.current, SCI)]).splitlines()
    lines[7] = lines[7].rsplit(",", 1)[0] + ",overload"
    (tmp_path / "word.csv").write_text("t/s,E/V,I/A\n" + "\n".join(lines) + "\n", "utf-8")
    recording = read(tmp_path / "word.csv")
    np.testing.assert_allclose(recording.current, np.delete(TRUTH.current, 7), rtol=1e-6)
    assert any("empty cell" in said for said in recording.assumed)


def test_the_recording_knows_its_bytes_and_can_be_kept(tmp_path: Path) -> None:
    path = written(tmp_path / "plain.csv", "# made up\nE/V,I/A", [(TRUTH.potential, E), (TRUTH.current, SCI)])
    recording = read(path, name="data/plain.csv")
    assert recording.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert (recording.file, recording.first_row, recording.header) == (
        "data/plain.csv",
        3,
        "# made up\nE/V,I/A",
    )
    again = decode(encode(recording))
    np.testing.assert_array_equal(again.current, recording.current)
    assert again.assumed == recording.assumed


def test_a_large_file_gives_the_same_as_its_parts(tmp_path: Path) -> None:
    """Above some size the block is parsed in parts side by side; nothing may be lost at the cuts."""
    rows = "".join(
        f"{k * 0.001:.3f}\t{(k % 2001 - 1000) / 1000:.4f}\t{k % 997 * 1e-9:.5e}\t0\t0\t0\n"
        for k in range(40_000)
    )
    path, times = tmp_path / "large.txt", 30
    path.write_text("t/s\tE/V\tI/A\ta\tb\tc\n" + rows * times, "utf-8")
    assert path.stat().st_size > 32_000_000
    recording = read(path)
    k = np.tile(np.arange(40_000), times)
    np.testing.assert_allclose(recording.current, k % 997 * 1e-9, rtol=1e-12)
    np.testing.assert_allclose(recording.time, k * 0.001, rtol=1e-12)
    assert recording.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert recording.extra == {}
    assert "3 further columns were not kept" in recording.assumed


@pytest.mark.parametrize("mark", ["\n", "Cycle 2\n", "E/V,I/A\n"])
def test_the_slow_way_and_the_fast_way_agree(mark: str, tmp_path: Path) -> None:
    first = TRUTH.cycle == 1
    part = messy.table([(TRUTH.potential[first], E), (TRUTH.current[first], SCI)])
    (tmp_path / "a.csv").write_text("E/V,I/A\n" + part + part, "utf-8")
    (tmp_path / "b.csv").write_text("E/V,I/A\n" + part + mark + part, "utf-8")
    even, parted = read(tmp_path / "a.csv"), read(tmp_path / "b.csv")
    np.testing.assert_allclose(parted.current, even.current, rtol=1e-15)
    assert even.cycle is None
    assert set(np.unique(parted.cycle)) == {1.0, 2.0}
