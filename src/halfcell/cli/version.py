"""halfcell version: what is installed."""

from __future__ import annotations

import typer


def version(json: bool = typer.Option(False, "--json", help="Print one JSON object for machines.")) -> int:
    """Print the version of halfcell and of the libraries its numbers rest on.

    Example: halfcell version
    """
    import platform
    from importlib.metadata import PackageNotFoundError
    from importlib.metadata import version as installed

    from halfcell import __version__
    from halfcell.cli.output import as_json

    known = {"halfcell": __version__, "python": platform.python_version()}
    for name in ("numpy", "scipy", "scikit-image", "pybaselines", "statsmodels", "pandas"):
        try:
            known[name] = installed(name)
        except PackageNotFoundError:
            known[name] = "not installed"
    if json:
        as_json(known)
    else:
        for name, number in known.items():
            print(f"{name} {number}")
    return 0
