from __future__ import annotations

import io

import pytest

from halfcell.cli import _terminal
from halfcell.errors import HalfcellError, Problem


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def test_progress_is_silent_in_a_pipe(capsys: pytest.CaptureFixture[str]) -> None:
    with _terminal.progress() as moved:
        if moved is not None:
            moved("Reading", 1, 2)
    out, err = capsys.readouterr()
    assert (out, err) == ("", "")


def test_progress_is_drawn_on_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = Terminal()
    monkeypatch.setattr("sys.stderr", screen)
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.setenv("TERM", "xterm")
    with _terminal.progress() as moved:
        assert moved is not None
        for done in range(4):
            moved("Reading raw files", done, 3)
        moved("Nothing to do", 0, 0)
    assert "Reading raw files" in screen.getvalue()
    assert "0/3" in screen.getvalue()
    assert screen.getvalue().endswith("\x1b[2K")  # nothing stays behind


def test_what_a_file_holds_never_steers_the_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    _terminal.plain("a\x1b[2Jb [bold]µ[/bold]")
    assert capsys.readouterr().out == "a\ufffd[2Jb [bold]µ[/bold]\n"


def test_an_error_tells_every_problem(capsys: pytest.CaptureFixture[str]) -> None:
    problems = tuple(Problem(file="runs.csv", place=f"row {n}", what="is wrong.") for n in (2, 3))
    _terminal.tell(HalfcellError("two", problems=problems))
    _terminal.tell(HalfcellError("one sentence"))
    out, err = capsys.readouterr()
    assert out == ""
    assert err.splitlines() == [
        "runs.csv: row 2: is wrong.",
        "runs.csv: row 3: is wrong.",
        "2 problems.",
        "one sentence",
    ]
