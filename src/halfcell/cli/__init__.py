"""The command line: this file wires, each verb has a file of its own.

Every module here whose name has no leading underscore is a verb: its function ``command`` with typer
annotations, whose docstring (with an example) is the help. Exit codes:

    0    done
    1    a study folder, file or value has a mistake; every one is named on standard error
    2    the command was written wrongly
    70   a fault of halfcell itself (--debug shows where)
    130  stopped by the person
"""

from __future__ import annotations

import os
import sys
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import typer

__all__ = ["application", "main"]

ORDER = (
    "demo",
    "intake",
    "add",
    "check",
    "analyze",
    "compare",
    "choose",
    "why",
    "report",
    "serve",
    "version",
)
"""The order of the verbs in the help: that of the work."""

EPILOG = "Exit codes: 0 done, 1 a mistake in a study or file, 2 the command was written wrongly, 70 a fault of halfcell, 130 stopped."


def verbs() -> tuple[str, ...]:
    """The names of all verbs, in the order of the work."""
    from pkgutil import iter_modules

    found = {module.name for module in iter_modules(__path__) if not module.name.startswith("_")}
    return tuple(v for v in ORDER if v in found) + tuple(sorted(found - set(ORDER)))


def application() -> typer.Typer:
    """The whole command line as a typer application."""
    import typer

    app = typer.Typer(
        name="halfcell",
        help="From raw electroanalytical files to a defended choice of electrode.",
        epilog=EPILOG,
        no_args_is_help=True,
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
        context_settings={"help_option_names": ["-h", "--help"]},
    )

    @app.callback()
    def top(
        _version: bool = typer.Option(
            False, "--version", is_eager=True, help="Print the version and stop.", callback=_print_version
        ),
        _debug: bool = typer.Option(
            False, "--debug", help="Show where in the program an error happened (also HALFCELL_DEBUG=1)."
        ),
    ) -> None:
        """From raw electroanalytical files to a defended choice of electrode."""

    for verb in verbs():
        command = import_module(f"halfcell.cli.{verb}").command
        app.command(name=verb)(command)
    return app


def _print_version(wanted: bool) -> None:
    if wanted:
        import typer

        from halfcell._version import __version__

        typer.echo(f"halfcell {__version__}")
        raise typer.Exit


def main(arguments: list[str] | None = None) -> None:
    """Run the command line and exit with its code; no traceback for anything a person can mend."""
    sys.exit(_run(arguments))


def _run(arguments: list[str] | None) -> int:
    from halfcell.cli._ending import STOPPED, ended

    words = sys.argv[1:] if arguments is None else list(arguments)
    debug = "--debug" in words or bool(os.environ.get("HALFCELL_DEBUG"))
    _speak_utf8()
    try:
        result: Any = application()(args=words, prog_name="halfcell", standalone_mode=True)
        sys.stdout.flush()
    except SystemExit as exit_:
        if exit_.code == STOPPED:  # the library has met the person's Ctrl+C
            return ended(KeyboardInterrupt())
        return exit_.code if isinstance(exit_.code, int) else int(bool(exit_.code))
    except KeyboardInterrupt as error:
        return ended(error)
    except Exception as error:  # noqa: BLE001 - nobody should meet a traceback
        return ended(error, debug=debug)
    return result if isinstance(result, int) else 0


def _speak_utf8() -> None:
    """Units and signs come out right also where the system's encoding is another one."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
