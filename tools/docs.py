"""Write the generated pages of docs/, or say which are stale.

    python tools/docs.py            writes them
    python tools/docs.py --check    says which are stale; exit code 1 if any

Every page is made from the code alone (command objects, vocabulary, methods, the study's model, the
tests' marks), so that it is the same on every machine: no terminal, width, colour, locale or clock is asked.
"""

from __future__ import annotations

import argparse
import ast
import inspect
import sys
import typing
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
MADE_BY = "<!-- Written by tools/docs.py; change its source, then run: python tools/docs.py -->\n\n"


def main(arguments: Sequence[str] | None = None) -> int:
    wanted = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    wanted.add_argument(
        "--check", action="store_true", help="write nothing; exit code 1 when a page is stale"
    )
    check = wanted.parse_args(arguments).check
    stale = 0
    for name, make in PAGES.items():
        path, text = ROOT / "docs" / name, MADE_BY + make()
        if path.exists() and path.read_text("utf-8") == text:
            continue
        if check:
            stale += 1
            print(f"docs/{name} is stale; mend it with: python tools/docs.py")
        else:
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, "utf-8", newline="\n")
            print(f"docs/{name} written")
    return 1 if stale else 0


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    lines += ["| " + " | ".join(cell(c) for c in row) + " |" for row in rows]
    return "\n".join(lines) + "\n"


def cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|").replace("<", "&lt;")


# --- the command line -------------------------------------------------------------------------------------


def cli_page() -> str:
    from importlib import import_module

    from halfcell.cli import EPILOG, verbs

    commands = {verb: import_module(f"halfcell.cli.{verb}").command for verb in verbs()}
    parts = [
        "# The command line\n",
        "Each verb answers `--help`. Results go to standard output, progress and problems to standard error; "
        "a progress bar is drawn on a terminal only.\n",
        f"{EPILOG}\n",
        table(
            ("verb", "what it does"),
            [(f"[{v}](#halfcell-{v})", first_sentence(c.__doc__)) for v, c in commands.items()],
        ),
    ]
    parts += [verb_section(verb, command) for verb, command in commands.items()]
    return "\n".join(parts)


def verb_section(verb: str, command: Callable[..., Any]) -> str:
    """One verb, read from its function's annotations: what the terminal shows also depends on the terminal."""
    given = list(parameters(command))
    arguments, options = [p for p in given if not p.option], [p for p in given if p.option]
    usage = " ".join(
        [
            "halfcell",
            verb,
            *(p.name if p.required else f"[{p.name}]" for p in arguments),
            *(["[OPTIONS]"] if options else []),
        ]
    )
    text = [f"## halfcell {verb}\n", f"    {usage}\n", inspect.cleandoc(command.__doc__ or "") + "\n"]
    if arguments:
        text.append(table(("argument", "what it is"), [(f"`{p.name}`", p.help) for p in arguments]))
    if options:
        text.append(table(("option", "what it does"), [(f"`{p.name}`", p.help) for p in options]))
    return "\n".join(text)


@dataclass(frozen=True)
class Parameter:
    """An argument or option as its verb declares it."""

    name: str
    help: str
    option: bool
    required: bool


def parameters(command: Callable[..., Any]) -> Iterator[Parameter]:
    hints = typing.get_type_hints(command, include_extras=True)
    for name, parameter in inspect.signature(command).parameters.items():
        kind, info = typing.get_args(hints[name])[:2]
        default, required = parameter.default, parameter.default is inspect.Parameter.empty
        if type(info).__name__ == "ArgumentInfo":
            shown = str(info.metavar or name.upper()).strip("[]{}")
            yield Parameter(shown, info.help or "", option=False, required=required)
            continue
        said = (info.help or "").rstrip()
        if isinstance(default, (int, float, str)) and not isinstance(default, bool) and default != "":
            said += f" Default: {default}."
        yield Parameter(option_words(name, kind, info), said, option=True, required=required)


def option_words(name: str, kind: Any, info: Any) -> str:
    declared = [
        d for d in (info.default, *(info.param_decls or ())) if isinstance(d, str) and d.startswith("-")
    ]
    plain = "--" + name.replace("_", "-")
    if kind is bool:
        return ", ".join(declared) if declared else f"{plain} / --no-{plain[2:]}"
    words = {int: "NUMBER", float: "NUMBER", Path: "PATH"}
    inner = [k for k in typing.get_args(kind) if k is not type(None)] or [kind]
    return ", ".join(declared or [plain]) + " " + words.get(inner[0], "TEXT")


def first_sentence(text: str | None) -> str:
    return " ".join(inspect.cleandoc(text or "").split("\n\n")[0].split())


# --- findings and methods ---------------------------------------------------------------------------------


