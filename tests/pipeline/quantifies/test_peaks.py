from __future__ import annotations

import pytest

from halfcell.finding import Finding, Findings
from halfcell.pipeline.quantifies import quantifies

SCATTER = (0.02, -0.03, 0.01, 0.02, -0.02)


def _peaks(maker, technique: str, factor: float) -> list[Finding]:
    out = []
    for k, level in enumerate((0.1, 0.2, 0.4, 0.8, 1.6)):
        file = f"data/Ni-1_{technique.replace(' ', '')}_{k}.csv"
        (maker.folder / file).write_text("x", "utf-8")
        row = {
            "file": file,
            "electrode": "Ni-1",
            "technique": technique,
            "solution": "buffer",
            "concentration": f"{level} mmol/L",
        }
        maker.rows.append(row | {"scan_rate": "50 mV/s"})
        out.append(
            Finding(
                name="peak_current", value=factor * level + SCATTER[k], standard_uncertainty=0.02, unit="uA", electrode="Ni-1", group="nickel",
                condition=f"{level} mmol/L", recordings=(file,), method="m", source="s",
            )
        )  # fmt: skip
    return out


def test_peak_currents_at_several_levels_make_a_calibration(maker) -> None:
    maker.electrode("Ni-1", "nickel")
    peaks = _peaks(maker, "cyclic voltammogram", 25.0)
    found = Findings(quantifies(maker.bench(), Findings(tuple(peaks))).findings).named("sensitivity")[0]
    assert found.value == pytest.approx(25.0, abs=4 * found.standard_uncertainty)
    assert found.settings["records"] == "voltammograms"
    assert found.condition == ""
    assert len(found.recordings) == 5


def test_pulses_come_before_sweeps_and_the_study_may_say_otherwise(maker) -> None:
    maker.electrode("Ni-1", "nickel")
    peaks = _peaks(maker, "cyclic voltammogram", 25.0) + _peaks(maker, "square wave", 60.0)
    table = Findings(quantifies(maker.bench(), Findings(tuple(peaks))).findings)
    main = next(f for f in table.named("sensitivity") if not f.condition)
    assert main.settings["records"] == "pulses"
    other = next(f for f in table.named("sensitivity") if f.condition)
    assert other.condition.startswith("voltammograms, 50 mV/s")
    chosen = maker.bench('\n[analysis.calibration]\nfrom_records = "voltammograms"\n')
    table = Findings(quantifies(chosen, Findings(tuple(peaks))).findings)
    assert (
        next(f for f in table.named("sensitivity") if not f.condition).settings["records"] == "voltammograms"
    )


def test_a_definition_that_cannot_be_had_is_said(maker) -> None:
    maker.electrode("Ni-1", "nickel")
    maker.additions("Ni-1", 20e-6)
    bench = maker.bench('\n[analysis.calibration]\nlimit = "IUPAC 1976"\n')
    found = Findings(quantifies(bench, Findings(())).findings).named("limit_of_detection")[0]
    assert found.method == "ICH Q2, residuals"
    assert any("cannot be had here: only 1 blank was measured" in n for n in found.notes)
