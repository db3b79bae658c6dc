"""Whole stages kept by what they rest on, so that an unchanged study is not worked through twice."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar

from halfcell.cache import code_fingerprint, key_of

if TYPE_CHECKING:
    from halfcell.pipeline.bench import Bench

Kept = TypeVar("Kept")


@dataclass(slots=True, kw_only=True)
class Memory:
    """The outcome of a stage, from the cache where its study was analysed before.

    A stage rests on the study file, the rows of runs.csv, the logs, the adjustments, halfcell's own code,
    the stages before it, and the bytes of those files that it read when it was last worked through: a
    changed voltammogram leaves what rests on micrographs alone. Nothing is kept once a piece of work
    has failed, because it may have failed for a reason that passes.
    """

    bench: Bench
    rests_on: str
    """What all stages rest on, and the stages so far."""
    begun: bool = field(default=False)

    @classmethod
    def of(cls, bench: Bench) -> Memory:
        """The memory of a study."""
        study = bench.study
        rests_on = key_of(
            code_fingerprint(),
            {run.log: bench.crew.hashes.get(run.log, "") for run in study.runs if run.log},
            study.file.model_dump(),
            [run.model_dump() for run in study.runs],
            [decision.model_dump() for decision in study.adjustments],
        )
        return cls(bench=bench, rests_on=rests_on)

    def recall(self, name: str, work: Callable[[], Kept]) -> Kept:
        """What ``work`` gives, kept under the stage's name; stages are asked for in their order."""
        crew = self.bench.crew
        place = key_of(self.rests_on, name)
        files: tuple[str, ...] | None = None if crew.failed else crew.cache.get(place)
        if files is not None:
            key = self._key(place, files)
            known: Kept | None = crew.cache.get(key)
            if known is not None:
                self.rests_on = key
                return known
        elif not self.begun:
            # Nothing is known of a study like this: there will be much to do.
            crew.prepare()
        self.begun = True
        crew.read.clear()
        result = work()
        read = tuple(sorted(crew.read))
        self.rests_on = self._key(place, read)
        if not crew.failed:
            crew.cache.put(self.rests_on, result)
            crew.cache.put(place, read)
        return result

    def _key(self, place: str, files: tuple[str, ...]) -> str:
        hashes = self.bench.crew.hashes
        return key_of(place, {path: hashes.get(path, "") for path in files})
