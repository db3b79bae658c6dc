"""``halfcell serve [DIR]``: the app, in a browser on this machine."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def command(
    study: Annotated[
        Path | None,
        typer.Argument(help="The study folder; without one, choose or start a study in the browser."),
    ] = None,
    port: Annotated[int, typer.Option(help="Port; 0 takes a free one.", min=0, max=65535)] = 0,
    address: Annotated[
        str,
        typer.Option(
            help="Address to listen on. Anything but this machine itself also needs --anyone-with-the-key."
        ),
    ] = "127.0.0.1",
    anyone_with_the_key: Annotated[
        bool,
        typer.Option(
            help="Allow an address that other machines can reach; who has the printed address can read and change the study."
        ),
    ] = False,
    browser: Annotated[bool, typer.Option(help="Open the browser.")] = True,
) -> None:
    """Open a study in the browser, on this machine.

    Example: halfcell serve my-study

    halfcell is at http://127.0.0.1:40123/?key=… (Ctrl+C ends it)
    """
    from halfcell.app.serve import serve

    serve(
        study,
        address=address,
        port=port,
        reachable=anyone_with_the_key,
        browser=browser,
        tell=lambda where: print(f"halfcell is at {where} (Ctrl+C ends it)", flush=True),
    )
