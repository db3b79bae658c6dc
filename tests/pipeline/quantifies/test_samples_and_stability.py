from __future__ import annotations

import pytest

from halfcell.finding import Findings
from halfcell.pipeline.quantifies import quantifies

LEVELS = (0, 0.025, 0.05, 0.1, 0.2, 0.4)
WINDOW = 'sample_from = "2 s"\nsample_to = "9 s"\n'


def _disc(maker) -> None:
    maker.electrode("D-1", "disc")
    for level in LEVELS:
        maker.step("D-1", level)


def _table(maker) -> Findings:
    out = quantifies(maker.bench(WINDOW), Findings(()))
    assert not out.problems
    return Findings(out.findings)


def test_a_sample_its_spike_and_its_recovery(maker) -> None:
    _disc(maker)
    for k in range(3):
        # The runs of a sample have no level of their own: what is simulated is the truth.
        maker.step("D-1", 0.08, tail=f"_s{k}", sample="pond 3", concentration="")
        maker.step("D-1", 0.18, tail=f"_p{k}", sample="pond 3", concentration="", spike="0.1 mmol/L")
    table = _table(maker)
    content = table.named("content")[0]
    assert content.condition == "pond 3"
    assert content.settings["interval low"] < 80 < content.settings["interval high"]
    assert content.settings["readings"] == 3
    found = table.named("recovery")[0]
    assert abs(found.value - 100) < 4 * found.standard_uncertainty
    assert table.named("sensitivity")[0].settings["points"] == 6


def test_a_sample_beyond_the_levels_is_refused(maker) -> None:
    _disc(maker)
    maker.step("D-1", 0.9, tail="_s", sample="brine", concentration="")
    out = quantifies(maker.bench(WINDOW), Findings(()))
    assert not Findings(out.findings).named("content")
    assert any("dilute it" in p.what for p in out.problems)


def test_standard_additions_to_a_sample_in_a_stirred_cell(maker) -> None:
    maker.electrode("Ni-1", "nickel")
    maker.additions("Ni-1", 20e-6)
    # The sample holds 0.3 mmol/L; it is diluted as the standard is added.
    maker.additions("Ni-1", 20e-6, tail="_sample", sample="pond 4", start=0.3)
    table = Findings(quantifies(maker.bench(), Findings(())).findings)
    found = table.named("content_by_addition")[0]
    assert found.settings["background taken off"]
    assert found.settings["interval low"] < 300 < found.settings["interval high"]
    assert table.named("content")[0].value == pytest.approx(300, rel=0.02)


def test_retention_after_use_and_in_storage(maker) -> None:
    _disc(maker)
    for level in (0, 0.1, 0.2, 0.4):
        maker.step("D-1", level, share=0.9, tail="_used", exposure="2 h")
        maker.step("D-1", level, share=0.8, tail="_old", age="14 d")
    table = _table(maker)
    used = table.named("retention")[0]
    assert used.condition == "after 2 h"
    assert used.settings["interval low"] < 90 < used.settings["interval high"]
    old = table.named("storage_retention")[0]
    assert old.condition == "after 14 d"
    assert old.settings["interval low"] < 80 < old.settings["interval high"]


def test_repeatability_of_repeated_steps(maker) -> None:
    _disc(maker)
    for k in range(6):
        maker.step("D-1", 0.2, tail=f"_r{k}", scatter=20e-9)
    found = _table(maker).named("repeatability")[0]
    # 20 nA in about 0.95 µA.
    assert found.settings["interval low"] < 100 * 20 / 950 < found.settings["interval high"]


def test_scatter_between_electrodes_and_batches(maker) -> None:
    slopes = {"a": (19.0, 19.5, 18.8), "b": (21.5, 22.0, 21.0)}
    for batch, values in slopes.items():
        for k, slope in enumerate(values):
            maker.electrode(f"N-{batch}{k}", "nickel", batch)
            maker.additions(f"N-{batch}{k}", slope * 1e-6)
    table = Findings(quantifies(maker.bench(), Findings(())).findings)
    between = table.named("between_electrode_rsd")[0]
    assert between.group == "nickel"
    assert between.value == pytest.approx(6.7, rel=0.2)
    batch = table.named("between_batch_rsd")[0]
    assert batch.settings["interval low"] < batch.value < batch.settings["interval high"]
    assert batch.settings["inside batches / percent"] < batch.value
    mixed, mean = table.named("mixed_sensitivity")[0], table.named("mean_sensitivity")[0]
    assert mixed.value == pytest.approx(mean.value, rel=1e-3)


def test_a_response_that_levels_off_has_a_sensitivity_of_its_own(maker) -> None:
    maker.electrode("Ni-1", "nickel")
    maker.additions("Ni-1", 20e-6, bend=0.4, scatter=10e-9)
    table = Findings(quantifies(maker.bench(), Findings(())).findings)
    found = table.named("initial_sensitivity")[0]
    assert abs(found.value - 20) < 4 * found.standard_uncertainty
    half = table.named("half_saturation")[0]
    assert abs(half.value - 2500) < 4 * half.standard_uncertainty
    assert any(
        "site-limited describes the points clearly better" in n for n in table.named("sensitivity")[0].notes
    )


def test_uncertain_volumes_bring_a_line_with_errors_in_x(maker) -> None:
    maker.electrode("Ni-1", "nickel")
    maker.additions("Ni-1", 20e-6)
    table = Findings(quantifies(maker.bench("volume_uncertainty = 0.05\n"), Findings(())).findings)
    found = table.named("sensitivity_errors_in_x")[0]
    assert found.standard_uncertainty > table.named("sensitivity")[0].standard_uncertainty
    none = Findings(quantifies(maker.bench("volume_uncertainty = 0.00001\n"), Findings(())).findings)
    assert not none.named("sensitivity_errors_in_x")


def test_a_standardised_stock_takes_the_place_of_the_logs(maker) -> None:
    maker.electrode("Ni-1", "nickel")
    maker.additions("Ni-1", 20e-6)
    plain = Findings(quantifies(maker.bench(), Findings(())).findings).named("sensitivity")[0]
    stock = '\n[analysis.amperometry.stock]\nabsorbance = 0.468\nabsorptivity = "23.4 L/mol/cm"\nabsorptivity_uncertainty = 0.02\nabsorptivity_source = "measured here"\ndilution = 5.5\n'
    table = Findings(quantifies(maker.bench(stock), Findings(())).findings)
    # 0.468/(23.4 × 1 cm) is 20 mmol/L; times 5.5 it is 110 instead of the 100 mmol/L of the log.
    found = table.named("stock_concentration")[0]
    assert found.value == pytest.approx(110.0)
    assert found.standard_uncertainty == pytest.approx(110 * (0.02**2 + (0.002 / 0.468) ** 2) ** 0.5)
    assert table.named("sensitivity")[0].value == pytest.approx(plain.value / 1.1, rel=1e-6)
