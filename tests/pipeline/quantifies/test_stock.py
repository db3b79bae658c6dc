"""The added solution as standardised, diluted and decayed, in the study file and in what rests on it."""

from __future__ import annotations

import math

import pytest

from halfcell.errors import StudyError
from halfcell.finding import Findings
from halfcell.pipeline.quantifies import quantifies

TITRATION = """
[analysis.amperometry.stock]
titrant = "20 mmol/L"
titrant_uncertainty = 0.03
titrant_source = "oxalate, invented"
titrant_volume = "12.5 mL"
titrant_volume_uncertainty = 0.04
titrated_volume = "5 mL"
titrated_volume_uncertainty = 0.0
ratio = 2.5
"""
STATED = """
[analysis.amperometry.stock]
concentration = "2 mol/L"
concentration_uncertainty = 0.03
concentration_source = "weighed, invented"
"""
DILUTED = """
[[analysis.amperometry.stock.dilutions]]
taken = "5 mL"
made_up_to = "50 mL"
taken_uncertainty = 0.04
made_up_to_uncertainty = 0.0
"""
DECAYED = """half_life = "10 h"
half_life_uncertainty = 0.1
decayed_for = "20 h"
"""


def _table(maker, keys: str = "") -> Findings:
    return Findings(quantifies(maker.bench(keys), Findings(())).findings)


@pytest.fixture
def one(maker):
    maker.electrode("Ni-1", "nickel")
    maker.additions("Ni-1", 20e-6)
    return maker


def test_titration(one) -> None:
    plain = _table(one).named("sensitivity")[0]
    table = _table(one, TITRATION)
    # 2.5 × 20 × 12.5/5 is 125 mmol/L in place of the log's 100; 3 % and 4 % are 5 %.
    stock = table.named("stock_concentration")[0]
    assert (stock.value, stock.standard_uncertainty) == pytest.approx((125.0, 6.25))
    assert stock.method == "stock by titration"
    assert any("oxalate" in note for note in stock.notes)
    found = table.named("sensitivity")[0]
    assert found.value == pytest.approx(plain.value / 1.25, rel=1e-9)
    own = plain.standard_uncertainty / plain.value
    assert found.standard_uncertainty / found.value == pytest.approx(math.hypot(own, 0.05), rel=1e-9)
    assert not table.named("added_concentration")


def test_dilutions_and_decay(one) -> None:
    table = _table(one, STATED + DECAYED + DILUTED)
    assert table.named("stock_concentration")[0].value == pytest.approx(2000)
    # A tenth of 2 mol/L, of which two half-lives leave a quarter: 50 mmol/L in place of the log's 100. 3 %, 4 % and 2 ln 2 × 10 % add in quadrature.
    added = table.named("added_concentration")[0]
    assert added.value == pytest.approx(50)
    assert added.standard_uncertainty / 50 == pytest.approx(math.sqrt(0.0025 + (0.2 * math.log(2)) ** 2))
    assert table.named("sensitivity")[0].value == pytest.approx(2 * _table(one).named("sensitivity")[0].value)


def test_a_log_of_weaker_solutions_only_is_no_stock(maker) -> None:
    for name in ("N-1", "N-2"):
        maker.electrode(name, "nickel")
        maker.additions(name, 20e-6)
    log = maker.folder / "data" / "N-2_additions_log.csv"
    log.write_text(log.read_text("utf-8").replace(";100", ";50"), "utf-8")
    plain, out = _table(maker), quantifies(maker.bench(STATED.replace("2 mol/L", "0.2 mol/L")), Findings(()))
    for name in ("N-1", "N-2"):
        a, b = (t.named("sensitivity", electrode=name)[0] for t in (plain, Findings(out.findings)))
        assert b.value == pytest.approx(a.value / 2)
    told = {p.file: p.what for p in out.problems}
    assert "50 mmol/L" in told["data/N-2_additions_log.csv"]
    assert "100 mmol/L" in told["data/N-2_additions_log.csv"]
    assert "200 mmol/L" in told["study.toml"]
    assert "100 mmol/L" in told["study.toml"]
    assert "data/N-1_additions_log.csv" not in told


