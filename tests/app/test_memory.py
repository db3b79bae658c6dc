from __future__ import annotations

import sys

import pytest

from halfcell.app.memory import _library, give_back, settle


def test_where_the_allocator_can_be_told_it_takes_the_settings() -> None:
    """glibc's mallopt answers 1 for a setting it took (its manual page, from memory)."""
    if not sys.platform.startswith("linux") or _library() is None:
        assert settle() is False
    else:
        assert settle() is True
    give_back()


def test_another_system_is_left_as_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "platform", "win32")
    _library.cache_clear()
    try:
        assert settle() is False
        give_back()
    finally:
        _library.cache_clear()