def findings_page() -> str:
    from halfcell.report.tables import PLACES
    from halfcell.units import pretty
    from halfcell.vocabulary import TERMS

    parts = [
        "# Findings\n",
        "Every figure of merit halfcell can find, by the question it answers. Each comes with a standard uncertainty and degrees of "
        "freedom where they exist, the electrode and recordings it rests on, its method with a published source, and the settings used. "
        "The names are those of criteria in `study.toml`, of `halfcell why`, and of the columns of `findings.csv`.\n",
    ]
    for place in PLACES:
        terms = sorted((t for t in TERMS.values() if t.place == place), key=lambda t: t.name)
        if terms:
            rows = [
                (
                    f"`{t.name}`",
                    t.label,
                    "a word" if t.word else (pretty(t.unit) or "1") if t.unit else "of the finding",
                    t.meaning,
                    t.better,
                )
                for t in terms
            ]
            parts += [f"## {place}\n", table(("name", "words", "unit", "meaning", "better"), rows)]
    return "\n".join(parts)


def methods_page() -> str:
    from halfcell.pipeline.methods import METHODS

    parts = ["# Methods\n", "Every method a finding may come from, with its formula and source.\n"]
    for method in sorted(METHODS.values(), key=lambda m: m.name):
        formula = "\n".join(f"    {line}" for line in method.formula.splitlines())
        parts.append(f"## {method.name}\n\n{method.sentence}\n\n{formula}\n\nSource: {method.source}\n")
    return "\n".join(parts)


def study_page() -> str:
    from halfcell.study.reference import reference_page

    return str(reference_page()).rstrip() + "\n"


# --- checks against the outside ---------------------------------------------------------------------------


@dataclass(frozen=True, order=True)
class Check:
    """One test marked as a check against something outside the project."""

    file: str
    line: int
    test: str
    what: str
    source: str
    status: str


STATUS = {
    "seen": "the source was open when the value was copied",
    "recomputed": "the value was computed from the source's data by another program or library",
    "derived": "the value follows from a definition or an exact result",
    "from memory": "the value is remembered, not looked up; treat it as weaker",
}


def evidence_page() -> str:
    found = sorted(checks(ROOT / "tests"))
    parts = [
        "# Checks against the outside\n",
        f"{len(found)} tests hold the program to published values, exact results and other libraries. The rest of the tests hold it to "
        "simulated truth and to itself. The third column says how the expected value came here:\n",
        "\n".join(f"* {word}: {meaning}" for word, meaning in STATUS.items()) + "\n",
    ]
    folders = sorted({c.file.rpartition("/")[0] for c in found})
    for folder in folders:
        rows = [
            (c.what, c.source, c.status, f"[{c.test}](../{c.file})")
            for c in found
            if c.file.rpartition("/")[0] == folder
        ]
        parts += [f"## {folder}\n", table(("what is checked", "against", "how known", "test"), rows)]
    return "\n".join(parts)


def checks(folder: Path) -> Iterator[Check]:
    """All marks in the test files, read from their text; no test is run or imported."""
    for path in sorted(folder.rglob("test_*.py")):
        file = path.relative_to(folder.parent).as_posix()
        tree = ast.parse(path.read_text("utf-8"))
        named = constants(tree)
        for call, test in marks(tree):
            given = dict(zip(("what", "source", "status"), call.args, strict=False))
            given |= {k.arg or "": k.value for k in call.keywords}
            values = [
                literal(given[word], named, file, call.lineno)
                for word in ("what", "source", "status")
                if word in given
            ]
            if len(values) != 3 or len(given) != 3 or values[2] not in STATUS:
                raise SystemExit(
                    f'{file}:{call.lineno}: a mark is reference("what", "source", "status") with a status of {", ".join(STATUS)}.'
                )
            yield Check(file, call.lineno, test, *values)


def constants(tree: ast.Module) -> dict[str, str]:
    """Texts given a name at the top of a file, for a source that several marks share."""
    return {
        target.id: node.value.value
        for node in tree.body
        if isinstance(node, ast.Assign)
        and isinstance(node.value, ast.Constant)
        and isinstance(node.value.value, str)
        for target in node.targets
        if isinstance(target, ast.Name)
    }


def marks(tree: ast.Module) -> Iterator[tuple[ast.Call, str]]:
    """The calls ``pytest.mark.reference(…)`` with the test or class each stands at."""
    spans = [
        (min([n.lineno, *(d.lineno for d in n.decorator_list)]), n.end_lineno or n.lineno, n.name)
        for n in ast.walk(tree)
        if isinstance(n, (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef))
    ]
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and ast.unparse(node.func).endswith("mark.reference"):
            around = [s for s in spans if s[0] <= node.lineno <= s[1]]
            yield node, max(around)[2] if around else "the whole file"


def literal(node: ast.expr, named: dict[str, str], file: str, line: int) -> str:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.Name) and node.id in named:
        return named[node.id]
    raise SystemExit(
        f"{file}:{line}: the arguments of a reference mark are plain texts, not {ast.unparse(node)!r}."
    )


PAGES: dict[str, Callable[[], str]] = {
    "cli.md": cli_page,
    "evidence.md": evidence_page,
    "findings.md": findings_page,
    "methods.md": methods_page,
    "study-folder.md": study_page,
}


if __name__ == "__main__":
    sys.exit(main())
