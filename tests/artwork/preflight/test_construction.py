"""Checks of how a file is built: transparency, layers, version, protection."""

import io

import pikepdf
import pytest

from check_kit import CLEAN, RULES, TRIM, found, layered, states
from page_kit import written


@pytest.mark.parametrize(
    ("settings", "expected"),
    [
        ({"ca": 0.5}, True),
        ({"ca": 1}, False),
        ({"BM": pikepdf.Name.Multiply}, True),
        ({"BM": pikepdf.Name.Normal}, False),
    ],
)
def test_transparency(settings: dict[str, object], expected: bool) -> None:
    data = written("/G gs 50 50 9 9 re f", TRIM, ExtGState=states(**settings))
    assert ("transparency" in found(data, RULES.model_copy(update={"transparency": False}))) is (
        expected
    )
    assert "transparency" not in found(data)


def test_layers() -> None:
    assert set(found(layered(hidden=False))) == {"layers"}
    assert "Die line" in found(layered(hidden=True))["hidden-layer"].message
    keep = RULES.model_copy(update={"layers": "keep"})
    assert found(layered(hidden=False), keep) == {}


def test_version_and_protection() -> None:
    def as_version(version: str) -> bytes:
        with pikepdf.open(io.BytesIO(written(CLEAN, TRIM))) as pdf:
            out = io.BytesIO()
            pdf.save(out, force_version=version)
            return out.getvalue()

    rules = RULES.model_copy(update={"pdf_version": "1.6"})
    assert "PDF 1.7" in found(as_version("1.7"), rules)["pdf-version"].message
    assert "pdf-version" not in found(as_version("1.6"), rules)
    with pikepdf.open(io.BytesIO(written(CLEAN, TRIM))) as pdf:
        out = io.BytesIO()
        pdf.save(out, encryption=pikepdf.Encryption(owner="", user=""))
    assert "encrypted" in found(out.getvalue())
