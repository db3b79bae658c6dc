"""Images come back as grey values with the scale their file or the study gives."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

from halfcell.readers import read_image


def noise(rows: int = 240, columns: int = 320, seed: int = 1) -> np.ndarray:
    """A noisy grey surface with bright discs, 0 … 1 (invented)."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[:rows, :columns]
    image = 0.3 + 0.08 * rng.standard_normal((rows, columns))
    for _ in range(15):
        cy, cx, r = rng.uniform(0, rows), rng.uniform(0, columns), rng.uniform(4, 12)
        image[(y - cy) ** 2 + (x - cx) ** 2 < r * r] += 0.4
    return np.clip(image, 0, 1)


GREY = noise()
EIGHT = np.rint(GREY * 255).astype(np.uint8)
SIXTEEN = np.rint(GREY * 65535).astype(np.uint16)


def save(path: Path, kind: str) -> float:
    """Write the surface in one of the ways; the tolerance within which it must come back."""
    if kind == "png 16 grey":
        Image.fromarray(SIXTEEN).save(path.with_suffix(".png"))
        return 1e-5
    if kind.startswith("tiff 16"):
        values = np.repeat(SIXTEEN[..., None], 3, axis=2) if "rgb" in kind else SIXTEEN
        tifffile.imwrite(
            path.with_suffix(".tif"), values, photometric="rgb" if "rgb" in kind else "minisblack"
        )
        return 1e-5
    image = Image.fromarray(EIGHT)
    form, _, mode = kind.partition(" ")
    mode = {"grey": "L", "rgb": "RGB", "rgba": "RGBA", "palette": "P"}[mode]
    image = image if mode == "L" else image.convert(mode)
    image.save(
        path.with_suffix({"png": ".png", "tiff": ".tif", "jpeg": ".jpg"}[form]),
        **({"quality": 95} if form == "jpeg" else {}),
    )
    return 0.06 if form == "jpeg" else 1e-6


@pytest.mark.parametrize(
    "kind",
    ["png grey", "png rgb", "png rgba", "png palette", "png 16 grey", "tiff grey", "tiff rgb", "tiff 16 grey", "tiff 16 rgb", "jpeg grey", "jpeg rgb"],
)  # fmt: skip
def test_every_kind_gives_the_same_grey_values(kind: str, tmp_path: Path) -> None:
    tolerance = save(tmp_path / "image", kind)
    (file,) = tmp_path.iterdir()
    image = read_image(file)
    reference = SIXTEEN / 65535 if "16" in kind else EIGHT / 255
    assert image.pixels.shape == GREY.shape
    assert image.pixels.dtype == np.float32
    assert not image.pixels.flags.writeable
    assert image.bits == (16 if "16" in kind else 8)
    np.testing.assert_allclose(image.pixels, reference, atol=tolerance)
    assert np.isnan(image.metres_per_pixel)
    assert image.bar_rows == 0
