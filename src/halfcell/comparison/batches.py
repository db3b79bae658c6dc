"""What counts as independent: electrodes, or the batches they were made in.

Electrodes of one batch share whatever that batch had, so where every group was made in two or more
batches, batches are the independent values and electrodes are parts of them. Where a group comes
from one batch its scatter between batches is unknown, which is said.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from halfcell.comparison.samples import Group, Sample, Samples
from halfcell.results import read_only

if TYPE_CHECKING:
    from halfcell.results import FloatArray

ELECTRODES, BATCHES = "electrodes", "batches"


def batched(group: Group) -> bool:
    """Whether a group was made in two or more batches with more electrodes than batches."""
    known = {s.batch for s in group.samples}
    return "" not in known and 1 < len(known) < len(group.samples)


def independent(samples: Samples) -> str:
    """ "batches" where every group has two or more of them and some hold several electrodes, else "electrodes"."""
    several = [g for g in samples.groups if len({s.batch for s in g.samples} - {""}) > 1]
    if len(several) == len(samples.groups) and any(batched(g) for g in samples.groups):
        return BATCHES
    return ELECTRODES


def merged(group: Group) -> Group:
    """The group with one value a batch: the mean of its electrodes."""
    by_batch: dict[str, list[Sample]] = {}
    for s in group.samples:
        by_batch.setdefault(s.batch, []).append(s)
    return Group(name=group.name, samples=tuple(_batch(name, parts) for name, parts in by_batch.items()))


def _batch(name: str, parts: Sequence[Sample]) -> Sample:
    values = np.array([p.value for p in parts])
    if len(parts) == 1:
        u, df = parts[0].u, parts[0].df
    else:
        u, df = float(values.std(ddof=1)) / math.sqrt(len(parts)), len(parts) - 1
    return Sample(
        electrode=f"batch {name}",
        value=float(values.mean()),
        u=u,
        df=df,
        batch=name,
        text=parts[0].text if len({p.text for p in parts}) == 1 else "",
        parts=read_only(values),
        findings=tuple(k for p in parts for k in p.findings),
        recordings=tuple(dict.fromkeys(r for p in parts for r in p.recordings)),
    )


def shared_table(groups: Sequence[Group]) -> FloatArray | None:
    """(groups, batches) table of batch means where every two groups share three or more batches, else None."""
    names = sorted({s.batch for g in groups for s in g.samples} - {""})
    table = np.full((len(groups), len(names)), math.nan)
    for i, group in enumerate(groups):
        for j, name in enumerate(names):
            values = [s.value for s in group.samples if s.batch == name]
            if values:
                table[i, j] = float(np.mean(values))
    have = np.isfinite(table)
    enough = all((have[i] & have[j]).sum() >= 3 for i in range(len(groups)) for j in range(i))
    return read_only(table) if len(groups) > 1 and enough else None


def cautions(groups: Sequence[Group]) -> tuple[str, ...]:
    """What batches leave unknown where electrodes are taken as independent."""
    made = {g.name: {s.batch for s in g.samples} - {""} for g in groups}
    single = [name for name, batches in made.items() if len(batches) == 1]
    if not single:
        return ()
    if len(single) == len(made) > 1 and len(set.union(*made.values())) == len(made):
        return (
            "every group was made in a batch of its own, so that a difference between groups may be one between batches",
        )
    return (
        f"all electrodes of {', '.join(single)} are of one batch, so that its scatter between batches is unknown",
    )
