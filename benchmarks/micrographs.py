"""Outlines and sizes of particles in invented micrographs, against the plain recipe.

The plain recipe is the one many write down: a Gaussian filter, one global threshold (Otsu), the
distance transform, watershed from its peaks, and the equal-area diameter of each label, all with scikit-image.
Memory is the peak of one analysis over the bytes of the image as float32.
"""

from __future__ import annotations

import tracemalloc
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from benchmarks import Result, best_of_pair

if TYPE_CHECKING:
    from numpy.typing import NDArray

CASES = (
    # columns, rows, median diameter in m at 2 nm a pixel, particles per m²
    (1024, 768, 40e-9, 60e12),
    (1280, 960, 24e-9, 150e12),
    (1600, 1200, 120e-9, 12e12),
)


class Plain(NamedTuple):
    """Positions and diameters by the plain recipe, pixels."""

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    diameter: NDArray[np.float64]


def plain_recipe(pixels: NDArray[np.float32], *, sigma: float = 1.0, distance: int = 4) -> Plain:
    """Gaussian, global Otsu, distance-transform watershed, equal-area diameter."""
    from scipy.ndimage import distance_transform_edt
    from skimage.feature import peak_local_max
    from skimage.filters import gaussian, threshold_otsu
    from skimage.measure import label, regionprops_table
    from skimage.segmentation import watershed

    smooth = gaussian(pixels, sigma)
    mask = smooth > threshold_otsu(smooth)
    deep = distance_transform_edt(mask)
    peaks = peak_local_max(gaussian(deep, 1.0), min_distance=distance, labels=label(mask))
    markers = np.zeros(pixels.shape, dtype=np.int32)
    markers[tuple(peaks.T)] = np.arange(1, len(peaks) + 1)
    labels = watershed(-deep, markers, mask=mask)
    table = regionprops_table(labels, properties=("centroid", "equivalent_diameter_area"))
    keep = table["equivalent_diameter_area"] >= 4
    return Plain(
        table["centroid-1"][keep], table["centroid-0"][keep], table["equivalent_diameter_area"][keep]
    )


def peak_bytes(work: object) -> int:
    """Most memory that one run takes beyond what was there."""
    tracemalloc.start()
    before = tracemalloc.get_traced_memory()[0]
    work()  # type: ignore[operator]
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return int(most - before)


def run() -> Result:
    """Time both on the same images; every row also says how right each is."""
    from halfcell.micrographs.detect import detect
    from halfcell.micrographs.truth import make_micrograph
    from halfcell.micrographs.truth_match import match

    rows, ours, theirs, size = [], 0.0, 0.0, 0
    for columns, height, diameter, density in CASES:
        made = make_micrograph(
            np.random.default_rng(1), shape=(height, columns), diameter_median=diameter, density=density
        )
        pixels = made.pixels
        detect(pixels[:256, :256])
        plain_recipe(pixels[:256, :256])
        a, b = best_of_pair(
            lambda p=pixels: detect(p), lambda p=pixels: plain_recipe(p), times=3, patience=5.0
        )  # type: ignore[misc]
        found, plain = detect(pixels), plain_recipe(pixels)
        right = match(made, found.x, found.y, found.diameter)
        beside = match(made, plain.x, plain.y, plain.diameter)
        memory = peak_bytes(lambda p=pixels: detect(p)) / pixels.nbytes
        rows.append((
            f"{columns} × {height}, {len(made.x)} particles of {diameter / 2e-9:.0f} px", f"{a:.2f} s", f"{b:.2f} s",
            f"{pixels.size / a / 1e6:.1f}", f"{memory:.1f}", f"{right.f1:.3f} / {right.bias:+.1%}", f"{beside.f1:.3f} / {beside.bias:+.1%}",
        ))  # fmt: skip
        ours, theirs, size = ours + a, theirs + b, size + pixels.size
    return Result(
        name="micrographs", halfcell=ours, reference=theirs,
        head=("image", "halfcell", "plain recipe", "megapixels a second", "memory / image", "F1 / bias of mean diameter", "plain: F1 / bias"),
        rows=tuple(rows), notes=(f"together {size / ours / 1e6:.1f} megapixels a second on one core",),
    )  # fmt: skip
