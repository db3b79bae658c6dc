from __future__ import annotations

from pathlib import Path

import pytest

from halfcell.errors import ReadError
from halfcell.pipeline.quantifies.logs import read_log


def _log(tmp_path: Path, text: str, encoding: str = "utf-8"):
    path = tmp_path / "log.csv"
    path.write_bytes(text.encode(encoding))
    return read_log(path, "data/log.csv")


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        ("time / s;volume / uL;concentration / mmol/L\n60;20;100\n110;40;100\n", "utf-8"),
        ("time,volume,concentration\n60 s,20 uL,100 mmol/L\n110 s,40 uL,0.1 mol/L\n", "utf-8-sig"),
        ("Time (min)\tVolume (mL)\tConcentration (M)\n1\t0,02\t0,1\n1,83333333\t0,04\t0,1\n", "utf-16"),
        ("# invented\ntime [s];volume [µL];stock [mM]\r\n60;20;100\r\n110;40;100\r\n\r\n", "latin-1"),
    ],
)
def test_logs_as_people_write_them(tmp_path: Path, text: str, encoding: str) -> None:
    found = _log(tmp_path, text, encoding)
    assert found.times == pytest.approx((60, 110), rel=1e-6)
    assert found.volumes == pytest.approx((20e-9, 40e-9))
    assert found.concentrations == pytest.approx((100, 100))


def test_a_log_without_times(tmp_path: Path) -> None:
    assert _log(tmp_path, "volume / uL,concentration / mM\n20,100\n").times is None


@pytest.mark.parametrize(
    ("text", "what"),
    [
        (
            "time / s;volume / uL;concentration / mmol/L\n60;twenty;100\n",
            "row 2: volume is 'twenty', which is no number",
        ),
        ("time / s;volume / V;concentration / mmol/L\n60;20;100\n", "'V' is no unit of volume"),
        ("time / s;volume / uL\n60;20\n", "no column concentration"),
        ("time;volume;concentration\n60;20 uL;100 mM\n", "time '60' has no unit"),
        (
            "time / s;volume / uL;concentration / mM\n60;20;100\n50;20;100\n",
            "row 3: the time 50 s is not after",
        ),
        ("time / s;volume / uL;concentration / mM\n", "holds no row"),
        ("time / s;volume / uL;concentration / mM\n60;0;100\n", "cannot be"),
    ],
)
def test_mistakes_are_named_with_their_row(tmp_path: Path, text: str, what: str) -> None:
    with pytest.raises(ReadError, match=what):
        _log(tmp_path, text)


def test_a_log_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(ReadError, match="cannot be read"):
        read_log(tmp_path / "none.csv", "data/none.csv")
