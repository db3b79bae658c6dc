"""The report on paper: the same content as the page, set by a typesetter.

The words go to the typesetter as data (content.json), never as markup, and figures as files in a
folder of their own; it can read nothing else and fetches nothing.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tempfile
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from halfcell._version import __version__
from halfcell.errors import HalfcellError
from halfcell.report.blocks import Picture, Table, Text
from halfcell.report.cells import aligned, capital

if TYPE_CHECKING:
    from halfcell.report.blocks import Block, Part, Section
    from halfcell.report.content import Content
    from halfcell.report.drawn import Drawn

__all__ = ["pdf_report"]

ROWS = 400
"""Rows of a table on paper; the rest is in the spreadsheet (common practice, no source)."""
_SET = """
import pathlib, sys, typst
folder = pathlib.Path(sys.argv[1])
try:
    made = typst.compile(str(folder / "report.typ"), root=str(folder), timestamp=0)
except RuntimeError as error:
    sys.exit(str(error))
(folder / "report.pdf").write_bytes(made)
"""


def pdf_report(said: Content, drawn: Drawn) -> bytes:
    """The report as PDF (A4, tagged, text searchable). Raises HalfcellError where it cannot be set."""
    with tempfile.TemporaryDirectory(prefix="halfcell-") as name:
        folder = Path(name)
        names = _figures(folder, drawn)
        parts = [_part(part, names) for part in said.parts]
        content = {
            "title": said.title,
            "subtitle": said.subtitle,
            "notice": said.notice,
            "version": __version__,
            "parts": parts,
        }
        (folder / "content.json").write_text(json.dumps(content, ensure_ascii=False), "utf-8")
        template = (files("halfcell.report") / "templates" / "report.typ").read_text("utf-8")
        (folder / "report.typ").write_text(template, "utf-8")
        _set(folder)
        return (folder / "report.pdf").read_bytes()


def _set(folder: Path) -> None:
    """Set the report of a folder, in a process of its own.

    The typesetter keeps what it has set for as long as its process lives, some 100 MB for every
    large report, which a server that stays on for days cannot hold.
    """
    done = subprocess.run([sys.executable, "-P", "-c", _SET, str(folder)], capture_output=True, check=False)
    if done.returncode:
        said = done.stderr.decode("utf-8", "replace").strip().splitlines() or ["it ended without a word"]
        raise HalfcellError(
            f"The report could not be set as PDF ({said[-1]}). The HTML page can be printed instead."
        )


def _figures(folder: Path, drawn: Drawn) -> dict[str, tuple[str, float]]:
    """Each drawn exhibit's file name and its share of the page's width in percent."""
    names = {}
    for i, (key, svg) in enumerate(drawn.svg.items()):
        text = svg.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1)
        text = re.sub(
            r'font-family="[^"]*"',
            'font-family="DejaVu Sans, Noto Sans, Liberation Sans, Arial, sans-serif"',
            text,
            count=1,
        )
        (folder / f"figure-{i}.svg").write_text(text, "utf-8")
        box = re.search(r'viewBox="[\d.]+ [\d.]+ ([\d.]+)', svg)
        points = float(box.group(1)) if box else 482.0
        names[key] = (f"figure-{i}.svg", points / 482.0 * 84.0)
    return names


_KEPT = {"Methods", "Appendix"}
"""Parts that stand on paper in whole: another person needs them to do it again."""


def _part(part: Part, names: dict[str, tuple[str, float]]) -> dict[str, Any]:
    """A part on paper: what is folded in the page and more than a few words is only named."""
    sections, elsewhere = [], []
    for section in part.sections:
        if section.folded and part.place not in _KEPT and not _short(section):
            elsewhere.append(section.title)
            continue
        shown = [b for b in section.blocks if isinstance(b, Text) or not b.folded or part.place in _KEPT]
        blocks = [_block(b, names) for b in shown]
        if left := len(section.blocks) - len(shown):
            blocks.append(
                _remark(
                    f"{left} further table{'s' if left != 1 else ''} or figure{'s' if left != 1 else ''} in report.html."
                )
            )
        sections.append({"title": section.title, "blocks": blocks})
    if elsewhere:
        sections.append(
            {"title": "", "blocks": [_remark(f"Further in report.html: {'; '.join(elsewhere)}.")]}
        )
    return {"place": part.place, "question": part.question, "sections": sections}


def _short(section: Section) -> bool:
    return (
        all(isinstance(b, Text) for b in section.blocks)
        and sum(len(b.text) for b in section.blocks if isinstance(b, Text)) < 2000
    )


def _remark(words: str) -> dict[str, Any]:
    return {"kind": "text", "tone": "note", "text": words}


def _block(block: Block, names: dict[str, tuple[str, float]]) -> dict[str, Any]:
    if isinstance(block, Text):
        return {"kind": "text", "tone": block.tone, "text": block.text}
    if isinstance(block, Table):
        return _table(block)
    assert isinstance(block, Picture)
    file, width = names.get(block.exhibit.key, ("", 0.0))
    caption = block.caption or block.exhibit.title
    if not file:
        caption = f"Not drawn here: {caption}"
    return {"kind": "picture", "file": file, "width": width, "caption": caption, "alt": block.alt or caption}


def _table(table: Table) -> dict[str, Any]:
    set_out = aligned(table)
    rows = [[_breakable(cell.text) for cell in row] for row in set_out.rows[:ROWS]]
    note = table.note
    if len(set_out.rows) > ROWS:
        note = f"{note} {len(set_out.rows) - ROWS} further rows are in the spreadsheet.".strip()
    return {
        "kind": "table",
        "title": table.title,
        "head": [_breakable(capital(h)) for h in table.head],
        "rows": rows or [["none", *[""] * (len(table.head) - 1)]],
        "numeric": [c.number for c in set_out.columns],
        "widths": _widths([_breakable(h) for h in table.head], rows),
        "note": note,
    }


def _widths(head: list[str], rows: list[list[str]]) -> list[float]:
    """Shares of the width, or zeros where the columns fit as they are."""
    longest = [max((len(row[i]) for row in rows), default=0) for i in range(len(head))]
    words = [max((len(word) for word in h.split()), default=0) for h in head]
    needed = [max(cells, word) for cells, word in zip(longest, words, strict=True)]
    if sum(needed) <= 90 and max(needed, default=0) <= 40:
        return [0.0] * len(head)
    return [round(max(min(n, 70), 6) ** 0.85, 2) for n in needed]


def _breakable(text: str) -> str:
    """Long words without spaces (hashes, paths) may break."""
    return re.sub(r"\S{17,}", lambda m: re.sub(r"(.{8})", "\\1\u200b", m.group(0)), text)
