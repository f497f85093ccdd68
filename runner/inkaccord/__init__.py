"""One order, many printers, the same colour.

The package is laid out as the work flows; ``docs/architecture.md`` walks through it.
Importing ``inkaccord`` itself loads nothing heavy.
"""

from importlib.metadata import version

__version__ = version("inkaccord")
