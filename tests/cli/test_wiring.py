"""The verbs stand in the help in the order of the work."""

from __future__ import annotations

import pytest

from halfcell import cli


def test_help_names_every_verb_in_the_order_of_the_work(capsys):
    with pytest.raises(SystemExit) as ended:
        cli.main(["--help"])
    assert ended.value.code == 0
    out = capsys.readouterr().out
    places = [out.index(f"\n  {verb} ") for verb in cli.verbs()]
    assert places == sorted(places)
    assert "Exit codes" in out
