"""The fast way through a table with other lines in it against a plain loop over its lines."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from halfcell.errors import ReadError
from halfcell.readers import read, rows
from halfcell.readers.hints import checked
from halfcell.readers.layout import cells, find_layout
from halfcell.readers.source import open_source

_ODD = [
    "",
    "   ",
    "Cycle 2",
    "E/V;I/A;q",
    ";;",
    "0.1;overload;0.2",
    "0.3;;0.4",
    "0.1",
    "1;2;3;4",
    "# 1;2;3",
    "0.1;0.2;",
    "1-2;3;4",
    '"0.5";0.6;0.7',
]


def text(rng: np.random.Generator, count: int, odd: float) -> str:
    """Rows of three numbers with odd lines strewn in; the first rows are plain."""
    lines = ["E/V;I/A;q"]
    for k in range(count):
        if k > 20 and rng.random() < odd:
            lines.append(_ODD[rng.integers(len(_ODD))])
        lines.append(f"{rng.normal():.5f};{rng.normal() * 1e-6:.5e};{k}")
    return "\n".join(lines) + "\n"


def plain_loop(path: Path, wanted: tuple[int, ...]) -> tuple[np.ndarray, np.ndarray]:
    """The same line by line."""
    source = open_source(path, name="x")
    layout = find_layout(source, checked({}, "x"))
    assert layout is not None
    found, block, number, apart = [], [], 0, False
    for line in path.read_text("utf-8").split("\n")[layout.first :]:
        values = rows.row_values(cells(line, ";"), layout, wanted)
        if values is None:
            apart = apart or bool(found)
            continue
        number, apart = number + apart, False
        found.append(values)
        block.append(number)
    return np.array(found), np.array(block)


@pytest.mark.parametrize("odd", [0.0, 0.01, 0.3])
@pytest.mark.parametrize("piece", [64, 1000, 1 << 22])
def test_pieces_give_what_a_plain_loop_gives(
    odd: float, piece: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(rows, "_PIECE", piece)
    rng = np.random.default_rng(int(odd * 100) + piece)
    path = tmp_path / "strewn.txt"
    path.write_text(text(rng, 300, odd), "utf-8", newline="\n")
    source = open_source(path, name="x")
    layout = find_layout(source, checked({}, "x"))
    assert layout is not None
    wanted = (0, 1, 2)
    grid, block = plain_loop(path, wanted)
    found = rows.read_rows(source, layout, wanted, source.size)
    for k in wanted:
        np.testing.assert_allclose(found.columns[k], grid[:, k], rtol=1e-12)
    np.testing.assert_array_equal(found.block, block)
    if odd in {0.0, 0.3}:
        assert (found.skipped > 0) == (odd > 0)


@pytest.mark.reference("the numbers of an export, to the last digit", "numpy.loadtxt", "recomputed")
@pytest.mark.parametrize("form", ["%.6f", "%.7e", "%.17g"])
def test_an_even_block_is_what_a_general_library_reads(form: str, tmp_path: Path) -> None:
    rng = np.random.default_rng(4)
    values = rng.normal(size=(2000, 3)) * 10.0 ** rng.integers(-12, 3, (2000, 3))
    path = tmp_path / "even.txt"
    np.savetxt(path, values, fmt=form, delimiter="\t", header="E/V\tI/A\tt/s", comments="")
    recording = read(path)
    expected = np.loadtxt(path, delimiter="\t", skiprows=1)
    for got, column in zip((recording.potential, recording.current, recording.time), expected.T, strict=True):
        np.testing.assert_allclose(got, column, rtol=3e-16, atol=0)


def blocks(*heads: str, rows: tuple[int, ...] = (40, 40)) -> str:
    """Blocks of rows under lines of their own."""
    parts = []
    for head, count in zip(heads, rows, strict=True):
        parts.append(head + "".join(f"{k / 100:.2f},{k + 0.5:.3f}\n" for k in range(count)))
    return "".join(parts)


@pytest.mark.parametrize("second", ["E/mV,i/nA\n", "i/uA,E/V\n", "E,i\nmV,uA\n"])
def test_a_block_of_other_units_or_order_is_refused(second: str, tmp_path: Path) -> None:
    path = tmp_path / "blocks.csv"
    first = "E,i\nV,uA\n" if second.startswith("E,i") else "E/V,i/uA\n"
    path.write_text(blocks(first, second), "utf-8")
    with pytest.raises(ReadError, match="under other headings"):
        read(path)


def test_a_small_table_of_something_else_at_the_end_is_left_out_and_said(tmp_path: Path) -> None:
    path = tmp_path / "tail.csv"
    path.write_text(blocks("E/V,i/uA\n", "\nPeak,Height\n", rows=(40, 4)), "utf-8")
    recording = read(path)
    assert len(recording.current) == 40
    assert any("'Peak,Height'" in said for said in recording.assumed)


def test_cycles_bear_the_numbers_above_their_blocks(tmp_path: Path) -> None:
    path = tmp_path / "cycles.csv"
    path.write_text(blocks("E/V,i/uA\nCycle 5\n", "# Cycle 7\n"), "utf-8")
    recording = read(path)
    assert recording.cycle is not None
    assert [*np.unique(recording.cycle)] == [5.0, 7.0]


@pytest.mark.parametrize("line", ["# a remark", "\ufeff", "paused"])
def test_rows_before_a_stray_line_near_the_top_are_kept(line: str, tmp_path: Path) -> None:
    path = tmp_path / "stray.csv"
    path.write_text(blocks("E/V,i/uA\n", line + "\n", rows=(2, 40)), "utf-8")
    assert len(read(path).current) == 42
