from __future__ import annotations

import base64
import io
import re

import numpy as np
import pytest

from halfcell.pipeline.outcome import Exhibit
from halfcell.report.figures.svg import figure_svg, inline


def picture(kind: str, data) -> Exhibit:
    return Exhibit(kind=kind, key="one", title="A <picture>", place="Made", data=data)


def test_ids_are_the_figures_own_and_only_those_referred_to(analysis, drawing):
    shades = {"nickel": "#000000", "ruthenium": "#111111"}
    texts = [figure_svg(e, shades) for e in analysis.exhibits[:2]]
    ids = [set(re.findall(r'\sid="([^"]+)"', text)) for text in texts]
    assert ids[0]
    assert not ids[0] & ids[1]
    for text, own in zip(texts, ids, strict=True):
        used = set(re.findall(r'href="#([^"]+)"', text)) | set(re.findall(r"url\(#([^)]+)\)", text))
        assert used == own


def test_no_style_escapes_into_the_page_and_the_size_follows_the_page(analysis, drawing):
    text = figure_svg(analysis.exhibits[0], {"nickel": "#000000"})
    assert text.startswith('<svg role="img"')
    assert "<style" not in text
    assert "<metadata" not in text
    assert not re.match(r'<svg[^>]*\sheight="', text)
    assert "DejaVu" not in text


def test_a_kind_without_a_drawing_is_an_error(analysis):
    with pytest.raises(KeyError):
        figure_svg(analysis.exhibits[0], {})


def test_the_words_for_the_blind_are_escaped():
    assert "<title>a &lt; b</title>" in inline("<?xml?><svg width='1'></svg>", key="k", alt="a < b")


def test_a_large_photograph_becomes_smaller_and_stays_what_it_is():
    from PIL import Image

    rng = np.random.default_rng(7)
    grey = np.clip(rng.normal(120, 20, (400, 400)), 0, 255).astype(np.uint8)
    out = io.BytesIO()
    Image.fromarray(grey).convert("RGBA").save(out, "PNG")
    encoded = base64.b64encode(out.getvalue()).decode()
    text = inline(f'<svg width="1pt"><image href="data:image/png;base64,{encoded}"/></svg>', key="k", alt="")
    data = base64.b64decode(re.search(r"data:image/jpeg;base64,([^\"]+)", text).group(1))
    assert len(data) < 0.7 * len(out.getvalue())
    back = np.asarray(Image.open(io.BytesIO(data)), dtype=float)
    assert back.shape == grey.shape
    assert abs(back.mean() - grey.mean()) < 1.0
