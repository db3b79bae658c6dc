"""Study to findings: the only place that knows the order of the work."""

from __future__ import annotations

import hashlib
import os
import threading
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from halfcell.cache import Cache, code_fingerprint, key_of, user_cache
from halfcell.finding import Findings
from halfcell.pipeline.bench import Bench
from halfcell.pipeline.loading import load
from halfcell.pipeline.outcome import Analysis, Exhibit, Outcome
from halfcell.pipeline.pool import begin
from halfcell.pipeline.remembering import Memory
from halfcell.pipeline.stages import STAGES, work
from halfcell.pipeline.workers import Crew, Stopped

if TYPE_CHECKING:
    from halfcell.pipeline.decides import Decided
    from halfcell.study.study import Study

__all__ = ["Analysis", "Exhibit", "Outcome", "Stopped", "analyze"]


def analyze(
    study: Study | str | Path,
    *,
    cores: int | None = None,
    cache: Cache | None = None,
    progress: Callable[[str, int, int], None] | None = None,
    stop: threading.Event | None = None,
) -> Analysis:
    """Everything that can be found in a study, then the comparisons and the choice.

    ``cores`` defaults to all of the machine's; ``progress(what, done, of)`` is called as work is
    done; setting ``stop`` ends it with Stopped. Raises StudyError for a folder with mistakes; a
    file or method that fails becomes a problem of the analysis, never a missing number.
    """
    cache = user_cache() if cache is None else cache
    cores = cores or os.cpu_count() or 1
    folder = Path(study) if isinstance(study, (str, Path)) else study.folder
    analysed = key_of(code_fingerprint(), "analysed", str(folder.resolve()))
    if cores > 1 and cache.get(analysed) is None:
        begin()  # there will be much to do: workers make ready while the study is read
    if isinstance(study, (str, Path)):
        from halfcell.study import open_study

        study = open_study(study)
    files = dict.fromkeys(path for run in study.runs for path in (run.file, run.log) if path)
    hashes = {path: sha256_of(study.folder / path) for path in files}
    crew = Crew(
        folder=study.folder,
        loader=load,
        hashes=hashes,
        cache=cache,
        cores=cores,
        progress=progress,
        stop=stop,
        few=3,
    )
    attributes = {name: study.attributes(name) for name in study.file.electrodes}
    bench, so_far = Bench(study=study, crew=crew), Outcome()
    memory = Memory.of(bench)
    try:
        for stage in STAGES:
            table = Findings(so_far.findings, attributes)
            so_far = so_far.plus(memory.recall(stage, partial(work, stage, bench, table)))
        findings = Findings(so_far.findings, attributes)
        decided = memory.recall("decide", partial(_decide, bench, findings, so_far.exhibits))
    finally:
        crew.close()
    cache.put(analysed, True)
    cache.sweep()
    return Analysis(
        study=study,
        findings=findings.plus(decided.findings),
        exhibits=so_far.exhibits + decided.exhibits,
        problems=so_far.problems + decided.problems,
        comparisons=decided.comparisons,
        choice=decided.choice,
        files=hashes,
    )


def _decide(bench: Bench, findings: Findings, exhibits: tuple[Exhibit, ...]) -> Decided:
    from halfcell.pipeline.decides import decide

    return decide(bench, findings, exhibits)


def sha256_of(path: Path) -> str:
    """The sha256 of a file, or an empty text when it is not there."""
    try:
        with path.open("rb") as source:
            return hashlib.file_digest(source, "sha256").hexdigest()
    except OSError:
        return ""
