"""Tables of findings made from a known truth, without files."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from halfcell.choice.criteria import Criteria, Must, Want
from halfcell.finding import Finding, Findings

UNITS = {"sensitivity": "uA/(mmol/L)", "limit_of_detection": "umol/L", "false_concentration": "umol/L"}


def finding(
    name: str, electrode: str, value: float, u: float = 0.05, condition: str = "", text: str = ""
) -> Finding:
    return Finding(
        name=name,
        value=value,
        standard_uncertainty=u,
        degrees_of_freedom=10,
        unit=UNITS.get(name, "1"),
        electrode=electrode,
        group=electrode.partition("-")[0],
        condition=condition,
        text=text,
        recordings=(f"data/{electrode}_{name}.csv",),
        method="a method",
        source="a source",
    )


def study(
    truth: Mapping[str, Mapping[str, tuple[float, float]]],
    *,
    n: int | Mapping[str, int] = 4,
    seed: int = 0,
    words: Mapping[str, Sequence[str]] | None = None,
    roles: Mapping[str, str] | None = None,
) -> Findings:
    """``truth``: material to finding (or "finding @ condition") to (true mean, scatter between electrodes).

    ``words`` gives each material's response classes in turn.
    """
    rng = np.random.default_rng(seed)
    rows, attributes = [], {}
    for material, values in truth.items():
        count = n if isinstance(n, int) else n[material]
        for i in range(count):
            electrode = f"{material}-{i + 1}"
            attributes[electrode] = {
                "material": material,
                "role": (roles or {}).get(material, "candidate"),
                "batch": "1",
            }
            for key, (mean, s) in values.items():
                name, _, condition = key.partition(" @ ")
                rows.append(finding(name, electrode, float(rng.normal(mean, s)), 0.05 * s, condition))
            if words:
                word = words[material][i % len(words[material])]
                rows.append(finding("response_class", electrode, 0.999, text=word))
    return Findings(tuple(rows), attributes)


def usual(
    *, oxygen: float = 20.0, lod: float | None = None, weights: tuple[float, float] = (1.0, 1.0)
) -> Criteria:
    """Musts on oxygen (and the limit of detection), wants on sensitivity and limit of detection."""
    musts = [Must(finding="false_concentration", condition="oxygen", at_most=oxygen, unit="umol/L")]
    if lod is not None:
        musts.append(Must(finding="limit_of_detection", at_most=lod, unit="umol/L"))
    wants = (
        Want(
            finding="sensitivity", aim="maximise", low=0.0, high=40.0, unit="uA/(mmol/L)", weight=weights[0]
        ),
        Want(
            finding="limit_of_detection", aim="minimise", low=0.0, high=10.0, unit="umol/L", weight=weights[1]
        ),
    )
    return Criteria(musts=tuple(musts), wants=wants)