@pytest.mark.parametrize(("stated", "told"), [("0.119 mol/L", False), ("0.081 mol/L", False), ("0.121 mol/L", True), ("0.079 mol/L", True)])  # fmt: skip
def test_a_stock_far_from_the_logs_is_told(one, stated: str, told: bool) -> None:
    problems = quantifies(one.bench(STATED.replace("2 mol/L", stated)), Findings(())).problems
    assert any(p.file == "study.toml" and "stock" in p.place for p in problems) == told


def test_the_stock_is_no_scatter_between_levels(one) -> None:
    plain, table = _table(one), _table(one, STATED + DECAYED + DILUTED)
    assert not table.named("sensitivity_errors_in_x")
    for name in ("residual_sd", "intercept"):
        a, b = plain.named(name)[0], table.named(name)[0]
        assert (b.value, b.standard_uncertainty) == pytest.approx((a.value, a.standard_uncertainty))
    relative = math.sqrt(0.0025 + (0.2 * math.log(2)) ** 2)
    a, b = plain.named("limit_of_detection")[0], table.named("limit_of_detection")[0]
    assert b.value == pytest.approx(a.value / 2)
    assert b.standard_uncertainty == pytest.approx(math.hypot(a.standard_uncertainty / 2, b.value * relative))
    far, near = (x.settings["interval high"] - x.value for x in (b, a))
    assert far == pytest.approx(math.hypot(near / 2, 1.959964 * relative * b.value), rel=1e-5)


def test_averaging_does_not_reduce_what_electrodes_share(maker) -> None:
    for k, slope in enumerate((19, 20, 21, 20.5)):
        maker.electrode(f"N-{k}", "nickel")
        maker.additions(f"N-{k}", slope * 1e-6)
    plain, table = _table(maker), _table(maker, "stock_uncertainty = 0.05\n")
    for name in ("mean_sensitivity", "mixed_sensitivity"):
        a, b = plain.named(name)[0], table.named(name)[0]
        assert b.standard_uncertainty == pytest.approx(math.hypot(a.standard_uncertainty, 0.05 * a.value))
    a, b = (t.named("between_electrode_rsd")[0] for t in (plain, table))
    assert (b.value, b.standard_uncertainty) == pytest.approx((a.value, a.standard_uncertainty))


def test_errors_in_x_come_from_the_levels_own_errors(one) -> None:
    a = _table(one, "volume_uncertainty = 0.05\n").named("sensitivity_errors_in_x")[0]
    both = "volume_uncertainty = 0.05\nstock_uncertainty = 0.05\n"
    b = _table(one, both).named("sensitivity_errors_in_x")[0]
    assert b.value == pytest.approx(a.value)
    assert b.standard_uncertainty == pytest.approx(math.hypot(a.standard_uncertainty, 0.05 * a.value))


@pytest.mark.parametrize(
    ("keys", "what"),
    [
        (TITRATION.replace('titrated_volume = "5 mL"\n', ""), "titration needs .*titrated_volume = "),
        (STATED.replace("concentration_uncertainty = 0.03\n", ""), "concentration_uncertainty = 0.005"),
        (STATED + "absorbance = 0.4\n", "more than one"),
        (STATED + "ratio = 2.0\n", "titration: ratio"),
        (STATED + 'half_life = "10 h"\n', "the decay needs .*half_life_uncertainty = 0.1, decayed_for"),
        (
            STATED + DECAYED.replace('half_life = "10 h"', 'half_life = "0 h"'),
            "'half_life' must be above zero",
        ),
        (STATED + DILUTED.replace("50 mL", "2 mL"), "5 mL made up to 2 mL cannot be"),
        ("\n[analysis.amperometry.stock]\n" + DECAYED, "nothing says what the stock holds"),
    ],
)
def test_half_given_keys_are_named(one, keys: str, what: str) -> None:
    with pytest.raises(StudyError, match=what):
        one.bench(keys)
