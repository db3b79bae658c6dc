"""A large block of numbers is read the same whole, in parts side by side, and line by line."""

from __future__ import annotations

import functools
from pathlib import Path

import numpy as np
import pytest

from halfcell.readers import block, read

ROWS, LARGE = 240_000, 6_000_000
K = np.arange(ROWS)
POTENTIAL, CURRENT = np.abs(K % 2001 - 1000) / 1000, (K % 997 + 1) * 1e-9
HEAD = "made up: 1\nt / s\tE / V\ti / A\n"


@functools.cache
def lines(mark: str = "\t", decimal: str = ".", volts: float = 1.0) -> tuple[str, ...]:
    rows = zip(K, POTENTIAL * volts, CURRENT, strict=True)
    made = [mark.join((f"{k * 0.001:.3f}", f"{e:.4f}", f"{i:.5e}")) for k, e, i in rows]
    return tuple(line.replace(".", decimal) for line in made)


@pytest.fixture
def whole(monkeypatch: pytest.MonkeyPatch) -> list[bool]:
    """Whether the parser was given a file as it is, call by call."""
    asked: list[bool] = []
    plain = block._plain

    def spy(*arguments: object) -> bool:
        asked.append(plain(*arguments))  # type: ignore[arg-type]
        return asked[-1]

    monkeypatch.setattr(block, "_WORTH_A_THREAD", LARGE)
    monkeypatch.setattr(block, "_plain", spy)
    return asked


def check(path: Path) -> None:
    recording = read(path)
    assert path.stat().st_size > LARGE
    assert recording.time is not None
    assert recording.potential is not None
    np.testing.assert_allclose(recording.current, CURRENT, rtol=1e-12)
    np.testing.assert_allclose(recording.potential, POTENTIAL, rtol=1e-12, atol=1e-12)
    np.testing.assert_allclose(recording.time, K * 0.001, rtol=1e-12)
    assert not recording.current.flags.writeable


@pytest.mark.parametrize(
    ("head", "body", "encoding"),
    [
        (HEAD, "\n".join(lines()), "utf-8"),
        (HEAD, "\n".join(lines()) + "\n", "utf-8-sig"),
        (HEAD.replace("\n", "\r\n"), "\r\n".join(lines()) + "\r\n", "utf-8"),
        (HEAD.replace("E / V", "E / mV"), "\n".join(lines(volts=1000.0)) + "\n", "latin-1"),
        ("µ is a letter\n" + HEAD, "\n".join(lines()) + "\n", "latin-1"),
        (HEAD.replace("\t", ";"), "\n".join(lines(";", ",")) + "\n", "utf-8"),
        (HEAD.replace("\t", "   "), "\n".join(lines("  ")) + "\n", "utf-8"),
    ],
    ids=["plain", "mark", "returns", "millivolts", "letters", "commas", "spaces"],
)
def test_a_plain_file_goes_to_the_parser_whole(
    head: str, body: str, encoding: str, whole: list[bool], tmp_path: Path
) -> None:
    path = tmp_path / "plain.txt"
    path.write_bytes((head + body).encode(encoding))
    check(path)
    assert whole == [True]


@pytest.mark.parametrize("head", ["\n" + HEAD, "a\n\nb\n" + HEAD, 'said "so\n' + HEAD, "a\rb\n" + HEAD])
def test_a_head_the_parser_would_count_otherwise_is_left_out_by_us(
    head: str, whole: list[bool], tmp_path: Path
) -> None:
    path = tmp_path / "head.txt"
    path.write_bytes((head + "\n".join(lines())).encode())
    check(path)
    assert whole == [False]


@pytest.mark.parametrize("between", ["", "Pause", "t / s\tE / V\ti / A"])
def test_a_large_file_with_other_lines_between_its_rows(
    between: str, whole: list[bool], tmp_path: Path
) -> None:
    rows = lines()
    path = tmp_path / "parted.txt"
    path.write_text(HEAD + "\n".join([*rows[:150_001], between, *rows[150_001:]]) + "\n", "utf-8")
    check(path)
    assert whole == [True]


def test_a_large_file_with_words_for_nothing(whole: list[bool], tmp_path: Path) -> None:
    rows = list(lines())
    rows[170_000] = rows[170_000].rsplit("\t", 1)[0] + "\tNaN"
    path = tmp_path / "empty.txt"
    path.write_text(HEAD + "\n".join(rows) + "\n", "utf-8")
    recording = read(path)
    np.testing.assert_allclose(recording.current, np.delete(CURRENT, 170_000), rtol=1e-12)
    assert any("1 row with an empty cell was left out" in said for said in recording.assumed)


def test_what_follows_the_table_is_left_out(whole: list[bool], tmp_path: Path) -> None:
    path = tmp_path / "after.txt"
    path.write_text(HEAD + "\n".join(lines()) + "\nend of the record\n", "utf-8")
    check(path)
    assert whole == [False]
