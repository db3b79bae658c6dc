from __future__ import annotations

import math

import numpy as np
import pytest

from halfcell.finding import Findings
from halfcell.pipeline.quantifies import quantifies


def _three(maker, slope: float = 20e-6, **more: object) -> None:
    for k in range(3):
        maker.electrode(f"Ni-{k + 1}", "nickel")
        maker.additions(f"Ni-{k + 1}", slope * (1 + 0.05 * (k - 1)), **more)


def test_sensitivities_and_limits_of_stirred_records(maker) -> None:
    _three(maker)
    out = quantifies(maker.bench(), Findings(()))
    assert not out.problems
    table = Findings(out.findings)
    for k, f in enumerate(table.named("sensitivity")):
        true = 20 * (1 + 0.05 * (k - 1))
        assert abs(f.value - true) < 4 * f.standard_uncertainty
        assert f.standard_uncertainty < 0.02 * true
        assert f.condition == ""
        assert f.settings["direction"] == "anodic"
    per_area = table.named("sensitivity_per_area", electrode="Ni-2")[0]
    assert per_area.value == pytest.approx(
        table.named("sensitivity", electrode="Ni-2")[0].value / (maker.AREA * 1e4), rel=1e-9
    )
    lod = table.named("limit_of_detection", electrode="Ni-1")[0]
    true = 3.3 * 8e-9 / 19e-6 * 1e3
    assert lod.settings["interval low"] < true < lod.settings["interval high"]
    assert len(table.named("detection_limit", electrode="Ni-1")) >= 4
    t90 = table.named("response_time", electrode="Ni-1")[0]
    assert t90.value == pytest.approx(1.5 * math.log(10), rel=0.1)
    mean = table.named("mean_sensitivity")[0]
    assert mean.group == "nickel"
    assert mean.degrees_of_freedom == 2
    assert abs(mean.value - 20) < 4 * mean.standard_uncertainty
    assert len({f.key for f in table}) == len(table)


def test_levels_allow_for_the_added_volume(maker) -> None:
    _three(maker)
    shown = [e for e in quantifies(maker.bench(), Findings(())).exhibits if e.kind == "additions trace"]
    assert shown[0].data["levels"] == pytest.approx(maker.LEVELS)


def test_a_cathodic_response_has_a_positive_sensitivity(maker) -> None:
    _three(maker, slope=-20e-6)
    for f in quantifies(maker.bench(), Findings(())).findings:
        if f.name == "sensitivity":
            assert f.value > 0
            assert f.settings["direction"] == "cathodic"


def test_an_addition_not_made_is_said_and_the_levels_follow(maker) -> None:
    maker.electrode("Ni-1", "nickel")
    maker.additions("Ni-1", 20e-6, made=[True, True, False, True, True, True, True])
    out = quantifies(maker.bench(), Findings(()))
    assert [p.place for p in out.problems] == ["addition 3"]
    slope = Findings(out.findings).named("sensitivity")[0]
    assert abs(slope.value - 20) < 4 * slope.standard_uncertainty


def test_an_addition_that_is_not_in_the_log_is_said(maker) -> None:
    maker.electrode("Ni-1", "nickel")
    maker.additions("Ni-1", 20e-6, logged=[True, True, True, False, True, True, True])
    out = quantifies(maker.bench(), Findings(()))
    assert any("where the log has no addition" in p.what for p in out.problems)


def test_no_response_has_no_limit_and_says_why(maker) -> None:
    maker.electrode("C-1", "carbon")
    maker.additions("C-1", 0.0, scatter=0.0)
    out = quantifies(maker.bench(), Findings(()))
    lod = Findings(out.findings).named("limit_of_detection")[0]
    assert math.isnan(lod.value)
    assert "not different from zero" in lod.notes[0]
    assert any("no step is seen" in p.what for p in out.problems)


