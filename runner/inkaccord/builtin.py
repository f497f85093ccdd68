"""The built-in plugins: each stage, each check and each delivery, under its name.

They are registered first and so asked last: an outside plugin can take the place of any of them.
"""

from types import ModuleType

PLUGINS: dict[str, ModuleType] = {}
