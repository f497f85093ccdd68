"""A working vendor plugin: a distribution with an entry point, a test and a page of docs."""

import re
from importlib.resources import files
from pathlib import Path

from inkaccord.errors import OrderError
from inkaccord.files import replacing

_NAME = re.compile(r"^[a-z][a-z0-9]*(-[a-z0-9]+)*\Z")
TEMPLATES = {
    "pyproject.toml.txt": "pyproject.toml",
    "readme.md.txt": "README.md",
    "module.py.txt": "src/{module}/__init__.py",
    "test.py.txt": "tests/test_{module}.py",
}


def write_plugin(folder: Path, name: str) -> Path:
    """Write a plugin called ``name`` into ``folder/inkaccord-NAME`` and return that folder.

    Raises OrderError for a name that can't be one, and when the folder is there already.
    """
    if not _NAME.match(name):
        raise OrderError.of(
            "bad-name",
            f"{name!r} is not a plugin's name: expected small letters, digits and hyphens",
            hint="such as corner-shop",
        )
    home = folder / f"inkaccord-{name}"
    if home.exists():
        raise OrderError.of("not-empty", f"{home} is there already", hint="choose another name")
    module = f"inkaccord_{name.replace('-', '_')}"
    for template, target in TEMPLATES.items():
        text = (files("inkaccord.starter") / "plugin" / template).read_text("utf-8")
        text = text.replace("{{name}}", name).replace("{{module}}", module)
        with replacing(home / target.format(module=module)) as temporary:
            temporary.write_text(text, "utf-8")
    with replacing(home / "src" / module / "py.typed") as temporary:
        temporary.write_bytes(b"")
    return home
