"""halfcell version: what is installed."""

from __future__ import annotations

from typing import Annotated

import typer

from halfcell.cli._terminal import plain

_LIBRARIES = ("numpy", "scipy", "scikit-image", "pybaselines", "statsmodels", "pandas", "pint")
"""Those that numbers rest on."""


def command(
    json: Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")] = False,
) -> None:
    """Print the version of halfcell and of the libraries its numbers rest on.

    Example:

        halfcell version
    """
    import platform
    from importlib.metadata import PackageNotFoundError, version
    from json import dumps

    from halfcell import __version__

    known = {"halfcell": __version__, "python": platform.python_version()}
    for name in _LIBRARIES:
        try:
            known[name] = version(name)
        except PackageNotFoundError:
            known[name] = "not installed"
    plain(dumps(known) if json else "\n".join(f"{name} {number}" for name, number in known.items()))
