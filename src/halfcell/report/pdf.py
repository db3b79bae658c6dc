"""The report on paper: the same content as the page, set by a typesetter.

The words go to the typesetter as data (content.json), never as markup, and figures as files in a
folder of their own; it can read nothing else and fetches nothing.
"""

from __future__ import annotations

import json
import re
import tempfile
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from halfcell._version import __version__
from halfcell.errors import HalfcellError
from halfcell.report.blocks import Picture, Table, Text
from halfcell.report.cells import aligned, capital

if TYPE_CHECKING:
    from halfcell.report.blocks import Block
    from halfcell.report.content import Content
    from halfcell.report.drawn import Drawn

__all__ = ["pdf_report"]

ROWS = 400
"""Rows of a table on paper; the rest is in the spreadsheet (common practice, no source)."""


def pdf_report(said: Content, drawn: Drawn) -> bytes:
    """The report as PDF (A4, tagged, text searchable). Raises HalfcellError where it cannot be set."""
    import typst

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
        try:
            done: bytes = typst.compile(str(folder / "report.typ"), root=str(folder), timestamp=0)
        except RuntimeError as error:
            raise HalfcellError(
                f"The report could not be set as PDF ({error}). The HTML page can be printed instead."
            ) from None
    return done


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


def _part(part: Any, names: dict[str, tuple[str, float]]) -> dict[str, Any]:
    sections = []
    for section in part.sections:
        shown = [b for b in section.blocks if not (isinstance(b, Picture) and (b.folded or section.folded))]
        blocks = [_block(b, names) for b in shown]
        if left := len(section.blocks) - len(shown):
            words = f"{left} further figure{'s are' if left != 1 else ' is'} in the page (report.html)."
            blocks.append({"kind": "text", "tone": "note", "text": words})
        sections.append({"title": section.title, "blocks": blocks})
    return {"place": part.place, "question": part.question, "sections": sections}


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
    longest = [max((len(row[i]) for row in rows), default=0) for i in range(len(table.head))]
    note = table.note
    if len(set_out.rows) > ROWS:
        note = f"{note} {len(set_out.rows) - ROWS} further rows are in the spreadsheet.".strip()
    return {
        "kind": "table",
        "title": table.title,
        "head": [_breakable(capital(h)) for h in table.head],
        "rows": rows or [["none", *[""] * (len(table.head) - 1)]],
        "numeric": [c.number for c in set_out.columns],
        # A column of short texts is as wide as they are; long texts share what is left.
        "widths": [0 if n <= 16 else min(n, 90) for n in longest]
        if max(longest, default=0) > 16
        else [0] * len(table.head),
        "note": note,
    }


def _breakable(text: str) -> str:
    """Long words without spaces (hashes, paths) may break."""
    return re.sub(r"\S{17,}", lambda m: re.sub(r"(.{8})", "\\1\u200b", m.group(0)), text)
