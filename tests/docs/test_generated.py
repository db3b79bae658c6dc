"""The generated pages are those of this code, and the same on every machine."""

from __future__ import annotations

import ast
import importlib.util
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def load():
    spec = importlib.util.spec_from_file_location("halfcell_docs_tool", ROOT / "tools" / "docs.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


tool = load()


@pytest.mark.parametrize("name", sorted(tool.PAGES))
def test_the_page_is_fresh(name):
    written = (ROOT / "docs" / name).read_text("utf-8")
    assert written == tool.MADE_BY + tool.PAGES[name](), (
        f"docs/{name} is stale; mend it with: python tools/docs.py"
    )


def test_pages_depend_on_no_terminal_locale_or_colour():
    script = "import sys; sys.path.insert(0, sys.argv[1]); import docs; sys.stdout.buffer.write(docs.cli_page().encode() + docs.evidence_page().encode())"
    outputs = set()
    for more in (
        {"COLUMNS": "20", "TERM": "dumb", "NO_COLOR": "1", "LANG": "C", "LC_ALL": "C", "PYTHONHASHSEED": "1"},
        {
            "COLUMNS": "300",
            "TERM": "xterm-256color",
            "FORCE_COLOR": "1",
            "LANG": "C.UTF-8",
            "PYTHONHASHSEED": "2",
            "PYTHONUTF8": "1",
        },
    ):
        kept = {k: v for k, v in os.environ.items() if k not in {"NO_COLOR", "FORCE_COLOR", "LC_ALL"}}
        done = subprocess.run(
            [sys.executable, "-c", script, str(ROOT / "tools")],
            capture_output=True,
            env=kept | more,
            check=True,
        )
        outputs.add(done.stdout)
    assert len(outputs) == 1


def test_a_stale_page_is_named_with_the_command_that_mends_it(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(tool, "ROOT", tmp_path)
    monkeypatch.setattr(tool, "PAGES", {"a.md": lambda: "# A\n"})
    assert tool.main(["--check"]) == 1
    assert capsys.readouterr().out == "docs/a.md is stale; mend it with: python tools/docs.py\n"
    assert tool.main([]) == 0
    assert tool.main(["--check"]) == 0
    (tmp_path / "docs" / "a.md").write_text("old", "utf-8")
    assert tool.main(["--check"]) == 1


def found(tmp_path, text: str) -> list:
    (tmp_path / "tests").mkdir(exist_ok=True)
    (tmp_path / "tests" / "test_a.py").write_text(text, "utf-8")
    return list(tool.checks(tmp_path / "tests"))


def test_marks_are_read_from_the_text(tmp_path):
    text = """
import pytest

BOOK = "B"

@pytest.mark.parametrize("a", [1])
@pytest.mark.reference("line " "one", "A book", "seen")
def test_one(a): ...

class TestTwo:
    @pytest.mark.reference("two", source=BOOK, status="from memory")
    def test_two(self): ...
"""
    one, two = found(tmp_path, text)
    assert (one.file, one.test, one.what, one.source, one.status) == (
        "tests/test_a.py",
        "test_one",
        "line one",
        "A book",
        "seen",
    )
    assert (two.test, two.source, two.status) == ("test_two", "B", "from memory")


@pytest.mark.parametrize(
    "mark", ['reference("a", "b", "certain")', 'reference("a", "b")', 'reference("a", "b" + str(1), "seen")']
)
def test_a_mark_that_cannot_be_listed_is_an_error_with_its_place(tmp_path, mark):
    with pytest.raises(SystemExit, match=r"tests/test_a\.py:2"):
        found(tmp_path, f"import pytest\n@pytest.mark.{mark}\ndef test_one(): ...\n")


def test_cells_do_not_break_the_table():
    assert tool.cell("a | b\n<c>") == "a \\| b &lt;c>"


def test_every_declared_option_is_in_the_help(capsys):
    from halfcell.cli import main, verbs

    page = tool.cli_page()
    for verb in verbs():
        with pytest.raises(SystemExit):
            main([verb, "--help"])
        said = capsys.readouterr().out
        import importlib

        for parameter in tool.parameters(importlib.import_module(f"halfcell.cli.{verb}").command):
            word = parameter.name.split()[0].rstrip(",")
            assert word.lower() in said.lower(), f"{verb}: {word}"
            assert f"`{parameter.name}`" in page


def test_no_page_is_written_by_running_tests():
    tree = ast.parse((ROOT / "tools" / "docs.py").read_text("utf-8"))
    imported = {a.name for n in ast.walk(tree) if isinstance(n, ast.Import) for a in n.names}
    assert "pytest" not in imported
