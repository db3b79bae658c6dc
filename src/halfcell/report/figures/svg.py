"""A figure as inline SVG: its own ids, text as text, small enough to stand in a page with sixty others."""

from __future__ import annotations

import base64
import hashlib
import io
import re
import threading
from collections.abc import Mapping
from html import escape
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit

__all__ = ["figure_svg"]

ONE_AT_A_TIME = threading.Lock()
"""The drawing library's settings are global; the app draws from several threads."""

FONTS = "system-ui, 'Segoe UI', Roboto, 'Helvetica Neue', 'Noto Sans', 'Liberation Sans', Arial, sans-serif"
SETTINGS: Any = {
    "svg.fonttype": "none",
    "svg.hashsalt": "halfcell",
    "path.simplify": True,
    "path.simplify_threshold": 0.4,
    "font.size": 9,
    "axes.unicode_minus": True,
    "legend.frameon": False,
    "legend.fontsize": 8.5,
}
_KEEP_PNG = 20_000
"""Bytes below which an embedded picture stays as it is (common practice, no source)."""


def figure_svg(exhibit: Exhibit, colours: Mapping[str, str], *, alt: str = "") -> str:
    """An exhibit as one ``<svg>`` element that can stand beside others in a page.

    Raises KeyError for a kind of exhibit without a drawing; whatever the drawing raises.
    """
    import matplotlib as mpl

    from halfcell.report.figures import DRAWINGS

    draw = DRAWINGS[exhibit.kind]
    with ONE_AT_A_TIME, mpl.rc_context(SETTINGS):
        figure = draw(exhibit, colours)
        text = _drawn(figure)
    return inline(text, key=f"{exhibit.kind} {exhibit.key}", alt=alt or exhibit.title)


def _drawn(figure: Figure) -> str:
    out = io.StringIO()
    figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None}, facecolor="white", dpi=110)
    return out.getvalue()


def inline(text: str, *, key: str, alt: str) -> str:
    """An SVG document as an element: unique ids made from ``key``, a title, no style for the whole page."""
    text = text[text.index("<svg") :]
    text = re.sub(r"<!--.*?-->|<metadata>.*?</metadata>|<style\b.*?</style>", "", text, flags=re.DOTALL)
    text = _own_ids(text, "f" + hashlib.blake2b(key.encode(), digest_size=5).hexdigest())
    text = re.sub(r'(?<= d=")[^"]+', lambda m: _shorter(m.group(0)), text)
    text = re.sub(r"\s*font-family: [^;\"]*;?", "", text)
    text = re.sub(r'data:image/png;base64,([^"]+)', lambda m: _smaller(m.group(1)), text)
    text = re.sub(r">\s+<", "><", text)
    return re.sub(
        r"^<svg\b([^>]*)>",
        lambda m: (
            f'<svg role="img" font-family="{FONTS}"{_scalable(m.group(1))}><title>{escape(alt)}</title>'
        ),
        text,
        count=1,
    ).strip()


def _scalable(attributes: str) -> str:
    """The natural width in pixels stays; the height follows it, so that a page may narrow the figure."""
    width = re.search(r'\swidth="([\d.]+)pt"', attributes)
    kept = re.sub(r'\s(width|height|version|xmlns(:xlink)?)="[^"]*"', "", attributes)
    shown = f' width="{float(width.group(1)) * 4 / 3:.0f}"' if width else ""
    return f'{shown}{kept} xmlns:xlink="http://www.w3.org/1999/xlink"'.replace("\n", " ")


def _own_ids(text: str, prefix: str) -> str:
    """Ids that something refers to get the prefix; the others go."""
    used = set(re.findall(r'href="#([^"]+)"', text)) | set(re.findall(r"url\(#([^)]+)\)", text))
    names = {name: f"{prefix}-{i}" for i, name in enumerate(sorted(used))}
    text = re.sub(
        r'\sid="([^"]*)"', lambda m: f' id="{names[m.group(1)]}"' if m.group(1) in names else "", text
    )
    text = re.sub(r'href="#([^"]+)"', lambda m: f'href="#{names[m.group(1)]}"', text)
    return re.sub(r"url\(#([^)]+)\)", lambda m: f"url(#{names[m.group(1)]})", text)


def _shorter(path: str) -> str:
    """Coordinates of a path to a hundredth of a point."""
    return re.sub(
        r"-?\d+\.\d{3,}", lambda m: f"{float(m.group(0)):.2f}".rstrip("0").rstrip("."), " ".join(path.split())
    )


def _smaller(encoded: str) -> str:
    """A large opaque picture as JPEG where that is smaller."""
    data = base64.b64decode(encoded)
    kept = "data:image/png;base64," + "".join(encoded.split())
    if len(data) < _KEEP_PNG:
        return kept
    import numpy as np
    from PIL import Image

    image = Image.open(io.BytesIO(data))
    if image.mode in {"RGBA", "LA"} and np.asarray(image.getchannel("A")).min() < 255:
        return kept
    out = io.BytesIO()
    image.convert("L" if _is_grey(image) else "RGB").save(out, "JPEG", quality=82, optimize=True)
    if out.tell() >= len(data):
        return kept
    return "data:image/jpeg;base64," + base64.b64encode(out.getvalue()).decode()


def _is_grey(image: Any) -> bool:
    import numpy as np

    pixels = np.asarray(image.convert("RGB"), dtype=np.int16)
    return bool((pixels.max(axis=2) - pixels.min(axis=2)).max() <= 2)
