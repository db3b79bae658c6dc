"""runs.csv as people's spreadsheets write it: any delimiter, encoding, byte-order mark or line end."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable
from dataclasses import dataclass

from halfcell.errors import StudyError

_DELIMITERS = ",;\t"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row: its number as a spreadsheet shows it, its cells by column, and cells beyond the headings."""

    number: int
    cells: dict[str, str]
    beyond: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table of text with how it was written, so that it can be written the same way again."""

    columns: tuple[str, ...]
    """Headings as keys: lower case, spaces as underscores."""
    headings: tuple[str, ...]
    """Headings as written."""
    rows: tuple[Row, ...]
    delimiter: str = ","
    encoding: str = "utf-8"
    newline: str = "\n"
    before: tuple[str, ...] = ()
    """Lines above the headings (comments, a "sep=" line)."""


def decode(data: bytes) -> tuple[str, str]:
    """Text and encoding of a small text file: UTF-8 or UTF-16 by mark or by itself, else Latin-1."""
    if data.startswith(b"\xef\xbb\xbf"):
        return data.decode("utf-8-sig", errors="replace"), "utf-8-sig"
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace"), "utf-16"
    if len(data) >= 4 and data[1:4:2] == b"\0\0":
        return data.decode("utf-16-le", errors="replace"), "utf-16-le"
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return data.decode("latin-1"), "latin-1"


def encoded(text: str, encoding: str) -> bytes:
    """The bytes of a text in its encoding, or in UTF-8 with its mark where that lacks a letter."""
    try:
        return text.encode(encoding)
    except UnicodeEncodeError:
        return text.encode("utf-8-sig")


def lines_of(text: str) -> list[str]:
    """The lines of a text by the line ends of files alone (other separators are letters like any)."""
    lines = re.split(r"\r\n|\n|\r", text)
    return lines[:-1] if lines[-1] == "" else lines


def key_of(heading: str) -> str:
    """A heading as a key: "Scan rate" and "scan-rate" are scan_rate."""
    return re.sub(r"[\s\-]+", "_", heading.strip().casefold())


def read_table(data: bytes, known: Iterable[str] = ()) -> Table:
    """The table in the bytes of a file.

    The delimiter is the one of comma, semicolon and tab that gives most of the ``known``
    headings, else most columns. Rows that are empty or begin with "#" are passed over, and
    still counted, so that numbers are those of a spreadsheet. Raises StudyError when there is
    no heading row or the quotes do not close.
    """
    text, encoding = decode(data)
    newline = "\r\n" if "\r\n" in text else "\n"
    lines = lines_of(text)
    first = next((i for i, line in enumerate(lines) if line.strip() and not _aside(line)), None)
    if first is None:
        raise StudyError("the table is empty: it needs a row of headings and one row for each raw file.")
    delimiter = _delimiter(lines[first], set(known))
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    try:
        records = list(reader)
    except csv.Error as error:
        raise StudyError(f"the table cannot be taken apart at line {reader.line_num} ({error}).") from None
    shift = 1 if lines[0].startswith("sep=") else 0
    start = next(
        i for i, record in enumerate(records) if any(c.strip() for c in record) and not _aside(record[0])
    )
    headings = tuple(records[start])
    columns = tuple(key_of(h) for h in headings)
    rows = []
    for i, record in enumerate(records[start + 1 :], start + 2 - shift):
        cells = [cell.strip() for cell in record]
        if not any(cells) or cells[0].startswith("#"):
            continue
        named = {name: cell for name, cell in zip(columns, cells, strict=False) if name}
        rows.append(Row(number=i, cells=named, beyond=tuple(c for c in cells[len(columns) :] if c)))
    return Table(
        columns=columns,
        headings=headings,
        rows=tuple(rows),
        delimiter=delimiter,
        encoding=encoding,
        newline=newline,
        before=tuple(lines[:first]),
    )


def _aside(line: str) -> bool:
    return line.lstrip("\ufeff").startswith(("#", "sep="))


def _delimiter(line: str, known: set[str]) -> str:
    def merit(mark: str) -> tuple[int, int]:
        names = next(csv.reader([line], delimiter=mark))
        return sum(key_of(n) in known for n in names), len(names)

    return max(_DELIMITERS, key=merit)
