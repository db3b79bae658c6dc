"""Checks of what is asked of the electrodes: findings, limits, weights."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from halfcell.errors import Problem, UnitError
from halfcell.study.draft import STUDY, Draft
from halfcell.study.words import meant
from halfcell.units import parse
from halfcell.vocabulary import TERMS, Term

_LIMITS = ("at_most", "at_least")


def check_criteria(draft: Draft) -> Iterator[Problem]:
    """Every problem of [choice] and [comparison]."""
    choice = draft.toml.document.get("choice")
    choice = choice if isinstance(choice, dict) else {}
    for i, must in _entries(choice, "musts"):
        yield from _must(draft, must, f"choice.musts.{i}")
    wants = list(_entries(choice, "wants"))
    for i, want in wants:
        yield from _want(draft, want, f"choice.wants.{i}")
    weights = [want.get("weight", 1.0) for _, want in wants]
    if weights and all(w == 0 for w in weights):
        yield _wrong(
            draft,
            "choice.wants",
            "the weights of all wants are zero, so nothing can be ranked.",
            "weight = 1.0",
        )
    yield from _comparison(draft)


def _entries(table: dict[str, Any], key: str) -> Iterator[tuple[int, dict[str, Any]]]:
    entries = table.get(key)
    for i, entry in enumerate(entries if isinstance(entries, list) else (), 1):
        if isinstance(entry, dict):
            yield i, entry


def _term(draft: Draft, name: object, place: str) -> Iterator[Problem]:
    if isinstance(name, str) and name not in TERMS:
        what = f"{name!r} is not a finding; {meant(name, TERMS)}"
        example = next((f'finding = "{n}"' for n in TERMS if repr(n) in what), 'finding = "sensitivity"')
        yield Problem(file=STUDY, place=draft.toml.place(place), what=what, example=example)


def _wrong(draft: Draft, key: str, what: str, example: str) -> Problem:
    return Problem(file=STUDY, place=draft.toml.place(key), what=what, example=example)


def _must(draft: Draft, must: dict[str, Any], at: str) -> Iterator[Problem]:
    name = must.get("finding")
    yield from _term(draft, name, f"{at}.finding")
    term = TERMS.get(name) if isinstance(name, str) else None
    yield from _condition(draft, must.get("condition"), term, at)
    given = [key for key in (*_LIMITS, "equals") if must.get(key) is not None]
    if not given:
        limit = 'equals = "peak"' if term is not None and term.word else f'at_most = "{_example(term)}"'
        yield _wrong(draft, at, "a must needs a limit: at_most, at_least or equals.", limit)
    if term is None:
        return
    if term.word and set(given) & set(_LIMITS):
        what = f"{name!r} is a word and has no upper or lower limit; use equals."
        yield _wrong(draft, at, what, 'equals = "peak"')
        return
    if not term.word and "equals" in given:
        what = f"{name!r} is a number; use at_most or at_least."
        yield _wrong(draft, f"{at}.equals", what, f'at_most = "{_example(term)}"')
    word = must.get("equals")
    if term.words and isinstance(word, str) and word.casefold() not in term.words:
        what = f"{name!r} is never {word!r}; {meant(word, term.words)}"
        yield _wrong(draft, f"{at}.equals", what, f'equals = "{term.words[-1]}"')
    read = {}
    for key in _LIMITS:
        read[key], problems = _value(draft, must.get(key), term, f"{at}.{key}", key)
        yield from problems
    low, high = read["at_least"], read["at_most"]
    if low is not None and high is not None and low > high:
        what = f"at_least ({must['at_least']}) lies above at_most ({must['at_most']}), so nothing can pass."
        yield _wrong(draft, at, what, f'at_least = "{must["at_most"]}"')


def _condition(draft: Draft, given: object, term: Term | None, at: str) -> Iterator[Problem]:
    """Where a finding is about a confounder, its condition must name one of the study."""
    if term is None or term.place != "Confounds" or not isinstance(given, str) or not given:
        return
    known = sorted({"oxygen", *draft.names("confounders")})
    if any(name.casefold() in given.casefold() or given.casefold() in name.casefold() for name in known):
        return
    what = f"the condition {given!r} names no confounder of the study; {meant(given, known)}"
    near = next((name for name in known if repr(name) in what), known[0])
    yield _wrong(draft, f"{at}.condition", what, f'condition = "{near}"')


def _want(draft: Draft, want: dict[str, Any], at: str) -> Iterator[Problem]:
    name = want.get("finding")
    yield from _term(draft, name, f"{at}.finding")
    term = TERMS.get(name) if isinstance(name, str) else None
    if term is None:
        return
    yield from _condition(draft, want.get("condition"), term, at)
    if term.word:
        what = f"{name!r} is a word and cannot be more or less; make it a must."
        yield _wrong(draft, at, what, f'[[choice.musts]]  finding = "{name}"  equals = "peak"')
        return
    read = {}
    for key in ("low", "high", "target"):
        read[key], problems = _value(draft, want.get(key), term, f"{at}.{key}", key)
        yield from problems
    low, high, target = read["low"], read["high"], read["target"]
    if low is not None and high is not None and low >= high:
        what = f"low ({want['low']}) is not below high ({want['high']})."
        yield _wrong(draft, at, what, f'low = "{want["high"]}", high = "{want["low"]}"')
    elif target is not None and low is not None and high is not None and not low <= target <= high:
        what = f"the target ({want['target']}) does not lie between low ({want['low']}) and high ({want['high']})."
        yield _wrong(draft, at, what, f'target = "{want["low"]}"')
    if want.get("aim") == "target" and want.get("target") is None:
        yield _wrong(draft, at, 'aim is "target" but there is no target.', f'target = "{_example(term)}"')


def _value(
    draft: Draft, text: object, term: Term, place: str, key: str
) -> tuple[float | None, list[Problem]]:
    if not isinstance(text, str):  # absent, or the model has said so
        return None, []
    try:
        return parse(text, term.unit, example=_example(term)), []
    except UnitError as error:
        what = str(error).partition("; write it")[0].rstrip(".")
        what = f"{what}; {term.name} is in {term.unit if term.unit != '1' else 'plain numbers'}."
        return None, [
            Problem(
                file=STUDY, place=draft.toml.place(place), what=what, example=f'{key} = "{_example(term)}"'
            )
        ]


def _example(term: Term | None) -> str:
    return "20 umol/L" if term is None else ("2" if term.unit == "1" else f"20 {term.unit}")


def _comparison(draft: Draft) -> Iterator[Problem]:
    comparison = draft.toml.document.get("comparison")
    if not isinstance(comparison, dict):
        return
    findings = comparison.get("findings")
    for i, name in enumerate(findings if isinstance(findings, list) else (), 1):
        if isinstance(name, str) and name not in TERMS:
            what = f"entry {i}, {name!r}, is not a finding; {meant(name, TERMS)}"
            yield Problem(
                file=STUDY,
                place=draft.toml.place("comparison.findings"),
                what=what,
                example='findings = ["sensitivity"]',
            )
    margins = comparison.get("margins")
    for name, text in margins.items() if isinstance(margins, dict) else ():
        at = f"comparison.margins.{name}"
        if name not in TERMS:
            what = f"{name!r} is not a finding; {meant(name, TERMS)}"
            yield Problem(file=STUDY, place=draft.toml.place(at), what=what, example='sensitivity = "5 %"')
        elif isinstance(text, str) and not text.rstrip().endswith("%"):
            yield from _value(draft, text, TERMS[name], at, name)[1]
