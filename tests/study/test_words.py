from __future__ import annotations

from halfcell.study.words import count, hidden, listed, meant, nearest, printable


def test_nearest() -> None:
    assert nearest("scan rate", ["scan_rate", "solution"]) == "scan_rate"
    assert nearest("Ni-12", ["Ni-1", "Cu-1"]) == "Ni-1"
    assert nearest("ni-1", ["Ni-1", "Ni-2"]) == "Ni-1"
    assert nearest("zebra", ["Ni-1", "Cu-1"]) is None
    assert nearest("x", []) is None


def test_meant() -> None:
    assert meant("materal", ["material", "role"]) == "did you mean 'material'?"
    assert meant("zebra", ["a", "b"]) == "known: a, b."
    assert meant("zebra", []) == "none is known yet."
    assert listed("abcde", 3) == "a, b, c and 2 more"
    assert (count(1, "row"), count(0, "row")) == ("1 row", "0 rows")


def test_hidden_characters() -> None:
    document = {"a": "fine\n\tµ", "b": {"c": ["x", {"d": "\x1b[2J"}]}, "\u202ee": 1, "f": 5, "g": "\ud800"}
    assert list(hidden(document)) == ["b.c.2.d", "\u202ee", "g"]
    assert printable("a\x1b[31m\u202eb") == "a\ufffd[31m\ufffdb"
