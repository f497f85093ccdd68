"""The last thing before a vendor's folder goes out: checksums, and a zip ready to send."""

from collections.abc import Iterable

from inkaccord.files import safe_name, sha256_of, zipped
from inkaccord.order.model import Order
from inkaccord.run.files import OutFile
from inkaccord.stages.sampling import FOLDER

SUMS = "SHA256SUMS"
TO_SEND = {"print": "package", "sample": "sample-package"}
"""What is sent, and what its zip is."""


def packed_up(order: Order, files: Iterable[OutFile], *, with_job: bool) -> list[OutFile]:
    """Return for every folder with files to print its SHA256SUMS and its zip, dated by the order.

    Without ``with_job`` only sample sheets may go. The sums are those that ``sha256sum --check``
    reads.
    """
    folders: dict[tuple[str, str], list[OutFile]] = {}
    for file in files:
        if file.vendor is not None:
            samples = f"{FOLDER}/{safe_name(file.vendor)}"
            is_sample = file.path.startswith(f"{samples}/")
            folder = samples if is_sample else safe_name(file.vendor)
            folders.setdefault((file.vendor, folder), []).append(file)
    packages = []
    for (vendor, folder), own in folders.items():
        kinds = {file.what for file in own} & TO_SEND.keys()
        if not kinds or ("print" in kinds and not with_job):
            continue
        own.sort(key=lambda file: file.path)
        inner = {file.path.removeprefix(f"{folder}/"): file.data for file in own}
        sums = "".join(f"{sha256_of(data)}  {name}\n" for name, data in inner.items()).encode()
        packages.append(OutFile(f"{folder}/{SUMS}", sums, "checksums", vendor=vendor))
        name = "-".join((order.order, *reversed(folder.split("/"))))
        data = zipped(
            {f"{name}/{path}": part for path, part in (inner | {SUMS: sums}).items()}, order.date
        )
        packages.append(OutFile(f"{folder}/{name}.zip", data, TO_SEND[kinds.pop()], vendor=vendor))
    return packages
