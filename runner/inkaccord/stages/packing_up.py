"""The last thing before a vendor's folder goes out: checksums, and a zip ready to send."""

import io
import zipfile
from collections.abc import Iterable

from inkaccord.files import safe_name, sha256_of
from inkaccord.order.model import Order
from inkaccord.run.files import OutFile

SUMS = "SHA256SUMS"


def packed_up(order: Order, files: Iterable[OutFile]) -> list[OutFile]:
    """Return for every vendor with print files its SHA256SUMS and its zip, dated by the order.

    The sums are those that ``sha256sum --check`` reads.
    """
    by_vendor: dict[str, list[OutFile]] = {}
    for file in files:
        if file.vendor is not None:
            by_vendor.setdefault(file.vendor, []).append(file)
    packages = []
    for vendor, own in by_vendor.items():
        if not any(file.what == "print" for file in own):
            continue
        folder = safe_name(vendor)
        own.sort(key=lambda file: file.path)
        inner = {file.path.removeprefix(f"{folder}/"): file.data for file in own}
        sums = "".join(f"{sha256_of(data)}  {name}\n" for name, data in inner.items()).encode()
        packages.append(OutFile(f"{folder}/{SUMS}", sums, "checksums", vendor=vendor))
        name = f"{order.order}-{folder}"
        data = _zip(
            order, {f"{name}/{path}": part for path, part in (inner | {SUMS: sums}).items()}
        )
        packages.append(OutFile(f"{folder}/{name}.zip", data, "package", vendor=vendor))
    return packages


def _zip(order: Order, parts: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    when = (max(order.date.year, 1980), order.date.month, order.date.day, 0, 0, 0)
    with zipfile.ZipFile(out, "w") as package:
        for name, data in parts.items():
            info = zipfile.ZipInfo(name, when)
            info.create_system = 3  # the same on every platform
            info.external_attr = 0o644 << 16
            info.compress_type = zipfile.ZIP_STORED  # PDFs are packed already
            package.writestr(info, data)
    return out.getvalue()
