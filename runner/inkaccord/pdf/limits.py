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
    states: int = Field(1000, gt=0, description="Graphics states kept open inside each other.")
    branches: int = Field(
        100_000, gt=0, description="Fields, names or conditions of one tree, as often as named."
    )
    pages: int = Field(10_000, gt=0, description="Pages of one file.")
    objects: int = Field(1_000_000, gt=0, description="Objects of one file.")
    calls: int = Field(20_000, gt=0, description="Calls of forms, patterns and glyphs on a page.")
    marks: int = Field(100_000, gt=0, description="Things painted on a page, all calls counted.")
    points: int = Field(300_000, gt=0, description="Points of paths on a page, likewise.")
    tiles: int = Field(1_000_000, gt=0, description="Cells of patterns laid on a page.")
    numbers: int = Field(4_000_000, gt=0, description="Numbers and words on a page, likewise.")
    pages_full: int = Field(10, gt=0, description="Pages' worth of these five in one file.")
    pixels: int = Field(200_000_000, gt=0, description="Pixels of one picture.")
    function_samples: int = Field(
        16_000_000, gt=0, description="Numbers in the table of one sampled function."
    )
    steps: int = Field(
        40_000_000, gt=0, description="Steps of calculators and tables in gradients, of one file."
    )
    findings: int = Field(200, gt=0, description="Findings of one kind that are listed singly.")
