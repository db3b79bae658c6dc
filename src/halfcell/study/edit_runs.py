"""Changing runs.csv in the dialect in which it was written."""

from __future__ import annotations

import csv
import hashlib
import io
import re
from collections.abc import Mapping, Sequence
from pathlib import Path

from halfcell.errors import StudyError
from halfcell.study.atomic import write_atomically
from halfcell.study.draft import RUNS
from halfcell.study.lock import locked
from halfcell.study.model import Run
from halfcell.study.table import decode, encoded, lines_of, read_table
from halfcell.study.words import listed, meant

_DECIMAL = re.compile(r"^[+-]?\d*([.,])\d+(?:[eE][+-]?\d+)?(?=\s|$)")


class RunsEdit:
    """runs.csv opened for changes; nothing is written before ``save``.

    Delimiter, encoding, byte-order mark, line ends, decimal sign, comments and the lines that
    are not changed stay as they are. Rows go by the numbers a spreadsheet shows.
    Raises StudyError for a table that cannot be read.
    """

    def __init__(self, folder: str | Path) -> None:
        self.path = Path(folder) / RUNS
        try:
            data = self.path.read_bytes()
        except OSError as error:
            raise StudyError(f"{RUNS} cannot be read ({error.strerror}).") from None
        self._hash = hashlib.sha256(data).hexdigest()
        self._table = read_table(data, Run.model_fields)
        text, _ = decode(data)
        self._records = list(csv.reader(io.StringIO(text, newline=""), delimiter=self._table.delimiter))
        lines = lines_of(text)
        self._lines: list[str | None] = (
            list(lines) if len(lines) == len(self._records) else [None] * len(self._records)
        )
        self._ended = text.endswith(("\n", "\r"))
        self._changed = False
        self._shift = 1 if text.startswith("sep=") else 0
        self._head = len(self._table.before)
        self.columns = list(self._table.columns)
        self.decimal = _decimal(self._records)

    @property
    def rows(self) -> dict[int, dict[str, str]]:
        """Row number to the cells by column."""
        if self._changed:
            self._table, self._changed = read_table(self.data, Run.model_fields), False
        return {row.number: dict(row.cells) for row in self._table.rows}

    def set(self, row: int, column: str, value: str) -> None:
        """Give a cell a value; a lacking column is added. Raises StudyError for an unknown row or column."""
        place = self._column(column)
        record = self._record(row)
        record += [""] * (place + 1 - len(record))
        record[place] = self._spelled(value)
        self._lines[self._at(row)] = None
        self._changed = True

    def add(self, cells: Mapping[str, str]) -> int:
        """A further row; its number."""
        places = {self._column(column): value for column, value in cells.items()}
        record = [""] * len(self.columns)
        for place, value in places.items():
            record[place] = self._spelled(value)
        self._records.append(record)
        self._lines.append(None)
        self._ended = self._changed = True
        return len(self._records) - self._shift

    def remove(self, row: int) -> None:
        """Take a row out; the rows below move up. Raises StudyError for an unknown row."""
        self._record(row)
        del self._records[self._at(row)], self._lines[self._at(row)]
        self._changed = True

    @property
    def text(self) -> str:
        """The table as it would be written."""
        out = [
            line if line is not None else self._line(record)
            for line, record in zip(self._lines, self._records, strict=True)
        ]
        return "\n".join(out) + ("\n" if self._ended else "")

    @property
    def data(self) -> bytes:
        """The file as it would be written, in its encoding and with its line ends."""
        return encoded(self.text.replace("\n", self._table.newline), self._table.encoding)

    def save(self) -> None:
        """Write the table, unless it was changed meanwhile (StudyError; the old file then stands)."""
        with locked(self.path):
            self._hash = write_atomically(self.path, self.data, expected=self._hash)

    def _record(self, row: int) -> list[str]:
        at = self._at(row)
        record = self._records[at] if self._head < at < len(self._records) else []
        if not any(cell.strip() for cell in record) or record[0].lstrip().startswith("#"):
            raise StudyError(f"{RUNS} has no row {row}; its rows are {listed(map(str, self.rows))}.")
        return record

    def _at(self, row: int) -> int:
        return row - 1 + self._shift

    def _column(self, column: str) -> int:
        if column not in Run.model_fields:
            raise StudyError(f"{RUNS} has no column {column!r}; {meant(column, Run.model_fields)}")
        if column not in self.columns:
            self.columns.append(column)
            self._records[self._head].append(column)
            self._lines[self._head] = None
        return self.columns.index(column)

    def _spelled(self, value: str) -> str:
        if self.decimal == "," and (match := _DECIMAL.match(value)) and match.group(1) == ".":
            return value[: match.start(1)] + "," + value[match.end(1) :]
        return value

    def _line(self, record: Sequence[str]) -> str:
        out = io.StringIO()
        csv.writer(out, delimiter=self._table.delimiter, lineterminator="").writerow(record)
        return out.getvalue()


def _decimal(records: Sequence[Sequence[str]]) -> str:
    marks = [m.group(1) for record in records for cell in record if (m := _DECIMAL.match(cell.strip()))]
    return "," if marks.count(",") > marks.count(".") else "."
