"""Micrographs: PNG, TIFF and JPEG, grey or colour, 8 or 16 bit, with their scale where the file has it."""

from __future__ import annotations

import math
import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import numpy as np

from halfcell.errors import ReadError
from halfcell.readers.databar import bar_rows
from halfcell.readers.scale import Scale, scale_in
from halfcell.readers.source import sha256
from halfcell.recording import Micrograph

if TYPE_CHECKING:
    from numpy.typing import NDArray

LARGEST = 100_000_000
"""Pixels above which an image is refused before it is decoded."""
_FORMATS = ("PNG", "TIFF", "JPEG")
_GREY = (0.299, 0.587, 0.114)
"""Luma weights of red, green and blue. ITU-R BT.601."""


def read_image(path: str | Path, *, name: str = "", metres_per_pixel: float | None = None) -> Micrograph:
    """One micrograph, 0 black to 1 full scale, with its scale and what was assumed.

    Parameters
    ----------
    path : the file.
    name : how the file is called in messages and in ``Micrograph.file``; its name if empty.
    metres_per_pixel : scale, m per pixel, where it is known; it goes before the file's own.

    Raises
    ------
    ReadError
        for a file that is no image, is damaged, or has more than 100 million pixels.
    """
    path = Path(path)
    name = name or path.name
    if metres_per_pixel is not None and not (math.isfinite(metres_per_pixel) and metres_per_pixel > 0):
        raise ReadError(
            f'{name}: a scale of {metres_per_pixel!r} m per pixel is not possible; write for example "2.5 nm".'
        )
    digest = sha256(path, name)
    pixels, bits, own, assumed = _decoded(path, name)
    scale, source = own.metres_per_pixel, own.said_by
    assumed += own.assumed
    if metres_per_pixel is not None:
        if math.isfinite(scale) and abs(scale / metres_per_pixel - 1) > 0.01:
            assumed.append(f"the study's scale was used; the file's own says {scale * 1e9:.4g} nm per pixel")
        scale, source = metres_per_pixel, "study"
    rows = bar_rows(pixels)
    if rows:
        assumed.append(f"the {rows} rows at the bottom look like a data bar; they are still in the image")
    pixels.setflags(write=False)
    return Micrograph(
        file=name, sha256=digest, pixels=pixels, metres_per_pixel=float(scale), scale_from=source, bits=bits,
        bar_rows=rows, assumed=tuple(assumed),
    )  # fmt: skip


def _decoded(path: Path, name: str) -> tuple[NDArray[np.float32], int, Scale, list[str]]:
    """Grey pixels, bits, the file's own scale and notes."""
    from PIL import Image, UnidentifiedImageError

    assumed: list[str] = []
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(path, formats=_FORMATS) as image:
                scale = _looked_at(image, name, assumed)
                pixels, bits = _grey(image, path, assumed)
    except ReadError:
        raise
    except UnidentifiedImageError:
        wide = _wide_tiff(path, name, assumed)
        if wide is None:
            raise ReadError(
                f"{name}: this is not an image that can be read; save it as PNG, TIFF or JPEG."
            ) from None
        return wide
    except Image.DecompressionBombError:
        raise ReadError(
            f"{name}: the image has too many pixels; cut it into parts of at most {LARGEST // 1_000_000} million."
        ) from None
    except Exception as error:  # noqa: BLE001 - a damaged image makes the decoder fail in many ways
        said = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise ReadError(f"{name}: the image is damaged or cut off ({said}).") from None
    if min(pixels.shape) < 8:
        raise ReadError(
            f"{name}: an image of {pixels.shape[1]} × {pixels.shape[0]} pixels is too small to measure."
        )
    return pixels, bits, scale, assumed


def _looked_at(image: Any, name: str, assumed: list[str]) -> Scale:
    """What the head of an image says, before it is decoded."""
    from PIL import UnidentifiedImageError

    width, height = image.size
    if width * height > LARGEST:
        _too_large(name, width, height)
    if image.format == "TIFF":
        if (frames := getattr(image, "n_frames", 1)) > 1:
            assumed.append(f"the file holds {frames} images; the first was read")
            image.seek(0)
        if image.mode == "RGB" and max(_tags_of(image).get(258, (8,))) > 8:
            raise UnidentifiedImageError
    return scale_in(image)


def _tags_of(image: Any) -> Any:
    return image.tag_v2


