from __future__ import annotations

import importlib
import pickle
import pkgutil

import pytest

import halfcell
from halfcell.errors import HalfcellError, Problem, as_problem


def every_error() -> list[type[HalfcellError]]:
    """All error classes of the package, wherever they are defined."""
    for module in pkgutil.walk_packages(halfcell.__path__, "halfcell."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    found, todo = [], [HalfcellError]
    while todo:
        kind = todo.pop()
        found.append(kind)
        todo += kind.__subclasses__()
    return [k for k in found if k.__module__.startswith("halfcell.")]


def test_every_error_pickles_with_its_text_and_parts() -> None:
    kinds = every_error()
    assert len(kinds) >= 6
    problems = (Problem(file="runs.csv", place="row 3", what="is wrong.", example="right"),)
    for kind in kinds:
        error = kind("what happened", problems=problems)
        for protocol in range(pickle.HIGHEST_PROTOCOL + 1):
            back = pickle.loads(pickle.dumps(error, protocol))
            assert type(back) is kind
            assert str(back) == "what happened"
            assert back.problems == problems
            assert isinstance(back, ValueError)


def test_every_error_says_what_it_is_for() -> None:
    assert all(kind.__doc__ and "HalfcellError(" not in kind.__doc__ for kind in every_error())


@pytest.mark.parametrize(
    ("problem", "text"),
    [
        (
            Problem(file="runs.csv", place="row 3", what="is wrong.", example="right"),
            "runs.csv: row 3: is wrong. Example: right",
        ),
        (Problem(file="runs.csv", what="is wrong."), "runs.csv: is wrong."),
        (Problem(file="", what="is wrong."), "is wrong."),
    ],
)
def test_a_problem_reads_as_a_sentence(problem: Problem, text: str) -> None:
    assert str(problem) == text


def test_an_error_as_one_problem_says_everything_and_the_name_once() -> None:
    plain = as_problem(HalfcellError("data/a.csv: is empty."), about="data/a.csv")
    assert (plain.file, plain.what, plain.severity) == ("data/a.csv", "is empty.", "warning")
    two = tuple(Problem(file="a.csv", place=f"row {k}", what=f"wrong {k}.") for k in (1, 2))
    assert (
        as_problem(HalfcellError("x", problems=two), about="a.csv").what == "row 1: wrong 1. row 2: wrong 2."
    )
    one = (Problem(file="a.csv", place="row 1", what="a.csv: wrong.", example="right"),)
    told = as_problem(HalfcellError("x", problems=one), about="b")
    assert str(told) == "a.csv: row 1: wrong. Example: right"
