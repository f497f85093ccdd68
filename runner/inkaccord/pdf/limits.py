"""How much of a file is read, and how deep: bounds for all that opens PDFs."""

MIB = 1024 * 1024


class FileLimits:
    """Bounds that keep a damaged or hostile file from eating the machine.

    They are far above what artwork for print needs. A file that passes one of them is refused with
    a message that names the limit.
    """

    stream_mib = 256
    """One unpacked content stream or table, MiB."""
    total_mib = 2048
    """All streams unpacked in one job, MiB."""
    nesting = 64
    """Forms, patterns and glyphs inside each other."""
    states = 1000
    """Graphics states kept open inside each other."""
    branches = 100_000
    """Fields, names or conditions of one tree, as often as named."""
    pages = 10_000
    """Pages of one file."""
    objects = 1_000_000
    """Objects of one file."""
    calls = 20_000
    """Calls of forms, patterns and glyphs on a page."""
    marks = 100_000
    """Things painted on a page, all calls counted."""
    points = 300_000
    """Points of paths on a page, likewise."""
    tiles = 1_000_000
    """Cells of patterns laid on a page."""
    numbers = 4_000_000
    """Numbers and words on a page, likewise."""
    pages_full = 10
    """Pages' worth of these five in one file."""
    pixels = 200_000_000
    """Pixels of one picture."""
    function_samples = 16_000_000
    """Numbers in the table of one sampled function."""
    steps = 40_000_000
    """Steps of calculators and tables in gradients, of one file."""
    findings = 200
    """Findings of one kind that are listed singly."""
