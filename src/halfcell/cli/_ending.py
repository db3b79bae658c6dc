"""How a command ends when something went wrong: a sentence on standard error and an exit code."""

from __future__ import annotations

import os
import sys

from halfcell.errors import HalfcellError

MISTAKE, FAULT, STOPPED = 1, 70, 130


def ended(error: BaseException, *, debug: bool = False) -> int:
    """Say what went wrong, for a person; the exit code. ``debug`` also shows where in the program."""
    if debug:
        import traceback

        traceback.print_exception(error)
    if isinstance(error, KeyboardInterrupt):
        return _say("Stopped.", STOPPED)
    if isinstance(error, BrokenPipeError):
        # The reader of a pipe has gone, as with `| head`; nothing is wrong.
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115, PTH123 - kept open until the exit
        return 0
    if isinstance(error, HalfcellError):
        from halfcell.cli._terminal import tell

        tell(error)
        return MISTAKE
    if isinstance(error, MemoryError):
        return _say(
            "There is not enough memory for this. Close other programs, or use fewer cores (--cores 1).",
            MISTAKE,
        )
    if isinstance(error, OSError):
        name = f"{error.filename}: " if error.filename else ""
        return _say(f"{name}{error.strerror or error}", MISTAKE)
    if type(error).__name__ == "BrokenProcessPool":
        return _say(
            "The system ended a part of the analysis, most likely for want of memory; try --cores 1.", MISTAKE
        )
    what = " ".join(f"{type(error).__name__}: {error}".split())[:300]
    return _say(
        f"This is a fault of halfcell, not of your data ({what}). Your files were not changed. "
        "Please report it; `halfcell --debug …` shows where it happened.",
        FAULT,
    )


def _say(text: str, code: int) -> int:
    print(text, file=sys.stderr)
    return code
