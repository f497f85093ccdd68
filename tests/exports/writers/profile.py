"""A small invented press profile (ICC.1:2001-04, version 2.4): four inks that multiply.

Real press profiles weigh half a megabyte; every export that embeds one would. This one is 8 kB.
"""

import struct

import numpy as np

NAME = "Slipway Press"
_INKS = np.array([(0.02, 0.35, 0.62), (0.55, 0.02, 0.18), (0.9, 0.72, 0.02), (0.02, 0.02, 0.02)])
_WHITE = np.array([0.9642, 1.0, 0.8249])
# Linear sRGB to XYZ, adapted to D50 (Bradford), as sRGB profiles state it; digits from memory.
_TO_XYZ = np.array([(0.4361, 0.3851, 0.1431), (0.2225, 0.7169, 0.0606), (0.0139, 0.0971, 0.7141)])


def _lab(cmyk: np.ndarray) -> np.ndarray:
    """Return CIELAB (n, 3) of builds (n, 4) from 0 to 1, on white paper."""
    dots = 1 - (1 - cmyk) ** 1.4
    light = np.prod(1 - dots[:, :, None] * (1 - _INKS), axis=1)
    xyz = light @ _TO_XYZ.T / _WHITE
    cube = np.where(xyz > 216 / 24389, np.cbrt(xyz), (24389 / 27 * xyz + 16) / 116)
    x, y, z = cube.T
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], 1)


def _grid(points: int, channels: int) -> np.ndarray:
    axes = np.meshgrid(*[np.linspace(0, 1, points)] * channels, indexing="ij")
    return np.stack(axes, -1).reshape(-1, channels)


def _builds(lab: np.ndarray) -> np.ndarray:
    """Return the builds nearest to the colours, the lightest of those that are equally near."""
    builds = _grid(13, 4)
    builds = builds[builds.sum(1) <= 3]
    known = _lab(builds)
    ink = builds.sum(1) * 2
    return np.stack([builds[(((known - one) ** 2).sum(1) + ink).argmin()] for one in lab])


def _table(given: int, taken: int, points: int, values: np.ndarray) -> bytes:
    straight = bytes(range(256))
    matrix = struct.pack(">9i", 65536, 0, 0, 0, 65536, 0, 0, 0, 65536)
    head = b"mft1" + bytes(4) + bytes((given, taken, points, 0)) + matrix
    return head + straight * given + values.astype(np.uint8).tobytes() + straight * taken


def press_profile() -> bytes:
    """Return the profile; the same bytes every time."""
    lab = _lab(_grid(6, 4))
    to_lab = np.clip(np.round(lab * (2.55, 1, 1) + (0, 128, 128)), 0, 255)
    wanted = _grid(13, 3) * 255 / (2.55, 1, 1) - (0, 128, 128)
    to_ink = np.round(_builds(wanted) * 255)
    title = NAME.encode() + b"\0"
    described = b"desc" + bytes(4) + struct.pack(">I", len(title)) + title + bytes(78)
    forward, back = _table(4, 3, 6, to_lab), _table(3, 4, 13, to_ink)
    tags = {
        b"desc": described,
        b"cprt": b"text" + bytes(4) + b"invented, free to use\0",
        b"wtpt": b"XYZ " + bytes(4) + struct.pack(">3i", *(round(v * 65536) for v in _WHITE)),
        **dict.fromkeys((b"A2B0", b"A2B1", b"A2B2"), forward),
        **dict.fromkeys((b"B2A0", b"B2A1", b"B2A2"), back),
    }
    places: dict[bytes, int] = {}
    body = b""
    start = 128 + 4 + 12 * len(tags)
    for data in tags.values():
        if data not in places:
            places[data] = start + len(body)
            body += data + bytes(-len(data) % 4)
    entries = b"".join(
        name + struct.pack(">2I", places[data], len(data)) for name, data in tags.items()
    )
    header = bytearray(128)
    header[0:4] = struct.pack(">I", start + len(body))
    header[8:12], header[12:24] = b"\x02\x40\0\0", b"prtrCMYKLab "
    header[24:36] = struct.pack(">6H", 2026, 1, 1, 0, 0, 0)
    header[36:40], header[68:80] = b"acsp", struct.pack(">3i", *(round(v * 65536) for v in _WHITE))
    return bytes(header) + struct.pack(">I", len(tags)) + entries + body
