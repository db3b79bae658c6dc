"""Images come back as grey values with the scale their file or the study gives."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

from halfcell.errors import ReadError
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


@pytest.mark.reference("TIFF resolution tags 282, 283, 296", "TIFF Revision 6.0, Section 8", "from memory")
@pytest.mark.parametrize(
    ("unit", "per_unit", "metres"),
    [("INCH", 254e4, 1e-8), ("CENTIMETER", 4e6, 2.5e-9), ("CENTIMETER", 1e5, 1e-7)],
)
def test_the_scale_in_the_resolution_tags(unit: str, per_unit: float, metres: float, tmp_path: Path) -> None:
    path = tmp_path / "scaled.tif"
    tifffile.imwrite(path, EIGHT, resolution=(per_unit, per_unit), resolutionunit=unit)
    image = read_image(path)
    assert image.metres_per_pixel == pytest.approx(metres, rel=1e-6)
    assert image.scale_from == "TIFF resolution tags"
    with_study = read_image(path, metres_per_pixel=3e-9)
    assert (with_study.metres_per_pixel, with_study.scale_from) == (3e-9, "study")
    assert any("the file's own says" in said for said in with_study.assumed)


@pytest.mark.parametrize(
    ("resolution", "unit", "says"),
    [
        ((72, 72), "INCH", "one for printing"),
        ((96, 96), "INCH", "one for printing"),
        ((300, 300), "INCH", "one for printing"),
        ((1e6, 1e6), "NONE", "has no unit"),
        ((1e6, 2e6), "CENTIMETER", "differs along x and y"),
    ],
)
def test_resolutions_that_are_no_scale(
    resolution: tuple[float, float], unit: str, says: str, tmp_path: Path
) -> None:
    path = tmp_path / "odd.tif"
    tifffile.imwrite(path, EIGHT, resolution=resolution, resolutionunit=unit)
    image = read_image(path)
    assert np.isnan(image.metres_per_pixel)
    assert any(says in said for said in image.assumed)


def barred(rows: int, *, dark: bool = True, seed: int = 3) -> np.ndarray:
    """The surface with a data bar of some rows, with lettering and a scale line."""
    rng = np.random.default_rng(seed)
    image = np.rint(noise(400, 512, seed) * 255).astype(np.uint8)
    if rows:
        paper, ink = (0, 255) if dark else (255, 0)
        image[-rows:] = paper
        for left in range(20, 420, 14):
            shape = rng.random((max(4, rows // 3), 9)) < 0.45
            image[-rows + rows // 3 : -rows + rows // 3 + shape.shape[0], left : left + 9][shape] = ink
        image[-rows // 4 - 2 : -rows // 4, 440:500] = ink
    return image


@pytest.mark.parametrize("rows", [12, 24, 40, 64, 100])
@pytest.mark.parametrize("dark", [True, False])
@pytest.mark.parametrize("kind", ["png", "jpg"])
def test_a_data_bar_is_found(rows: int, dark: bool, kind: str, tmp_path: Path) -> None:
    path = tmp_path / f"barred.{kind}"
    Image.fromarray(barred(rows, dark=dark)).save(path)
    image = read_image(path)
    assert image.bar_rows == pytest.approx(rows, abs=0 if kind == "png" else 2)
    assert any("data bar" in said for said in image.assumed)


@pytest.mark.parametrize("seed", range(6))
def test_no_bar_is_seen_where_there_is_none(seed: int, tmp_path: Path) -> None:
    """Plain surfaces, a shaded one, one whose dark ground is cut off at black, and a drawn one."""
    surface = barred(0, seed=seed).astype(float)
    shade = np.linspace(1.2, 0.2, surface.shape[0])[:, None]
    cases = [surface, surface * shade, np.clip(surface - 75, 0, 255), 255.0 * (surface > 140)]
    for case in cases:
        path = tmp_path / "plain.png"
        Image.fromarray(case.clip(0, 255).astype(np.uint8)).save(path)
        assert read_image(path).bar_rows == 0


def huge_png(width: int, height: int) -> bytes:
    """A PNG that says it is huge; its content is a few bytes."""
    import struct
    import zlib

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 1000))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(("width", "height"), [(20_000, 6_000), (60_000, 60_000), (2_000_000, 2_000_000)])
def test_an_image_with_too_many_pixels_is_refused_before_it_is_decoded(
    width: int, height: int, tmp_path: Path
) -> None:
    path = tmp_path / "bomb.png"
    path.write_bytes(huge_png(width, height))
    with pytest.raises(ReadError, match="million"):
        read_image(path, name="images/bomb.png")


@pytest.mark.parametrize("kind", ["png grey", "tiff grey", "jpeg grey", "tiff 16 rgb", "png palette"])
@pytest.mark.parametrize("seed", range(6))
def test_a_damaged_image_is_refused_in_words(kind: str, seed: int, tmp_path: Path) -> None:
    save(tmp_path / "image", kind)
    (file,) = tmp_path.iterdir()
    rng = np.random.default_rng(seed)
    data = bytearray(file.read_bytes())
    if seed % 2:
        data = data[: rng.integers(10, len(data) * 3 // 4)]
    else:
        for at in rng.integers(0, min(len(data), 600), 30):
            data[at] = rng.integers(256)
    file.write_bytes(bytes(data))
    try:
        image = read_image(file)
    except ReadError as error:
        said = str(error)
    else:
        said = image.file
        assert np.isfinite(image.pixels).all()
    assert said.startswith("image.")


def test_what_is_no_image(tmp_path: Path) -> None:
    path = tmp_path / "words.png"
    path.write_text("E/V,I/A\n", "utf-8")
    for scale in (None, 1e-9):
        with pytest.raises(ReadError, match="not an image"):
            read_image(path, metres_per_pixel=scale)
    with pytest.raises(ReadError, match="cannot be opened"):
        read_image(tmp_path / "absent.png")
    with pytest.raises(ReadError, match="not possible"):
        read_image(path, metres_per_pixel=-1.0)


def test_colours_become_brightness(tmp_path: Path) -> None:
    colour = np.zeros((16, 16, 3), dtype=np.uint8)
    colour[..., 1] = 200
    Image.fromarray(colour).save(tmp_path / "green.png")
    image = read_image(tmp_path / "green.png")
    np.testing.assert_allclose(image.pixels, 0.587 * 200 / 255, rtol=1e-5)
    assert any("in colour" in said for said in image.assumed)


def test_several_images_in_one_file_are_told(tmp_path: Path) -> None:
    tifffile.imwrite(tmp_path / "stack.tif", np.stack([EIGHT, 255 - EIGHT]), photometric="minisblack")
    image = read_image(tmp_path / "stack.tif")
    np.testing.assert_allclose(image.pixels, EIGHT / 255, atol=1e-6)
    assert any("holds 2 images" in said for said in image.assumed)


@pytest.mark.parametrize("bits", [8, 16])
def test_white_as_zero_is_turned(bits: int, tmp_path: Path) -> None:
    values, top = (EIGHT, 255) if bits == 8 else (SIXTEEN, 65535)
    tifffile.imwrite(tmp_path / "white.tif", top - values, photometric="miniswhite")
    np.testing.assert_allclose(read_image(tmp_path / "white.tif").pixels, values / top, atol=1e-5)


@pytest.mark.parametrize(
    ("values", "expected", "says"),
    [
        (GREY.astype(np.float32), GREY, ""),
        (EIGHT.astype(np.float32), EIGHT / 255, ""),
        (SIXTEEN.astype(np.int32), SIXTEEN / 65535, ""),
        ((GREY * 200 - 100).astype(np.float32), (GREY - GREY.min()) / np.ptp(GREY), "stretched"),
        (np.full((20, 20), -7, dtype=np.float32), np.zeros((20, 20)), "stretched"),
    ],
    ids=["0 to 1", "0 to 255", "0 to 65535", "below zero", "all the same"],
)
def test_grey_values_of_32_bits(values: np.ndarray, expected: np.ndarray, says: str, tmp_path: Path) -> None:
    tifffile.imwrite(tmp_path / "wide.tif", values)
    image = read_image(tmp_path / "wide.tif")
    np.testing.assert_allclose(image.pixels, expected, atol=2e-5)
    assert any(says in said for said in ("", *image.assumed))


def test_values_that_are_no_numbers_are_refused(tmp_path: Path) -> None:
    values = GREY.astype(np.float32)
    values[3, 3] = np.nan
    tifffile.imwrite(tmp_path / "hole.tif", values)
    with pytest.raises(ReadError, match=r"hole\.tif: .*no numbers"):
        read_image(tmp_path / "hole.tif")


def test_colours_of_16_bits_one_plane_after_the_other(tmp_path: Path) -> None:
    planes = np.stack([SIXTEEN] * 3)
    tifffile.imwrite(tmp_path / "planes.tif", planes, photometric="rgb", planarconfig="separate", resolution=(4e6, 4e6), resolutionunit="CENTIMETER")  # fmt: skip
    image = read_image(tmp_path / "planes.tif")
    np.testing.assert_allclose(image.pixels, SIXTEEN / 65535, atol=1e-5)
    assert image.metres_per_pixel == pytest.approx(2.5e-9)


def test_a_tiny_image_is_refused(tmp_path: Path) -> None:
    Image.fromarray(EIGHT[:5, :5]).save(tmp_path / "tiny.png")
    with pytest.raises(ReadError, match="too small"):
        read_image(tmp_path / "tiny.png")


def test_the_density_of_a_png_may_be_a_scale(tmp_path: Path) -> None:
    Image.fromarray(EIGHT).save(tmp_path / "scaled.png", dpi=(254_000, 254_000))
    assert read_image(tmp_path / "scaled.png").metres_per_pixel == pytest.approx(1e-7, rel=1e-3)
