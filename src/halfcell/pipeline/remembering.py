"""Whole stages kept by what they rest on, so that an unchanged study is not worked through twice."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from halfcell.cache import code_fingerprint, key_of

if TYPE_CHECKING:
    from halfcell.pipeline.bench import Bench

Kept = TypeVar("Kept")


@dataclass(frozen=True, slots=True, kw_only=True)
class Memory:
    """The outcome of a stage, from the cache where its study was analysed before.

    A stage rests on the bytes of all files, the study file, the rows of runs.csv, the adjustments and
    halfcell's own code. Nothing is kept once a piece of work has failed, because it may have failed for
    a reason that passes.
    """

    bench: Bench
    rests_on: str

    @classmethod
    def of(cls, bench: Bench) -> Memory:
        """The memory of a study."""
        study = bench.study
        rests_on = key_of(
            code_fingerprint(),
            dict(bench.crew.hashes),
            study.file.model_dump(),
            [run.model_dump() for run in study.runs],
            [decision.model_dump() for decision in study.adjustments],
        )
        return cls(bench=bench, rests_on=rests_on)

    def recall(self, name: str, work: Callable[[], Kept]) -> Kept:
        """What ``work`` gives, kept under the stage's name."""
        crew = self.bench.crew
        key = key_of(self.rests_on, name)
        if not crew.failed:
            known: Kept | None = crew.cache.get(key)
            if known is not None:
                return known
        result = work()
        if not crew.failed:
            crew.cache.put(key, result)
        return result