def test_potential_steps(maker) -> None:
    maker.electrode("D-1", "disc")
    for level in (0, 0.025, 0.05, 0.1, 0.2, 0.4):
        maker.step("D-1", level)
    out = quantifies(maker.bench('sample_from = "2 s"\nsample_to = "9 s"\n'), Findings(()))
    assert not out.problems
    found = Findings(out.findings).named("sensitivity")[0]
    t = (np.arange(200) + 0.5) / 20
    chosen = t[(t - t[0] >= 2) & (t - t[0] <= 9)]
    true = float(np.mean(96485.33212 * maker.AREA * np.sqrt(7.6e-10 / (math.pi * chosen)))) * 1e6
    assert abs(found.value - true) < 4 * found.standard_uncertainty
    assert found.settings["records"] == "potential steps"


def test_a_rejected_point_is_left_out_with_its_reason(maker) -> None:
    maker.electrode("Ni-1", "nickel")
    file = maker.additions("Ni-1", 20e-6)
    decided = f'[[adjustment]]\nkind = "reject point"\nelectrode = "Ni-1"\nfile = "{file}"\nconcentration = "{float(maker.LEVELS[3])!r} mmol/L"\nwhy = "a bubble"\n'
    found = Findings(quantifies(maker.bench(adjustments=decided), Findings(())).findings).named(
        "sensitivity"
    )[0]
    assert found.settings["points"] == 7
    assert any("a bubble" in n for n in found.notes)


def test_a_bent_response_is_fitted_over_its_linear_range(maker) -> None:
    maker.electrode("Ni-1", "nickel")
    maker.additions("Ni-1", 20e-6, bend=0.05, scatter=200e-9)
    table = Findings(quantifies(maker.bench(), Findings(())).findings)
    assert table.named("linearity")[0].text == "bent"
    assert table.named("linear_range_high")[0].value < maker.LEVELS[-1] * 1e3


def test_a_study_without_such_records_gives_nothing(maker) -> None:
    maker.electrode("Ni-1", "nickel")
    maker.rows.append(
        {"file": "data/a.csv", "electrode": "Ni-1", "technique": "cyclic voltammogram", "solution": "buffer"}
    )
    (maker.folder / "data" / "a.csv").write_text("x", "utf-8")
    out = quantifies(maker.bench(), Findings(()))
    assert out.findings == ()


def test_the_sampling_window_begins_where_charging_has_gone(maker) -> None:
    maker.electrode("D-1", "disc")
    for level in (0, 0.025, 0.05, 0.1, 0.2, 0.4):
        maker.step("D-1", level)
    out = quantifies(maker.bench(), Findings(()))
    assert not out.problems
    windows = {(f.settings["from"], f.settings["to"]) for f in out.findings if f.name == "sampled_current"}
    assert len(windows) == 1
    start, _ = windows.pop()
    # The charging current has a time constant of 0.1 s; half of the step is 5 s.
    assert 0.8 < start < 5.0


def test_an_addition_made_in_part_is_said(maker) -> None:
    maker.electrode("Ni-1", "nickel")
    maker.additions("Ni-1", 20e-6, part={3: 0.4})
    out = quantifies(maker.bench(), Findings(()))
    assert any(
        p.place == "addition 4" and "of what the additions around it say" in p.what for p in out.problems
    )


def test_an_addition_a_person_is_sure_of_is_not_doubted(maker) -> None:
    maker.electrode("Ni-1", "nickel")
    file = maker.additions("Ni-1", 20e-6, made=[True, True, False, True, True, True, True])
    decided = f'[[adjustment]]\nkind = "add step"\nfile = "{file}"\ntime = "160 s"\n'
    out = quantifies(maker.bench(adjustments=decided), Findings(()))
    assert not any("taken as not made" in p.what for p in out.problems)
    assert Findings(out.findings).named("sensitivity")[0].settings["points"] == 8


def test_the_noise_of_a_record_is_no_honest_limit_and_says_so(maker) -> None:
    maker.electrode("Ni-1", "nickel")
    maker.additions("Ni-1", 20e-6)
    table = Findings(quantifies(maker.bench(), Findings(())).findings)
    noise = table.named("detection_limit", condition="three times the noise")[0]
    assert noise.value < table.named("limit_of_detection")[0].value
    assert any("too low" in n for n in noise.notes)
