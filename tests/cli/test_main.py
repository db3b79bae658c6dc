"""How the command line as a whole behaves: help, exit codes, errors without tracebacks."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from halfcell import cli
from halfcell.errors import MethodError, Problem, StudyError


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as ended:
        cli.main(list(words))
    out, err = capsys.readouterr()
    return int(ended.value.code or 0), out, err


def fails_with(monkeypatch: pytest.MonkeyPatch, error: BaseException) -> None:
    def raising(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr("halfcell.study.load.check", raising)


def test_every_verb_has_help_with_an_example(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "--help")
    assert code == 0
    for verb in cli.verbs():
        assert f"\n  {verb} " in out
        code, help_text, _ = run(capsys, verb, "--help")
        assert code == 0
        assert f"halfcell {verb}" in help_text.split("Example")[1]


def test_help_loads_nothing_heavy() -> None:
    # The time itself (below 0.4 s) depends on the machine; what would make it long does not.
    code = (
        "import sys; from halfcell.cli import main\n"
        "try: main(['--help'])\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'scipy', 'pandas', 'pydantic', 'matplotlib', 'pint', 'skimage', 'fastapi', 'plotly', 'statsmodels'}\n"
        "print(sorted(heavy & set(sys.modules)), file=sys.stderr)"
    )
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ended.stderr.strip() == "[]"


@pytest.mark.parametrize("words", [("chek",), ("check",), ("check", "x", "--nope"), ("check", "x", "y")])
def test_a_wrongly_written_command_is_exit_code_two(
    capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    code, out, err = run(capsys, *words)
    assert (code, out) == (2, "")
    assert "Traceback" not in err


@pytest.mark.parametrize(
    ("error", "code", "said"),
    [
        (
            StudyError("bad", problems=(Problem(file="study.toml", place="analyte", what="is missing."),)),
            1,
            "study.toml: analyte: is missing.",
        ),
        (MethodError("too few points (2)."), 1, "too few points (2)."),
        (PermissionError(13, "Permission denied", "runs.csv"), 1, "runs.csv: Permission denied"),
        (MemoryError(), 1, "memory"),
        (KeyboardInterrupt(), 130, "Stopped."),
        (ZeroDivisionError("oops"), 70, "fault of halfcell"),
    ],
)
def test_whatever_happens_ends_as_a_sentence(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    error: BaseException,
    code: int,
    said: str,
) -> None:
    fails_with(monkeypatch, error)
    ended, out, err = run(capsys, "check", "x")
    assert ended == code
    assert said in err
    assert out == ""
    assert "Traceback" not in err


def test_debug_shows_where_a_fault_happened(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    fails_with(monkeypatch, ZeroDivisionError("oops"))
    ended, _, err = run(capsys, "--debug", "check", "x")
    assert ended == 70
    assert "ZeroDivisionError: oops" in err
    assert "Traceback" in err


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    import json

    from halfcell import __version__

    _, short, _ = run(capsys, "--version")
    assert short.strip() == f"halfcell {__version__}"
    _, long, _ = run(capsys, "version", "--json")
    assert json.loads(long)["halfcell"] == __version__


def test_python_m_halfcell(tmp_path: Path) -> None:
    ended = subprocess.run(
        [sys.executable, "-m", "halfcell", "check", str(tmp_path)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 1
    assert "error: study.toml" in ended.stdout


def test_a_reader_that_has_gone_is_no_error(tmp_path: Path) -> None:
    # As with `| head`: the pipe is closed before anything is written.
    child = subprocess.Popen(
        [sys.executable, "-m", "halfcell", "check", str(tmp_path)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert child.stdout is not None
    assert child.stderr is not None
    child.stdout.close()
    said = child.stderr.read()
    child.stderr.close()
    child.wait()
    assert b"Traceback" not in said