def _too_large(name: str, width: int, height: int) -> NoReturn:
    raise ReadError(
        f"{name}: the image has {width} × {height} = {width * height / 1e6:.0f} million pixels; "
        f"at most {LARGEST // 1_000_000} million are read. Cut it into parts or halve its size."
    )


def _grey(image: Any, path: Path, assumed: list[str]) -> tuple[NDArray[np.float32], int]:
    """Pixels as grey values 0 to 1 and the bits of the file."""
    mode = image.mode
    if mode in {"L", "1"}:
        return np.asarray(image.convert("L"), dtype=np.float32) / np.float32(255), 8
    if mode.startswith("I;16"):
        grey = np.asarray(image, dtype=np.float32) / np.float32(65535)
        white_is_zero = image.format == "TIFF" and _tags_of(image).get(262) == 0
        return (1 - grey if white_is_zero else grey), 16
    if mode in {"I", "F"}:
        return _numbers(np.asarray(image, dtype=np.float32), assumed)
    if mode in {"LA", "La", "PA", "RGBA", "RGBa"} or (mode == "P" and "transparency" in image.info):
        image = image.convert("RGBA")
        if image.getchannel("A").getextrema()[0] < 255:
            assumed.append("the image has transparent parts; their colour was used as it is stored")
    if image.format == "PNG" and _png_bits(path) == 16:
        assumed.append("the image has 16-bit colours; they were read with 8 bits")
    colour = np.asarray(image.convert("RGB"), dtype=np.float32)
    return _from_colour(colour / np.float32(255), assumed), 8


def _png_bits(path: Path) -> int:
    """Bits a channel in the header of a PNG. Source: ISO/IEC 15948, IHDR."""
    with path.open("rb") as handle:
        return handle.read(25)[-1]


def _from_colour(colour: NDArray[np.float32], assumed: list[str]) -> NDArray[np.float32]:
    if np.array_equal(colour[..., 0], colour[..., 1]) and np.array_equal(colour[..., 0], colour[..., 2]):
        return np.ascontiguousarray(colour[..., 0])
    assumed.append("the image is in colour; its brightness was used (0.299 red + 0.587 green + 0.114 blue)")
    return np.asarray(colour @ np.asarray(_GREY, dtype=np.float32), dtype=np.float32)


def _numbers(values: NDArray[np.float32], assumed: list[str]) -> tuple[NDArray[np.float32], int]:
    """Grey values stored as whole or real numbers of 32 bits, brought to 0 to 1."""
    if not np.isfinite(values).all():
        raise ValueError("some values are no numbers")
    low, high = float(values.min()), float(values.max())
    if low >= 0 and high <= 1:
        return values.copy(), 32
    if low >= 0 and high <= 65535:
        top = 255 if high <= 255 else 65535
        return values / np.float32(top), 8 if top == 255 else 16
    assumed.append(f"grey values run from {low:.4g} to {high:.4g}; they were stretched to 0 … 1")
    return (values - np.float32(low)) / np.float32((high - low) or 1.0), 32


def _wide_tiff(
    path: Path, name: str, assumed: list[str]
) -> tuple[NDArray[np.float32], int, Scale, list[str]] | None:
    """A TIFF with 16-bit colours, or None where it is no TIFF."""
    import tifffile

    try:
        with tifffile.TiffFile(path) as file:
            page = file.pages.first
            height, width = int(page.tags["ImageLength"].value), int(page.tags["ImageWidth"].value)
            if width * height > LARGEST:
                _too_large(name, width, height)
            values = page.asarray()
            tags = {code: page.tags[code].value for code in (282, 283, 296) if code in page.tags}
    except ReadError:
        raise
    except Exception:  # noqa: BLE001 - whatever is wrong, it is no image that can be read
        return None
    if values.ndim == 3 and values.shape[0] in {3, 4} and values.shape[2] not in {3, 4}:
        values = np.moveaxis(values, 0, -1)
    if (
        values.dtype.kind not in "uf"
        or values.ndim not in {2, 3}
        or (values.ndim == 3 and values.shape[2] < 3)
    ):
        return None
    top = float(np.iinfo(values.dtype).max) if values.dtype.kind == "u" else 1.0
    scaled = np.asarray(values[..., :3] if values.ndim == 3 else values, dtype=np.float32) / np.float32(top)
    grey = _from_colour(scaled, assumed) if scaled.ndim == 3 else scaled
    return grey, int(values.dtype.itemsize * 8), scale_in(tags), assumed
