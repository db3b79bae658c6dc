"""The command line as a whole: help, exit codes, faults."""

from __future__ import annotations

import subprocess
import sys

import pytest
import typer

import halfcell
from halfcell import cli


def code_of(arguments) -> int:
    with pytest.raises(SystemExit) as ended:
        cli.main(arguments)
    return ended.value.code


def test_help_names_every_verb_in_the_order_of_the_work(capsys):
    assert code_of(["--help"]) == 0
    out = capsys.readouterr().out
    places = [out.index(f"\n  {verb} ") for verb in cli.verbs()]
    assert places == sorted(places)
    assert "Exit codes" in out


def test_version(capsys):
    assert code_of(["--version"]) == 0
    assert capsys.readouterr().out == f"halfcell {halfcell.__version__}\n"


def test_a_command_written_wrongly_is_2(capsys):
    assert code_of(["nonsense"]) == 2
    assert code_of(["analyze"]) == 2
    assert code_of(["analyze", "x", "--nonsense"]) == 2


@pytest.mark.parametrize(
    ("raised", "code", "said"),
    [
        (KeyboardInterrupt(), 130, ""),
        (PermissionError(13, "Permission denied", "a.csv"), 1, "a.csv: Permission denied"),
        (RuntimeError("inside"), 70, "fault of halfcell"),
    ],
)
def test_what_goes_wrong_ends_with_its_code_and_a_sentence(monkeypatch, capsys, raised, code, said):
    def application():
        app = typer.Typer()

        @app.command()
        def fails() -> None:
            raise raised

        return app

    monkeypatch.setattr(cli, "application", application)
    monkeypatch.delenv("HALFCELL_DEBUG", raising=False)
    ended = code_of([])
    err = capsys.readouterr().err
    assert ended == code
    assert said in err
    assert "Traceback" not in err


def test_help_loads_nothing_heavy():
    script = "import sys; from halfcell.cli import application; application(); print(*sorted(sys.modules))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.split())
    heavy = {
        "numpy",
        "scipy",
        "pandas",
        "matplotlib",
        "skimage",
        "statsmodels",
        "pydantic",
        "pint",
        "fastapi",
        "plotly",
        "rich",
        "openpyxl",
        "jinja2",
    }
    assert loaded & heavy == set()
