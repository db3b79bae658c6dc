"""Pages lead somewhere, commands exist, and everything public is described."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from pathlib import Path

import pytest

import halfcell

ROOT = Path(__file__).resolve().parents[2]
PAGES = sorted(
    [ROOT / "README.md", ROOT / "CONTRIBUTING.md", ROOT / "CHANGELOG.md", *(ROOT / "docs").glob("*.md")]
)


def modules() -> list[str]:
    return sorted(
        m.name for m in pkgutil.walk_packages(halfcell.__path__, "halfcell.") if m.name != "halfcell.__main__"
    )


def anchors(text: str) -> set[str]:
    heads = re.findall(r"^#+ (.+)$", text, re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).strip().replace(" ", "-") for head in heads}


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.name)
def test_links_lead_somewhere(page):
    text = page.read_text("utf-8")
    dead = []
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        if re.match(r"[a-z]+:", target):
            continue
        file, _, anchor = target.partition("#")
        there = (page.parent / file).resolve() if file else page
        if not there.exists() or (
            anchor and there.suffix == ".md" and anchor not in anchors(there.read_text("utf-8"))
        ):
            dead.append(target)
    assert dead == []


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.name)
def test_commands_that_are_shown_exist(page):
    from halfcell.cli import verbs

    shown = re.findall(r"^ {2,}halfcell ([a-z]\w*)", page.read_text("utf-8"), re.MULTILINE)
    assert set(shown) <= set(verbs())


def test_make_targets_that_are_shown_exist():
    targets = set(re.findall(r"^([a-z]+):", (ROOT / "Makefile").read_text("utf-8"), re.MULTILINE))
    for page in (ROOT / "README.md", ROOT / "CONTRIBUTING.md"):
        shown = re.findall(r"^    make ([a-z ]+?)(?:\s{2,}#.*)?$", page.read_text("utf-8"), re.MULTILINE)
        assert shown, page.name
        assert {word for line in shown for word in line.split()} <= targets


def test_the_readme_says_the_job_and_the_two_commands_first():
    text = (ROOT / "README.md").read_text("utf-8")
    assert text.index("make demo") < text.index("make test") < 1800
    assert "Cautions" in text


def test_every_verb_has_an_example_in_its_help():
    from halfcell.cli import verbs

    for verb in verbs():
        text = importlib.import_module(f"halfcell.cli.{verb}").command.__doc__ or ""
        assert f"halfcell {verb}" in text, verb


def test_everything_public_is_described():
    bare = []
    for name in modules():
        module = importlib.import_module(name)
        if not inspect.getdoc(module) and not name.endswith("__init__"):
            bare.append(name) if "__path__" not in vars(module) else None
        for public in getattr(module, "__all__", ()):
            thing = getattr(module, public)
            if (inspect.isclass(thing) or inspect.isfunction(thing)) and not (thing.__doc__ or "").strip():
                bare.append(f"{name}.{public}")
    assert bare == []


def test_what_a_module_says_is_public_exists():
    for name in modules():
        module = importlib.import_module(name)
        missing = [public for public in getattr(module, "__all__", ()) if not hasattr(module, public)]
        assert missing == [], name


def test_the_changelog_keeps_its_form():
    text = (ROOT / "CHANGELOG.md").read_text("utf-8")
    assert "## [Unreleased]" in text
    kinds = re.findall(r"^### (.+)$", text, re.MULTILINE)
    assert set(kinds) <= {"Added", "Changed", "Deprecated", "Removed", "Fixed", "Security"}
