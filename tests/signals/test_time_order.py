from __future__ import annotations

import numpy as np
import pytest

from halfcell.amperometry.steps import sample_steps
from halfcell.errors import MethodError
from halfcell.signals.time_order import must_not_fall
from halfcell.voltammetry.loading import charge_of
from halfcell.voltammetry.nucleation import fit_nucleation


def test_time_that_rises_or_rests_is_right() -> None:
    must_not_fall([0.0, 1.0, 1.0, 2.0])
    must_not_fall([])


def test_the_place_and_the_number_of_places_are_named() -> None:
    with pytest.raises(MethodError, match=r"sample 3 \(1 s, then 0\.5 s\), at 2 places"):
        must_not_fall([0.0, 1.0, 0.5, 2.0, 1.9])


def test_no_method_takes_rows_out_of_order_for_a_record() -> None:
    t = np.linspace(0.01, 10, 400)
    i = 1e-6 / np.sqrt(t)
    mixed = np.random.default_rng(5).permutation(t.size)
    for method in (charge_of, fit_nucleation, sample_steps):
        with pytest.raises(MethodError, match="Time falls back"):
            method(t[mixed], i[mixed])


def test_two_records_in_one_file_are_no_single_charge() -> None:
    t = np.tile(np.linspace(0, 10, 50), 2)
    with pytest.raises(MethodError, match="more than one record"):
        charge_of(t, np.ones_like(t))
