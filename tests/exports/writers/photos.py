"""Small generated photographs, each packed as a camera or a program would."""

import io
from pathlib import Path

import numpy as np
from PIL import Image, ImageCms


def _scene() -> np.ndarray:
    """Return a picture of a harbour at dusk, 32 by 48 RGB samples of 8 bits."""
    rows, columns = np.mgrid[0:32, 0:48]
    sky = np.stack([230 - rows * 4, 170 - rows * 2, 120 + rows * 2], -1)
    water = np.stack([40 + columns, 80 + rows * 2, 110 + rows], -1)
    picture = np.where((rows < 18)[..., None], sky, water)
    picture[8:20, 30:34] = (60, 40, 30)
    noise = np.random.default_rng(5).integers(-6, 7, picture.shape)
    return np.clip(picture + noise, 0, 255).astype(np.uint8)


def write_photos(folder: Path) -> dict[str, Path]:
    """Write the photographs and return their files by name."""
    scene = Image.fromarray(_scene())
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    packed = {
        "harbour": ("harbour.jpg", scene, {"quality": 85}),
        "profiled": ("profiled.jpg", scene, {"quality": 85, "icc_profile": profile}),
        "grey": ("grey.png", scene.convert("L"), {}),
    }
    files = {}
    for name, (file_name, picture, options) in packed.items():
        data = io.BytesIO()
        picture.save(data, "JPEG" if file_name.endswith("jpg") else "PNG", **options)
        files[name] = folder / file_name
        files[name].write_bytes(data.getvalue())
    return files
