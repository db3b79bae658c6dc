"""An unchanged study is not worked through twice; a failed piece of work is tried again."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import halfcell.pipeline as pipeline
import halfcell.pipeline.workers as workers
from halfcell.cache import Cache
from halfcell.demo import write
from halfcell.demo.plan import BARE, Plan
from halfcell.finding import Findings
from halfcell.pipeline import Outcome, analyze
from halfcell.pipeline.bench import Bench
from halfcell.results import same


@pytest.fixture
def study(tmp_path: Path) -> Path:
    plan = Plan(materials=((BARE, 2),), blank_rates=(0.05, 0.1), cycles=1, levels=(0.05, 0.1, 0.15))
    write(tmp_path / "study", plan=plan)
    text = (tmp_path / "study" / "study.toml").read_text(encoding="utf-8")
    (tmp_path / "study" / "study.toml").write_text(
        text[: text.index("\n# What the electrode must do")], encoding="utf-8"
    )
    return tmp_path / "study"


def test_an_unchanged_study_gives_the_same_without_work(
    study: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cache = Cache(tmp_path / "cache")
    first = analyze(study, cache=cache, cores=1)

    def none(*_: object, **__: object) -> None:
        raise AssertionError("work was done twice")

    monkeypatch.setattr(workers, "perform", none)
    again = analyze(study, cache=cache, cores=1)
    assert again.findings.json() == first.findings.json()
    assert again.problems == first.problems
    assert all(same(dict(a.data), dict(b.data)) for a, b in zip(first.exhibits, again.exhibits, strict=True))


def test_a_changed_setting_or_file_is_seen(study: Path, tmp_path: Path) -> None:
    cache = Cache(tmp_path / "cache")
    first = analyze(study, cache=cache, cores=1)
    text = (study / "study.toml").read_text(encoding="utf-8")
    (study / "study.toml").write_text(
        text.replace('area = "0.0707 cm^2"', 'area = "0.1414 cm^2"'), encoding="utf-8"
    )
    other = analyze(study, cache=cache, cores=1)
    before = first.findings.named("double_layer_capacitance", electrode="SPC-1")[0].value
    after = other.findings.named("double_layer_capacitance", electrode="SPC-1")[0].value
    assert after == pytest.approx(before / 2, rel=1e-6)


def test_a_file_that_cannot_be_read_is_tried_again(study: Path, tmp_path: Path) -> None:
    cache = Cache(tmp_path / "cache")
    path = study / "data" / "SPC-1_additions.csv"
    kept = path.read_bytes()
    path.write_bytes(b"nothing here\n")
    broken = analyze(study, cache=cache, cores=1)
    assert any("SPC-1_additions" in str(p) for p in broken.problems)
    path.write_bytes(kept)
    mended = analyze(study, cache=cache, cores=1)
    assert mended.findings.named("plateau_current", electrode="SPC-1")


def test_a_changed_file_is_worked_through_and_nothing_else(
    study: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cache = Cache(tmp_path / "cache")
    analyze(study, cache=cache, cores=1)
    done: list[tuple[str, tuple[str, ...]]] = []
    perform = workers.perform

    def seen(task: Callable[..., Any], folder: Path, loader: Any, job: workers.Job) -> Any:
        done.append((task.__name__, tuple(path for path, _ in job.files)))
        return perform(task, folder, loader, job)

    stages: list[str] = []
    work = pipeline.work

    def stage(name: str, bench: Bench, findings: Findings) -> Outcome:
        stages.append(name)
        return work(name, bench, findings)

    monkeypatch.setattr(workers, "perform", seen)
    monkeypatch.setattr(pipeline, "work", stage)
    path = study / "data" / "SPC-1_additions.csv"
    path.write_bytes(path.read_bytes() + b"\n")
    analyze(study, cache=cache, cores=1)
    assert {name for name, _ in done} == {"additions_of"}
    assert all("data/SPC-1_additions.csv" in files for _, files in done)
    assert stages == ["quantifies", "confounds"]
