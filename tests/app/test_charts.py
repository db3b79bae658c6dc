from __future__ import annotations

from halfcell.app.charts import script, style_ids


def test_every_style_the_script_would_write_when_loaded_is_known() -> None:
    """The installed library itself: each inline style it makes while loading asks for an id first."""
    text = script().read_text("utf-8")
    assert style_ids()
    for mark in style_ids():
        assert f'.id="{mark}"' in text
