"""Raw files in, recordings out: sniff before parse, say what was assumed.

read(path, name=, hints=)               a Recording from a text export
read_image(path, name=, metres_per_pixel=)   a Micrograph from PNG, TIFF or JPEG
preview(path, hints)                    how a text export would be read, for a person to check
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from halfcell.readers.images import read_image
    from halfcell.readers.previews import Preview, preview
    from halfcell.readers.registry import read

__all__ = ["Preview", "preview", "read", "read_image"]

_PLACES = {"read": "registry", "read_image": "images", "preview": "previews", "Preview": "previews"}


def __getattr__(name: str) -> Any:
    if name in _PLACES:
        from importlib import import_module

        return getattr(import_module(f"halfcell.readers.{_PLACES[name]}"), name)
    raise AttributeError(f"module 'halfcell.readers' has no attribute {name!r}; it has {', '.join(__all__)}.")


def __dir__() -> list[str]:
    return sorted(__all__)
