from __future__ import annotations

import csv
import io

import numpy as np
import pytest

from halfcell.errors import StudyError
from halfcell.study.table import decode, lines_of, read_table

LETTERS = [*'ab ,;\t"µé=.', "\n", "0", "1,5", "#x"]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_any_cell_of_any_spreadsheet_reads_back(encoding: str, delimiter: str, newline: str) -> None:
    # Against the standard library's writer.
    rng = np.random.default_rng(17)
    rows = [["x" + "".join(rng.choice(LETTERS, rng.integers(0, 6))) for _ in range(3)] for _ in range(60)]
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, lineterminator=newline)
    writer.writerow(["file", "Electrode name", "note"])
    writer.writerows(rows)
    table = read_table(out.getvalue().encode(encoding), ["file", "note"])
    assert table.columns == ("file", "electrode_name", "note")
    assert table.delimiter == delimiter
    assert [list(row.cells.values()) for row in table.rows] == [[c.strip() for c in row] for row in rows]
    assert [row.number for row in table.rows] == list(range(2, 62))


def test_rows_are_numbered_as_a_spreadsheet_shows_them() -> None:
    text = 'sep=;\n# made by hand\n\nfile;note\na;"two\nlines"\n;\n# aside;x\nb;y;z;\n'
    table = read_table(text.encode(), ["file", "note"])
    assert [(row.number, row.cells["file"], row.beyond) for row in table.rows] == [
        (4, "a", ()),
        (7, "b", ("z",)),
    ]
    assert table.before == ("sep=;", "# made by hand", "")


def test_rows_that_are_too_short() -> None:
    (row,) = read_table(b"file,note,order\na\n").rows
    assert row.cells == {"file": "a"}


@pytest.mark.parametrize("data", [b"", b"\n\n", b"# only\n", b"\xef\xbb\xbf"])
def test_no_table(data: bytes) -> None:
    with pytest.raises(StudyError, match="row of headings"):
        read_table(data)


def test_a_cell_without_end() -> None:
    with pytest.raises(StudyError, match="cannot be taken apart"):
        read_table(b'file,note\na,"' + b"x" * 200_000)


@pytest.mark.parametrize(
    ("data", "text", "encoding"),
    [
        ("µ".encode(), "µ", "utf-8"),
        ("µ".encode("utf-8-sig"), "µ", "utf-8-sig"),
        ("µ".encode("utf-16"), "µ", "utf-16"),
        ("ab".encode("utf-16-le"), "ab", "utf-16-le"),
        ("µ".encode("latin-1"), "µ", "latin-1"),
    ],
)
def test_encodings(data: bytes, text: str, encoding: str) -> None:
    assert decode(data) == (text, encoding)


def test_lines() -> None:
    assert lines_of("a\r\nb\rc\nd\u2028e\n") == ["a", "b", "c", "d\u2028e"]
    assert lines_of("a") == ["a"]
    assert lines_of("") == []
