"""The particles of one image: what detection gives and a person may change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.results import read_only

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Detected:
    """The particles of one image (n,), lengths in pixels, brightness as a share of full scale.

    ``x``, ``y`` from the centre of the first pixel to the right and down; ``diameter`` of the disc
    of equal area; ``contrast`` above the substrate around it; ``elongation`` long over short
    axis; ``confidence`` 0 … 1, a score of how complete, even and clear the outline is (not a
    probability); ``cut`` 1 where the frame cuts it; ``hidden`` the share of its outline that
    neighbours hide; ``group`` numbers of particles in contact (−1: alone). ``outline`` (m, 2)
    holds all outlines one after another, that of particle i from ``first[i]`` to ``first[i + 1]``.
    ``clump_*`` are agglomerates (m,), bright regions that are no single particle: middle, area in
    pixels², contrast, and their outlines laid out like those of the particles.
    ``blur`` is the standard deviation of the edges' blur before smoothing, ``noise`` that of one pixel.
    """

    x: FloatArray
    y: FloatArray
    diameter: FloatArray
    contrast: FloatArray
    elongation: FloatArray
    confidence: FloatArray
    cut: FloatArray
    hidden: FloatArray
    group: FloatArray
    outline: NDArray[np.float32]
    first: NDArray[np.int64]
    clump_x: FloatArray
    clump_y: FloatArray
    clump_area: FloatArray
    clump_contrast: FloatArray
    clump_outline: NDArray[np.float32]
    clump_first: NDArray[np.int64]
    rows: int
    columns: int
    noise: float
    line_noise: float
    blur: float
    candidates: int

    def __len__(self) -> int:
        return len(self.x)

    def polygon(self, i: int) -> NDArray[np.float32]:
        """The outline (k, 2) of one particle: x and y in pixels."""
        return self.outline[self.first[i] : self.first[i + 1]]

    def clump_polygon(self, i: int) -> NDArray[np.float32]:
        """The outline (k, 2) of one agglomerate."""
        return self.clump_outline[self.clump_first[i] : self.clump_first[i + 1]]

    @property
    def clumps(self) -> int:
        """Number of agglomerates."""
        return len(self.clump_x)


@dataclass(slots=True, kw_only=True, eq=False)
class Draft:
    """Particles and agglomerates that may still change; arrays of one length each, and their outlines."""

    table: FloatArray
    """(n, 8): x, y, diameter, contrast, elongation, confidence, cut, hidden."""
    polygon: list[NDArray[np.float32]]
    clumps: FloatArray
    """(m, 4): x, y, area, contrast."""
    clump_polygon: list[NDArray[np.float32]]

    def without(self, gone: NDArray[np.bool_]) -> Draft:
        """The same with fewer particles."""
        kept = np.flatnonzero(~gone)
        return Draft(
            table=self.table[kept],
            polygon=[self.polygon[i] for i in kept],
            clumps=self.clumps,
            clump_polygon=self.clump_polygon,
        )

    def without_clumps(self, gone: NDArray[np.bool_]) -> Draft:
        """The same with fewer agglomerates."""
        kept = np.flatnonzero(~gone)
        return Draft(
            table=self.table,
            polygon=self.polygon,
            clumps=self.clumps[kept],
            clump_polygon=[self.clump_polygon[i] for i in kept],
        )

    def plus(self, row: FloatArray, polygon: NDArray[np.float32]) -> Draft:
        """The same with a particle more."""
        return Draft(
            table=np.vstack([self.table, row]),
            polygon=[*self.polygon, polygon],
            clumps=self.clumps,
            clump_polygon=self.clump_polygon,
        )


def finish(
    draft: Draft, *, rows: int, columns: int, noise: float, line_noise: float, blur: float, candidates: int
) -> Detected:
    """A draft as a result: read-only, outlines one after another, contacts numbered."""
    t = draft.table
    outline, first = _joined(draft.polygon)
    clump_outline, clump_first = _joined(draft.clump_polygon)
    return Detected(
        x=read_only(t[:, 0]), y=read_only(t[:, 1]), diameter=read_only(t[:, 2]), contrast=read_only(t[:, 3]),
        elongation=read_only(t[:, 4]), confidence=read_only(t[:, 5]), cut=read_only(t[:, 6]), hidden=read_only(t[:, 7]),
        group=read_only(contacts(t[:, 0], t[:, 1], t[:, 2] / 2, blur)), outline=outline, first=first,
        clump_x=read_only(draft.clumps[:, 0]), clump_y=read_only(draft.clumps[:, 1]), clump_area=read_only(draft.clumps[:, 2]),
        clump_contrast=read_only(draft.clumps[:, 3]), clump_outline=clump_outline, clump_first=clump_first,
        rows=rows, columns=columns, noise=noise, line_noise=line_noise, blur=blur, candidates=candidates,
    )  # fmt: skip


def draft_of(found: Detected) -> Draft:
    """A result opened for change."""
    table = np.column_stack(
        [
            found.x,
            found.y,
            found.diameter,
            found.contrast,
            found.elongation,
            found.confidence,
            found.cut,
            found.hidden,
        ]
    )
    return Draft(
        table=table, polygon=[found.polygon(i) for i in range(len(found))],
        clumps=np.column_stack([found.clump_x, found.clump_y, found.clump_area, found.clump_contrast]),
        clump_polygon=[found.clump_polygon(i) for i in range(found.clumps)],
    )  # fmt: skip


def finished_like(draft: Draft, found: Detected) -> Detected:
    """A changed draft of a result, with that result's image, noise and blur."""
    return finish(
        draft,
        rows=found.rows,
        columns=found.columns,
        noise=found.noise,
        line_noise=found.line_noise,
        blur=found.blur,
        candidates=found.candidates,
    )


def _joined(polygons: list[NDArray[np.float32]]) -> tuple[NDArray[np.float32], NDArray[np.int64]]:
    first = np.concatenate([[0], np.cumsum([len(p) for p in polygons])]).astype(np.int64)
    together = np.concatenate(polygons) if polygons else np.empty((0, 2), dtype=np.float32)
    together = np.asarray(together, dtype=np.float32)
    together.setflags(write=False)
    first.setflags(write=False)
    return together, first


def contacts(x: FloatArray, y: FloatArray, radius: FloatArray, blur: float) -> FloatArray:
    """Numbers of the groups of particles whose outlines meet; −1 for those that stand alone."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    group = np.full(len(x), -1.0)
    if len(x) < 2:
        return group
    pairs = cKDTree(np.column_stack([x, y])).query_pairs(2 * float(radius.max()) + 2, output_type="ndarray")
    apart = np.hypot(x[pairs[:, 0]] - x[pairs[:, 1]], y[pairs[:, 0]] - y[pairs[:, 1]])
    pairs = pairs[apart < radius[pairs[:, 0]] + radius[pairs[:, 1]] + 0.15 * max(blur, 1.0) + 0.1]
    joined = coo_matrix((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(x), len(x)))
    _, label = connected_components(joined, directed=False)
    size = np.bincount(label)
    numbers = np.cumsum(size > 1) - 1
    return np.where(size[label] > 1, numbers[label], -1).astype(np.float64)


def groups_of_three(group: FloatArray) -> int:
    """Number of groups of three or more particles in contact."""
    together = np.asarray(group)[np.asarray(group) >= 0].astype(int)
    return int((np.bincount(together) >= 3).sum()) if len(together) else 0
