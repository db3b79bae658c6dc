from __future__ import annotations

from typing import Any

import pytest

from halfcell.finding import Finding, Findings
from halfcell.pipeline.quantifies import quantifies

LEVELS = (0.1, 0.2, 0.4, 0.8, 1.6)


def _peaks(maker: Any, technique: str) -> list[Finding]:
    found = []
    for k, level in enumerate(LEVELS):
        file = f"data/Ni-1_{technique.replace(' ', '')}_{k}.csv"
        (maker.folder / file).write_text("x", "utf-8")
        maker.rows.append(
            {"file": file, "electrode": "Ni-1", "technique": technique, "solution": "buffer"}
            | {"concentration": f"{level} mmol/L", "scan_rate": "50 mV/s"}
        )
        found.append(
            Finding(
                name="peak_current", value=25 * level + 0.02 * (-1) ** k, standard_uncertainty=0.02, unit="uA", electrode="Ni-1",
                group="nickel", condition=f"{level} mmol/L", recordings=(file,), method="m", source="s",
            )
        )  # fmt: skip
    return found


def _additions(maker: Any) -> list[Finding]:
    for tail in ("_first", "_second"):
        maker.additions("Ni-1", 20e-6, tail=tail)
    return []


def _steps(maker: Any) -> list[Finding]:
    for level in LEVELS:
        maker.step("Ni-1", level)
    return []


MADE = {
    "additions": _additions,
    "potential steps": _steps,
    "voltammograms": lambda maker: _peaks(maker, "cyclic voltammogram"),
    "pulses": lambda maker: _peaks(maker, "square wave"),
}


@pytest.mark.parametrize("kind", MADE)
def test_every_point_tells_its_file_and_can_be_left_out_by_what_is_shown(maker: Any, kind: str) -> None:
    maker.electrode("Ni-1", "nickel")
    peaks = Findings(tuple(MADE[kind](maker)))

    def shown(decided: str = "") -> dict[str, Any]:
        out = quantifies(maker.bench(adjustments=decided), peaks)
        (one,) = (e for e in out.exhibits if e.kind == "calibration")
        return dict(one.data)

    before = shown()
    assert before["kind"] == kind
    assert len(before["files"]) == len(before["x"]) == len(before["y"])
    where, file, level = 3, before["files"][3], float(before["x"][3])
    after = shown(
        f'[[adjustment]]\nkind = "reject point"\nelectrode = "Ni-1"\nfile = "{file}"\nconcentration = "{level!r} mmol/L"\nwhy = "a bubble"\n'
    )
    assert after["rejected_files"] == [file]
    assert after["rejected_why"] == ["a bubble"]
    assert after["rejected_x"].tolist() == [before["x"][where]]
    assert after["rejected_y"].tolist() == [before["y"][where]]
    assert after["y"].tolist() == [y for i, y in enumerate(before["y"].tolist()) if i != where]
    assert after["slope"] != before["slope"]
