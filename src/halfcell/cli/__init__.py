"""The command line: this file wires, each verb has a file of its own.

Every module here whose name has no leading underscore is a verb: its function ``command`` with typer
annotations, whose docstring (with an example) is the help. Exit codes:

    0    done
    1    a study folder, file or value has a mistake; every one is named on standard error
    2    the command was written wrongly
    70   a fault of halfcell itself (HALFCELL_DEBUG=1 shows where)
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

ORDER = ("demo", "intake", "check", "analyze", "compare", "choose", "why", "report", "serve", "version")
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
    from halfcell.errors import HalfcellError

    _speak_utf8()
    try:
        result: Any = application()(args=arguments, prog_name="halfcell", standalone_mode=True)
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else int(bool(ended.code))
    except HalfcellError as error:
        from halfcell.cli._terminal import tell

        tell(error)
        return 1
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        return 130
    except BrokenPipeError:
        # The reader of a pipe has gone, as with `| head`; nothing is wrong.
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115, PTH123 - kept open until the exit
        return 0
    except OSError as error:
        name = f"{error.filename}: " if error.filename else ""
        print(f"{name}{error.strerror or error}", file=sys.stderr)
        return 1
    except Exception as error:
        if os.environ.get("HALFCELL_DEBUG"):
            raise
        print(
            f"This is a fault of halfcell, not of your data ({type(error).__name__}: {error}). "
            "Run it again with HALFCELL_DEBUG=1 to see where, and report it.",
            file=sys.stderr,
        )
        return 70
    return result if isinstance(result, int) else 0


def _speak_utf8() -> None:
    """Units and signs come out right also where the system's encoding is another one."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
