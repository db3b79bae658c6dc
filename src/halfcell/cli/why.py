"""halfcell why: the whole thread from a number to its raw files."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from halfcell.cli._terminal import Cores, Folder, analyzed, plain

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline import Analysis

MOST = 3
"""Threads printed at once; more findings than that are listed instead."""


def command(
    folder: Folder,
    finding: Annotated[
        str, typer.Argument(help="Name of the finding, such as sensitivity.", metavar="FINDING")
    ],
    electrode: Annotated[
        str, typer.Argument(help="The electrode or group it is about.", metavar="[ELECTRODE]")
    ] = "",
    condition: Annotated[
        str, typer.Option(help="Which condition, where there are several; a part of its words is enough.")
    ] = "",
    cores: Cores = None,
) -> None:
    """Show where a number comes from: method, formula, source, settings, files with sha256, columns, decisions.

    Example:

        halfcell why my-study sensitivity Ni-1

        halfcell why my-study false_concentration Ni-1 --condition oxygen
    """
    from halfcell.report.thread import chosen

    analysis = analyzed(folder, cores)
    found = chosen(analysis, finding, electrode, condition)
    if len(found) > MOST:
        plain_one = [f for f in found if not f.condition]
        if len(plain_one) != 1:
            _list(found)
            return
        show(analysis, plain_one[0])
        plain("\nUnder a condition (add --condition):")
        _lines([f for f in found if f.condition])
        return
    for i, one in enumerate(found):
        if i:
            plain()
        show(analysis, one)


def show(analysis: Analysis, finding: Finding) -> None:
    """One thread as indented lines."""
    from halfcell.report.thread import thread, title

    plain(f"{title(finding)}  ({finding.name})")
    for strand in thread(analysis, finding):
        if strand.title:
            plain(f"\n{strand.title}")
        width = min(max(len(what) for what, _ in strand.lines), 52)
        for what, text in strand.lines:
            plain(f"  {what:<{width}}  {text}" if what else f"  {text}")


def _list(found: tuple[Finding, ...]) -> None:
    several = len({f.electrode or f.group for f in found}) > 1
    what = "an electrode or a --condition" if several else "a --condition"
    plain(f"There are {len(found)} findings of this name; add {what}:")
    _lines(found)


def _lines(found: Sequence[Finding]) -> None:
    from halfcell.report.tables import shown_value

    for f in found:
        whom = f.electrode or f.group or "the study"
        plain(f"  {whom}{f', {f.condition}' if f.condition else ''}: {shown_value(f)}")
