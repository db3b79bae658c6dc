"""The scale an image file carries: the resolution tags of TIFF, and the like of PNG and JPEG.

Tags 282 and 283 (pixels per unit along x and y) and 296 (1 no unit, 2 inch, 3 centimetre).
Source: TIFF Revision 6.0, Section 8.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

_METRES = {2: 0.0254, 3: 0.01}
COARSEST = 5e-6
"""Metres per pixel from which a resolution is one for printing, not a scale (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """A scale, nan where the file has none that can be believed, and what was said about it."""

    metres_per_pixel: float = math.nan
    said_by: str = ""
    assumed: list[str] = field(default_factory=list)


def scale_in(image: Any) -> Scale:
    """The scale of an opened image, or of a mapping of the three tags."""
    if isinstance(image, Mapping):
        return _tags(image)
    if image.format == "TIFF":
        return _tags(image.tag_v2)
    density = image.info.get("dpi")
    if not density:
        return Scale()
    try:
        across, down = (float(v) for v in density)
    except (TypeError, ValueError, ZeroDivisionError):
        return Scale()
    return _judged(across, down, 0.0254, f"{image.format} resolution")


def _tags(tags: Mapping[int, Any]) -> Scale:
    across, down = _number(tags.get(282)), _number(tags.get(283))
    if not across:
        return Scale()
    unit = int(_number(tags.get(296)) or 2)
    if unit not in _METRES:
        return Scale(
            assumed=[f"the file's resolution of {across:.4g} pixels has no unit; it was not used as a scale"]
        )
    return _judged(across, down or across, _METRES[unit], "TIFF resolution tags")


def _number(value: Any) -> float:
    if isinstance(value, tuple):
        if len(value) == 2:
            return float(value[0]) / float(value[1]) if value[1] else 0.0
        value = value[0] if value else 0.0
    try:
        found = float(value)
    except (TypeError, ValueError, ZeroDivisionError):
        return 0.0
    return found if math.isfinite(found) else 0.0


def _judged(across: float, down: float, unit: float, said_by: str) -> Scale:
    if across <= 0 or down <= 0:
        return Scale()
    scale = unit / across
    per_inch = 0.0254 / scale
    if scale >= COARSEST:
        return Scale(
            assumed=[
                f"the file's resolution of {per_inch:.0f} dots per inch is one for printing; it was not used as a scale"
            ]
        )
    if abs(across / down - 1) > 0.01:
        return Scale(
            assumed=[
                f"the file's resolution differs along x and y ({across:.4g} and {down:.4g}); it was not used as a scale"
            ]
        )
    return Scale(
        metres_per_pixel=scale,
        said_by=said_by,
        assumed=[f"the scale of {scale * 1e9:.4g} nm per pixel is from the {said_by}"],
    )
