from __future__ import annotations

import tomllib

import pytest

from halfcell.errors import StudyError
from halfcell.study.insert import with_tables

NEW = ["", "[electrodes.Ni-2]", 'material = "nickel"  # guessed']
TABLE = '\n[electrodes.Ni-2]\nmaterial = "nickel"  # guessed\n'


@pytest.mark.parametrize(
    ("before", "after"),
    [
        # Behind the last of its kind and the comments that belong to it, before those of the next table.
        (
            'format = 1\n\n[electrodes.Ni-1]\narea = "1 cm^2"  # measured\n# resistance = "?"\n',
            "\n# Solutions:\n[solutions.base]\n# ph = 7.0\n",
        ),
        (
            '[electrodes.Ni-1]\narea = "1 cm^2"\n[electrodes.Ni-1.factors]\nseeding = true\n',
            "# Next\n[choice]\n",
        ),
        ('format = 1\n[electrodes]\nNi-1 = { area = "1 cm^2" }\n', ""),
        ('electrodes.Ni-1.area = "1 cm^2"\n', ""),
        ("format = 1\n", ""),
    ],
)
def test_every_other_letter_stays(before: str, after: str) -> None:
    assert with_tables(before + after, "electrodes", NEW) == before + TABLE + after


def test_line_ends_and_a_last_line_without_one() -> None:
    before = 'format = 1\r\n[electrodes.Ni-1]\r\narea = "1 cm^2"'
    assert with_tables(before, "electrodes", NEW) == before + "\r\n" + TABLE.replace("\n", "\r\n")


def test_before_the_first_of_its_kind() -> None:
    old = "format = 1\n\n# These cannot be understood.\n[readers.a]\nfiles = '*.dat'\n"
    new = with_tables(old, "readers", ["", "[readers.b]", "files = 'x.dat'"], first=True)
    assert new == old.replace("# These", "[readers.b]\nfiles = 'x.dat'\n\n# These")
    assert list(tomllib.loads(new)["readers"]) == ["b", "a"]


def test_what_looks_like_a_table_in_a_text_is_none() -> None:
    before = 'title = """\n[electrodes.Ni-1]\n"""\n'
    new = with_tables(before + "[solutions.base]\n", "electrodes", NEW)
    assert tomllib.loads(new) == tomllib.loads(before + "[solutions.base]\n" + TABLE)


def test_tables_in_one_line() -> None:
    new = with_tables('# kept\nelectrodes = { Ni-1 = { area = "1 cm^2" } }  # all\n', "electrodes", NEW)
    assert tomllib.loads(new)["electrodes"] == {"Ni-1": {"area": "1 cm^2"}, "Ni-2": {"material": "nickel"}}
    assert "# kept" in new


def test_a_key_for_a_table_that_is_there() -> None:
    lines = ["", "[analysis.amperometry]", 'start_volume = "?"']
    new = with_tables('[analysis.amperometry]\nwindow = "5 s"\n\n[choice]\n', "analysis", lines)
    assert tomllib.loads(new)["analysis"]["amperometry"] == {"window": "5 s", "start_volume": "?"}


def test_a_form_that_takes_nothing_in() -> None:
    with pytest.raises(StudyError, match=r"write each as a table of its own, \[electrodes\.NAME\]"):
        with_tables("electrodes = 5\n", "electrodes", NEW)
    assert with_tables("electrodes = 5\n", "electrodes", []) == "electrodes = 5\n"
