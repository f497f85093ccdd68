"""Inline images as they stand in a content stream: the one place that looks into pikepdf.

Its public image gives sizes, a colour space and unpacked samples. Comparing two copies takes all
entries and the packed bytes: there is no public way to the entries, and to the bytes only in
releases newer than the oldest that we take (9.4).
"""

from collections.abc import Mapping

import pikepdf

INLINE_KEYS = {
    "/BPC": "/BitsPerComponent", "/CS": "/ColorSpace", "/D": "/Decode", "/DP": "/DecodeParms",
    "/F": "/Filter", "/H": "/Height", "/IM": "/ImageMask", "/I": "/Interpolate", "/W": "/Width",
}  # fmt: skip
"""The full names of entries (ISO 32000-2, table 91)."""


def inline_entries(image: object) -> Mapping[str, pikepdf.Object]:
    """Return an inline image's entries under their full names (ISO 32000-2, table 91)."""
    items = list(image._image_object)  # type: ignore[attr-defined]  # noqa: SLF001 - see above
    keys = [str(key) for key in items[::2]]
    return {INLINE_KEYS.get(key, key): value for key, value in zip(keys, items[1::2], strict=False)}


def inline_samples(image: object) -> bytes:
    """Return an inline image's data as they are packed."""
    return bytes(image._data._inline_image_raw_bytes())  # type: ignore[attr-defined]  # noqa: SLF001 - see above
