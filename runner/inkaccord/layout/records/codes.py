"""QR codes (ISO/IEC 18004) of records, drawn as filled modules."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any, ClassVar, Self

from inkaccord.drawing.qr import QUIET_MODULES, qr_code
from inkaccord.layout.records.model import RecordField
from inkaccord.pdf.forms import numbers
from inkaccord.units import PT_PER_MM


@dataclass(frozen=True)
class QrCodes:
    """The codes of one field, all with as many modules.

    Choosing the mask that scans best takes ten times as long as all else, so it is chosen for the
    first code and kept.
    """

    LEAST_MODULE_PT: ClassVar[float] = 0.3 * PT_PER_MM
    """Side of a module that a telephone still reads in print (common practice, no source)."""
    MOST_BYTES: ClassVar[int] = 300
    """What a code says at most: more makes modules that print can't hold (common practice)."""

    version: int
    mask: int

    @classmethod
    def for_texts(cls, texts: Sequence[str]) -> Self:
        """Return codes that hold the longest of some texts."""
        held = [text for text in texts if 0 < len(text.encode()) <= cls.MOST_BYTES]
        if not held:
            return cls(1, 0)
        longest = qr_code(max(held, key=lambda text: len(text.encode())))
        return cls(longest.version, qr_code(held[0], version=longest.version).mask)

    def is_too_long(self, text: str) -> bool:
        """Tell whether a text is more than a code should say."""
        return len(text.encode()) > self.MOST_BYTES

    @property
    def modules(self) -> int:
        """Modules along a side, with the clear rim."""
        return 17 + 4 * self.version + 2 * QUIET_MODULES

    def module_pt(self, field: RecordField) -> float:
        """Return the side of a module in a field."""
        return min(field.width, field.height) / self.modules

    def drawn(self, text: str, field: RecordField, height_pt: float) -> bytes:
        """Return the operators that fill a code's dark modules on a trim of a height."""
        matrix = self._matrix(text)
        module = min(field.width, field.height) / (len(matrix) + 2 * QUIET_MODULES)
        rim = QUIET_MODULES * module
        left, top = field.left + rim, height_pt - field.top - rim
        parts = []
        for row, modules in enumerate(matrix):
            at = 0
            for dark, run in groupby(modules):
                count = len(list(run))
                if dark:
                    corner = (left + at * module, top - (row + 1) * module)
                    parts.append(f"{numbers(*corner, count * module, module)} re")
                at += count
        return "\n".join([*parts, "f"]).encode()

    def _matrix(self, text: str) -> Any:
        try:
            return qr_code(text, version=self.version, mask=self.mask).matrix
        except ValueError:  # in another mode a shorter text may take more
            return qr_code(text).matrix
