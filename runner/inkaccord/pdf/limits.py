"""How much of a file is read, and how deep: bounds for all that opens PDFs."""

from pydantic import Field

from inkaccord.models import Frozen

MIB = 1024 * 1024


class FileLimits(Frozen):
    """Bounds that keep a damaged or hostile file from eating the machine.

    The defaults are far above what artwork for print needs. A file that passes one of them is
    refused with a message that names the limit.
    """

    stream_mib: int = Field(256, gt=0, description="One unpacked content stream or table, MiB.")
    total_mib: int = Field(2048, gt=0, description="All streams unpacked in one job, MiB.")
    nesting: int = Field(64, gt=0, description="Forms, patterns and glyphs inside each other.")
    pages: int = Field(5000, gt=0, description="Pages of one file.")
    calls: int = Field(200_000, gt=0, description="Content streams interpreted, all calls counted.")
    function_samples: int = Field(
        16_000_000, gt=0, description="Numbers in the table of one sampled function."
    )
    findings: int = Field(200, gt=0, description="Findings of one kind that are listed singly.")
