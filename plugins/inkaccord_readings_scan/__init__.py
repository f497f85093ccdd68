"""Readings from a flatbed scan or a photograph: PNG, TIFF or JPEG.

The sheet is found by its code and marks, and the colours by a calibration on swatches of the same
scan whose readings are known.
"""

from collections.abc import Sequence
from pathlib import Path

from inkaccord import plugin  # what is slow to import comes when it is asked for
from inkaccord.plugin import ReadingsFormat, ReadingsTaken, SampleSheet, SheetReadings, hookimpl


class ScanFormat:
    """A scanned sheet, or several pages of one in a TIFF."""

    name = "scan"

    def recognises(self, path: Path, head: bytes) -> bool:  # noqa: ARG002  (the name tells nothing)
        """Tell a picture from its first bytes."""
        return plugin.is_picture(head)

    def read(
        self, path: Path, sheet: SampleSheet, known: tuple[SheetReadings, ...]
    ) -> ReadingsTaken:
        """Read the scan as readings of the swatches that are not known yet.

        Raises InkaccordError.
        """
        return self.read_pages((path,), sheet, known)

    def read_pages(
        self, paths: Sequence[Path], sheet: SampleSheet, known: tuple[SheetReadings, ...]
    ) -> ReadingsTaken:
        """Read the scans of a sheet's pages as one. Raises InkaccordError."""
        pictures = [picture for path in paths for picture in plugin.load_pictures(path)]
        matched = plugin.read_scan(pictures, sheet, known)
        return ReadingsTaken(matched.readings, matched.findings)

    def read_beside(
        self,
        path: Path,
        sheet: SampleSheet,
        beside: SampleSheet,
        known: tuple[SheetReadings, ...],
    ) -> ReadingsTaken:
        """Read every swatch of a sheet, calibrated on another one in the same scan.

        Raises InkaccordError.
        """
        matched = plugin.read_scan_beside(plugin.load_pictures(path), sheet, beside, known)
        return ReadingsTaken(matched.readings, matched.findings)


@hookimpl
def inkaccord_readings_formats() -> Sequence[ReadingsFormat]:
    """Offer the format ``scan``."""
    return (ScanFormat(),)
