"""What is read of a typeface whose name is odd."""

import pikepdf

from artwork_kit import parsed
from inkaccord.pdf.typefaces import read_typeface


def test_a_name_in_the_letters_of_another_code_is_a_name() -> None:
    """A PDF name is any bytes (ISO 32000-2, 7.3.5): programs write it in the code of their land."""
    font = parsed(
        "<< /Type /Font /Subtype /TrueType /BaseFont /ABCDEF+#CB#CE#CC#E5 /FirstChar 65 "
        "/Widths [500 600] /FontDescriptor << /FontFile2 << >> /Ascent 800 >> >>"
    )
    assert isinstance(font, pikepdf.Dictionary)
    found = read_typeface(font)
    assert found.embedded
    assert found.subset
    assert found.widths == {65: 500.0, 66: 600.0}
    assert found.name.lower() == "#cb#ce#cc#e5"
