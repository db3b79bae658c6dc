"""A person's decisions about the outlines of one image, replayed by position in the order given."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.errors import MethodError
from halfcell.micrographs.detected import Detected, Draft, draft_of, finished_like

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.results import FloatArray

_CIRCLE = 48


def adjust(found: Detected, decisions: Sequence[Mapping[str, Any]]) -> Detected:
    """The outlines after a person's decisions; the same decisions always give the same result.

    Parameters
    ----------
    found : what detection gave.
    decisions : each with its ``kind``: "exclude particle" (x, y), "add particle" (x, y, diameter),
        "split particle" and "merge particles" (points), "mask region" (polygon); pixels.

    Raises
    ------
    MethodError
        For a decision that fits nothing there (no outline around a point), which names it: an
        adjustment must never be lost silently.

    Notes
    -----
    A split gives each point the part of the outline nearer to it than to the other points; merged
    outlines become one of their areas together around their common middle, outlined by their convex hull.
    """
    draft = draft_of(found)
    for decision in decisions:
        act = _ACTS.get(str(decision["kind"]))
        if act is not None:
            draft = act(draft, decision, found)
    return finished_like(draft, found)


def _exclude(draft: Draft, decision: Mapping[str, Any], found: Detected) -> Draft:
    i = _around(draft, float(decision["x"]), float(decision["y"]))
    if i is not None:
        return draft.without(np.arange(len(draft.table)) == i)
    for k, polygon in enumerate(draft.clump_polygon):
        if contains(polygon, float(decision["x"]), float(decision["y"])):
            return draft.without_clumps(np.arange(len(draft.clumps)) == k)
    raise _nothing(decision, float(decision["x"]), float(decision["y"]))


def _add(draft: Draft, decision: Mapping[str, Any], found: Detected) -> Draft:
    x, y, d = float(decision["x"]), float(decision["y"]), float(decision["diameter"])
    if not (0 <= x < found.columns and 0 <= y < found.rows):
        raise MethodError(
            f"The particle added at x = {x:g}, y = {y:g} lies outside the image of {found.columns} × {found.rows} pixels."
        )
    contrast = float(np.median(draft.table[:, 3])) if len(draft.table) else math.nan
    return draft.plus(_row(x, y, d, contrast, found), _circle(x, y, d))


def _split(draft: Draft, decision: Mapping[str, Any], found: Detected) -> Draft:
    points = np.asarray(decision["points"], dtype=np.float64)
    whole = {_around(draft, float(x), float(y)) for x, y in points}
    if len(whole) != 1 or None in whole:
        x, y = points[0]
        raise MethodError(
            f"The points of a split that begins at x = {x:g}, y = {y:g} do not lie in one outline; each must be inside the particle to be split."
        )
    (i,) = whole
    assert i is not None
    polygon, contrast = draft.polygon[i], float(draft.table[i, 3])
    parts = [nearest_part(polygon, points, k) for k in range(len(points))]
    draft = draft.without(np.arange(len(draft.table)) == i)
    for part in parts:
        area, x, y = measured(part)
        draft = draft.plus(_row(x, y, 2 * math.sqrt(area / math.pi), contrast, found), part)
    return draft


def _merge(draft: Draft, decision: Mapping[str, Any], found: Detected) -> Draft:
    chosen = []
    for x, y in decision["points"]:
        i = _around(draft, float(x), float(y))
        if i is None:
            raise _nothing(decision, float(x), float(y))
        chosen.append(i)
    index = np.unique(chosen)
    area = draft.table[index, 2] ** 2 * math.pi / 4
    x, y = (float(np.average(draft.table[index, c], weights=area)) for c in (0, 1))
    corners = np.vstack([draft.polygon[i] for i in index]).astype(np.float64)
    from scipy.spatial import ConvexHull

    hull = corners[ConvexHull(corners).vertices].astype(np.float32)
    row = _row(x, y, 2 * math.sqrt(float(area.sum()) / math.pi), float(draft.table[index, 3].mean()), found)
    return draft.without(np.isin(np.arange(len(draft.table)), index)).plus(row, hull)


def _mask(draft: Draft, decision: Mapping[str, Any], found: Detected) -> Draft:
    region = np.asarray(decision["polygon"], dtype=np.float64)
    gone = np.array([contains(region, x, y) for x, y in draft.table[:, :2]], dtype=bool)
    clumps = np.array([contains(region, x, y) for x, y in draft.clumps[:, :2]], dtype=bool)
    return draft.without(gone).without_clumps(clumps)


_ACTS = {
    "exclude particle": _exclude,
    "add particle": _add,
    "split particle": _split,
    "merge particles": _merge,
    "mask region": _mask,
}


def masked(decisions: Sequence[Mapping[str, Any]], rows: int, columns: int) -> NDArray[np.bool_] | None:
    """The pixels (rows, columns) that masks take from the frame; None where there is no mask."""
    from PIL import Image, ImageDraw

    regions = [d["polygon"] for d in decisions if d["kind"] == "mask region"]
    if not regions:
        return None
    canvas = Image.new("1", (columns, rows), 0)
    pen = ImageDraw.Draw(canvas)
    for polygon in regions:
        pen.polygon([(float(x), float(y)) for x, y in polygon], fill=1)
    return np.asarray(canvas, dtype=bool)


def contains(polygon: NDArray[Any], x: float, y: float) -> bool:
    """Whether a point lies inside a polygon (k, 2), by counting crossings."""
    u, v = np.asarray(polygon[:, 0], dtype=np.float64), np.asarray(polygon[:, 1], dtype=np.float64)
    p, q = np.roll(u, -1), np.roll(v, -1)
    crosses = (v > y) != (q > y)
    with np.errstate(divide="ignore", invalid="ignore"):
        at = u + (y - v) * (p - u) / (q - v)
    return bool(np.count_nonzero(crosses & (x < at)) % 2)


def measured(polygon: NDArray[Any]) -> FloatArray:
    """Area and middle (area, x, y) of a polygon."""
    u, v = np.asarray(polygon[:, 0], dtype=np.float64), np.asarray(polygon[:, 1], dtype=np.float64)
    p, q = np.roll(u, -1), np.roll(v, -1)
    cross = u * q - p * v
    area = float(cross.sum()) / 2
    if abs(area) < 1e-9:
        return np.array([1e-9, float(u.mean()), float(v.mean())])
    return np.array(
        [abs(area), float(((u + p) * cross).sum()) / (6 * area), float(((v + q) * cross).sum()) / (6 * area)]
    )


def nearest_part(polygon: NDArray[np.float32], points: FloatArray, k: int) -> NDArray[np.float32]:
    """The part of a polygon nearer to point k than to the others: cut by each perpendicular bisector."""
    part = np.asarray(polygon, dtype=np.float64)
    for j in range(len(points)):
        if j == k or not len(part):
            continue
        normal, middle = points[j] - points[k], (points[j] + points[k]) / 2
        side = (part - middle) @ normal
        out: list[FloatArray] = []
        for a in range(len(part)):
            b = (a + 1) % len(part)
            if side[a] <= 0:
                out.append(part[a])
            if (side[a] < 0) != (side[b] < 0) and side[a] != side[b]:
                out.append(part[a] + (part[b] - part[a]) * side[a] / (side[a] - side[b]))
        part = np.array(out).reshape(-1, 2)
    return part.astype(np.float32)


def _around(draft: Draft, x: float, y: float) -> int | None:
    """The particle whose outline is around a point; of several the one whose middle is nearest."""
    t = draft.table
    near = np.hypot(t[:, 0] - x, t[:, 1] - y)
    for i in np.argsort(near)[:40]:
        if contains(draft.polygon[i], x, y):
            return int(i)
    return None


def _nothing(decision: Mapping[str, Any], x: float, y: float) -> MethodError:
    return MethodError(
        f"An adjustment ({decision['kind']}) names x = {x:g}, y = {y:g}, but no outline is around that point; correct its position or remove it from adjustments.toml."
    )


def _row(x: float, y: float, d: float, contrast: float, found: Detected) -> FloatArray:
    r = d / 2
    cut = x - r < -0.5 or y - r < -0.5 or x + r > found.columns - 0.5 or y + r > found.rows - 0.5
    return np.array([x, y, d, contrast, 1.0, 1.0, float(cut), 0.0])


def _circle(x: float, y: float, d: float) -> NDArray[np.float32]:
    angle = np.arange(_CIRCLE) * (2 * math.pi / _CIRCLE)
    return np.column_stack([x + d / 2 * np.cos(angle), y + d / 2 * np.sin(angle)]).astype(np.float32)
