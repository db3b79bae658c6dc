from __future__ import annotations

from halfcell.report.methods_text import methods_text, methods_used, setting_text


def test_only_methods_that_were_used_are_told_with_their_sources(analysis):
    used = methods_used(analysis)
    assert {u.name for u in used} == {"test line", "unheard of"}
    text = methods_text(analysis)
    assert "Sensitivities were slopes of straight lines [1]." in text
    assert "[1] A textbook, page 1" in text
    assert "sensitivity by unheard of (common practice)." in text
    assert "[2]" not in text


def test_settings_are_told_once(analysis):
    used = next(u for u in methods_used(analysis) if u.name == "test line")
    assert dict(used.settings) == {"points": "5", "window": "0.05"}


def test_setting_text():
    assert setting_text(True) == "yes"
    assert setting_text(1 / 3) == "0.333333"
    assert setting_text({"a": [1, 2.5]}) == "a = 1, 2.5"
    assert setting_text(None) == "null"
