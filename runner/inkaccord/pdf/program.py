"""What results depend on besides what they are asked from, as it is on this machine."""

from inkaccord.pdf.ghostscript import ghostscript_version
from inkaccord.recall.digests import digest_of_code


def program_here() -> str:
    """Return the same where a task gives the same bytes: program, libraries and Ghostscript."""
    return f"{digest_of_code(__name__)} {ghostscript_version()}"
