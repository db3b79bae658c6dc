from __future__ import annotations

import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from halfcell.cache import Cache
from halfcell.errors import HalfcellError, MethodError, Problem, ReadError, StudyError
from halfcell.pipeline import sha256_of
from halfcell.pipeline.workers import Crew, Job, Stopped, perform
from halfcell.results import Measured, same


def load(folder: Path, path: str, *, times: int = 1) -> str:
    """A loader for tests: the text of the file, some times over."""
    try:
        return (folder / path).read_text("utf-8") * times
    except OSError:
        raise ReadError(
            f"{path} is not there.", problems=(Problem(file=path, what="is not there."),)
        ) from None


def length(text: str, *, plus: int = 0) -> Measured:
    """A task: the length of a text. Leaves a mark each time it is really done."""
    if text.startswith("refuse"):
        raise MethodError("the text refuses (6 letters).")
    if text.startswith("fault"):
        raise ZeroDivisionError("oops")
    if text.startswith("mark "):
        with Path(text.split()[1]).open("a", encoding="utf-8") as out:
            out.write("x")
    return Measured(value=float(len(text) + plus))


def two(first: str, second: str) -> Measured:
    return Measured(value=float(len(first) - len(second)))


def crew(folder: Path, **options: object) -> Crew:
    files = [p.name for p in folder.iterdir() if p.is_file()]
    base: dict[str, object] = {
        "folder": folder, "loader": load, "hashes": {n: sha256_of(folder / n) for n in files}, "cache": Cache(folder / "cache"),
    }  # fmt: skip
    return Crew(**(base | options))  # type: ignore[arg-type]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in (("a", "one"), ("b", "three"), ("c", "refuse"), ("d", "seven!!")):
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def jobs(*names: str, **inputs: object) -> list[Job]:
    return [Job(files=((n, {}),), inputs=inputs) for n in names]


def test_results_come_in_order_and_problems_in_their_place(folder: Path) -> None:
    results = crew(folder).each(length, jobs("a", "c", "missing", "d"), what="Measuring")
    assert [getattr(r, "value", None) for r in results] == [3.0, None, None, 7.0]
    assert results[1] == Problem(file="c", what="the text refuses (6 letters).", severity="warning")
    assert results[2] == Problem(file="missing", what="is not there.")


def test_workers_give_the_same_as_one_core(folder: Path) -> None:
    several = crew(folder, cores=2, cache=Cache(None))
    try:
        parallel = several.each(length, jobs("a", "b", "c", "d"), what="Measuring")
    finally:
        several.close()
    assert same(
        parallel, crew(folder, cache=Cache(None)).each(length, jobs("a", "b", "c", "d"), what="Measuring")
    )
    assert several.pool == []


def test_nothing_is_done_twice(folder: Path) -> None:
    (folder / "m").write_text(f"mark {folder / 'marks'} ", encoding="utf-8")
    first = crew(folder).each(length, jobs("m"), what="Measuring")
    again = crew(folder).each(length, jobs("m"), what="Measuring")
    assert same(first, again)
    assert (folder / "marks").read_text() == "x"
    crew(folder).each(length, jobs("m", plus=1), what="Measuring")  # another setting
    assert (folder / "marks").read_text() == "xx"
    (folder / "m").write_text(f"mark {folder / 'marks'}  ", encoding="utf-8")  # another content
    crew(folder).each(length, jobs("m"), what="Measuring")
    assert (folder / "marks").read_text() == "xxx"
    crew(folder).each(length, [Job(files=(("m", {"times": 2}),))], what="Measuring")  # read in another way
    assert (folder / "marks").read_text() == "xxxx"


def test_a_problem_is_not_kept(folder: Path) -> None:
    assert isinstance(crew(folder).one(length, jobs("missing")[0], what="Measuring"), Problem)
    (folder / "missing").write_text("found", encoding="utf-8")
    assert crew(folder).one(length, jobs("missing")[0], what="Measuring").value == 5.0


def test_several_files_in_a_job(folder: Path) -> None:
    assert crew(folder).one(two, Job(files=(("b", {}), ("a", {}))), what="Comparing").value == 2.0


def test_progress_counts_also_what_was_known(folder: Path) -> None:
    told: list[tuple[str, int, int]] = []
    for _ in range(2):
        told.clear()
        crew(folder, progress=lambda *said: told.append(said)).each(length, jobs("a", "b"), what="Measuring")
        assert told[-1] == ("Measuring", 2, 2)
    assert told == [("Measuring", 2, 2)]


def test_stopping_keeps_what_was_finished(folder: Path) -> None:
    stop = threading.Event()

    def after_one(_what: str, done: int, _of: int) -> None:
        if done == 1:
            stop.set()

    with pytest.raises(Stopped, match="kept"):
        crew(folder, progress=after_one, stop=stop).each(length, jobs("a", "b", "d"), what="Measuring")
    told: list[int] = []
    crew(folder, progress=lambda _w, done, _of: told.append(done)).each(
        length, jobs("a", "b", "d"), what="Measuring"
    )
    assert told[0] in {1, 2}


def test_a_fault_of_the_program_is_not_hidden_and_does_not_end_the_rest(folder: Path) -> None:
    (folder / "f").write_text("fault", encoding="utf-8")
    fault, good = crew(folder).each(length, jobs("f", "a"), what="Measuring")
    assert isinstance(fault, Problem)
    assert fault.severity == "error"
    assert "a fault of halfcell (ZeroDivisionError" in fault.what
    assert not isinstance(good, Problem)


def test_perform_names_what_it_is_about(folder: Path) -> None:
    said = perform(length, folder, load, Job(files=(("c", {}),), about="Ni-1"))
    assert said.file == "Ni-1"

    def broken(_text: str) -> None:
        raise StudyError("two", problems=(Problem(file="x", what="first"), Problem(file="x", what="second")))

    assert perform(broken, folder, load, Job(files=(("a", {}),))).what == "first second"


def killed(text: str) -> Measured:
    """A task whose process the system ends."""
    if text.startswith("three"):
        import os

        os._exit(9)
    return Measured(value=1.0)


def test_a_killed_worker_ends_as_a_sentence(folder: Path) -> None:
    several = crew(folder, cores=2)
    try:
        with pytest.raises(HalfcellError, match="want of memory"):
            several.each(killed, jobs("a", "b", "d"), what="Measuring")
    finally:
        several.close()


SCRIPT = """
from pathlib import Path
from test_workers import crew, jobs, length
print("once", flush=True)
several = crew(Path({folder!r}), cores=2)
print([r.value for r in several.each(length, jobs("a", "b"), what="Measuring")])
several.close()
"""


def test_a_script_without_a_guard_runs_once(folder: Path) -> None:
    (folder / "script.py").write_text(SCRIPT.format(folder=str(folder)), encoding="utf-8")
    path = os.pathsep.join([str(Path(__file__).parent), *sys.path])
    ended = subprocess.run(
        [sys.executable, str(folder / "script.py")],
        capture_output=True,
        text=True,
        check=True,
        env=os.environ | {"PYTHONPATH": path},
    )
    assert ended.stdout.split("\n")[:2] == ["once", "[3.0, 5.0]"]
