"""What a stock solution really holds: by absorbance or titration, through dilutions, and as it decays."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halfcell.errors import MethodError
from halfcell.results import Measured, effective_df


def by_absorbance(absorbance: Measured, absorptivity: Measured, path: Measured) -> Measured:
    """Concentration in mol/m³ from an absorbance, an absorptivity in m²/mol and a path in m.

    1 L/(mol cm) is 0.1 m²/mol. Absorptivities in use differ by as much as a tenth (for hydrogen peroxide at
    240 nm 43.6 and 39.4 L/(mol cm)): state where the value comes from, and its uncertainty.

    Raises MethodError for values that are not positive. Source: Lambert–Beer law; JCGM 100:2008, 5.1.6.
    """
    if min(absorbance.value, absorptivity.value, path.value) <= 0:
        raise MethodError("Absorbance, absorptivity and path must be positive.")
    return _product(absorbance.value / (absorptivity.value * path.value), [absorbance, absorptivity, path])


def by_titration(titre: Measured, volume: Measured, sample: Measured, *, ratio: float = 1.0) -> Measured:
    """Concentration in mol/m³ from a titrant of ``titre`` mol/m³, its ``volume`` and the ``sample``'s in m³.

    ``ratio`` is moles of analyte a mole of titrant. Raises MethodError for values that are not positive.
    Source: stoichiometry; JCGM 100:2008, 5.1.6.
    """
    if min(titre.value, volume.value, sample.value, ratio) <= 0:
        raise MethodError("Titre, volumes and ratio must be positive.")
    return _product(ratio * titre.value * volume.value / sample.value, [titre, volume, sample])


def diluted(stock: Measured, steps: Sequence[tuple[Measured, Measured]]) -> Measured:
    """A stock after dilution steps, each (volume taken, volume made up to) in m³.

    Raises MethodError when a volume is not positive or more is taken than made. Source: JCGM 100:2008, 5.1.6.
    """
    value, parts = stock.value, [stock]
    for taken, made in steps:
        if not 0 < taken.value <= made.value:
            raise MethodError(f"A dilution from {taken.value:g} to {made.value:g} m³ cannot be.")
        value *= taken.value / made.value
        parts += [taken, made]
    return _product(value, parts)


def decayed(stock: Measured, rate: Measured, time: float) -> Measured:
    """A stock of first-order decay ``rate`` 1/s after ``time`` s: c·e^(−kt).

    Raises MethodError for a time before the standardisation. Source: first-order kinetics; JCGM 100:2008, 5.1.2.
    """
    if time < 0:
        raise MethodError("A stock cannot be used before it was standardised.")
    left = math.exp(-rate.value * time)
    u = math.hypot(left * stock.u, stock.value * left * time * rate.u)
    df = effective_df([(left * stock.u, stock.df), (stock.value * left * time * rate.u, rate.df)])
    return Measured(value=stock.value * left, u=u, df=df)


def _product(value: float, parts: Sequence[Measured]) -> Measured:
    """A product or quotient of independent numbers: relative variances add."""
    shares = [(abs(value) * p.u / abs(p.value), p.df) for p in parts]
    return Measured(value=value, u=math.sqrt(sum(u * u for u, _ in shares)), df=effective_df(shares))
