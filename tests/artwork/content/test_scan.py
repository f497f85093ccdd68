"""The byte scanner, against what it must find and against pikepdf's parser."""

import io

import pikepdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.artwork.content.operators import (
    COLOUR_OPERATORS,
    DEVICE_OPERATORS,
    FULL_OPERATORS,
    LEAN_OPERATORS,
)
from inkaccord.artwork.content.scan import after_string, operators
from outside import shared_pdfs

WANTED = LEAN_OPERATORS - {b"BI"}


def found(data: bytes) -> list[tuple[bytes, tuple[float, ...] | None, str | None]]:
    return [(one.word, one.numbers, one.name) for one in operators(data)]


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        pytest.param(b"1 0 0 0 k", [(b"k", (1, 0, 0, 0), None)], id="plain"),
        pytest.param(b"1 0 0 0k", [(b"k", (1, 0, 0, 0), None)], id="no-blank-before-operator"),
        pytest.param(b"0 0 1 0 0 k", [(b"k", (0, 0, 1, 0, 0), None)], id="extra-operand"),
        pytest.param(b"0 0 %k\n 0 1 k", [(b"k", (0, 0, 0, 1), None)], id="comment-between"),
        pytest.param(b"(1 0 0 0 k) Tj", [], id="string"),
        pytest.param(b"(a (b (c (d 1 g) e) f) 1 g) Tj 0 g", [(b"g", (0,), None)], id="deep-string"),
        pytest.param(rb"(\) 1 g) Tj 0 g", [(b"g", (0,), None)], id="escaped-bracket"),
        pytest.param(b"<0A 1 g> Tj 0 g", [(b"g", (0,), None)], id="hex-string"),
        pytest.param(b"/k 0 g /g 1 g", [(b"g", (0,), None), (b"g", (1,), None)], id="names"),
        pytest.param(
            b"/S << /A << /k (1 g) >> /B [1 0 g] >> BDC 0 g", [(b"g", (0,), None)], id="dictionary"
        ),
        pytest.param(b"/CS#30 cs", [(b"cs", (), "/CS0")], id="escaped-name"),
        pytest.param(b".5 /P1 scn", [(b"scn", (0.5,), "/P1")], id="number-and-name"),
        pytest.param(b"[1 2]0 d 1 g", [(b"g", (1,), None)], id="array-before"),
        pytest.param(b"1 0 0 RG/F 1 Tf", [(b"RG", (1, 0, 0), None)], id="operator-then-name"),
        pytest.param(
            b"+.5 g -1. g", [(b"g", (0.5,), None), (b"g", (-1,), None)], id="number-forms"
        ),
        pytest.param(b"1-2 g", [(b"g", None, None)], id="malformed-number"),
        pytest.param(b"gs1 kk rgb sck", [], id="longer-words"),
        pytest.param(
            b"q\x00Q\x0cq", [(b"q", (), None), (b"Q", (), None), (b"q", (), None)], id="nul"
        ),
        pytest.param(b"(never closed 1 g", [], id="open-string"),
        pytest.param(b"<< /never closed 1 g", [], id="open-dictionary"),
        pytest.param(b") > 1 g", [(b"g", (1,), None)], id="stray-delimiters"),
    ],
)
def test_finds_exactly_the_operators(
    data: bytes, expected: list[tuple[bytes, tuple[float, ...], str | None]]
) -> None:
    assert found(data) == expected


def test_tells_where_each_operator_stands() -> None:
    data = b"q  0.1 0.2 0.3 0.4 k\nf /X Do"
    assert [data[one.start : one.end] for one in operators(data)] == [
        b"q",
        b"0.1 0.2 0.3 0.4 k",
        b"/X Do",
    ]


@pytest.mark.parametrize(
    "samples", [b"1 g ", b"EI x", b"(EI ", b"\xff EI \x01\x02", b"\nEI\xfe", b"q EI"]
)
def test_passes_over_inline_image_data(samples: bytes) -> None:
    data = b"0 g BI /W 1 /H 1 /BPC 8 /CS /G /F /Fl ID " + samples + b"\nEI 1 g"
    words = [(one.word, one.numbers) for one in operators(data)]
    assert words == [(b"g", (0,)), (b"BI", ()), (b"g", (1,))]
    image = next(one.image for one in operators(data) if one.image is not None)
    assert data[slice(*image.data)] == samples


def test_counts_unpacked_samples_rather_than_looking_for_their_end() -> None:
    samples = b"\nEI 0 g 0 g "
    data = b"BI /W 4 /H 1 /BPC 8 /CS /RGB ID " + samples + b" EI 1 g"
    image = next(operators(data)).image
    assert image is not None
    assert data[slice(*image.data)] == samples
    assert [one.word for one in operators(data)] == [b"BI", b"g"]


def test_an_inline_image_without_end_swallows_the_rest() -> None:
    found_words = [one.word for one in operators(b"0 g BI /W 1 ID abc 1 g")]
    assert found_words == [b"g", b"BI"]


def test_a_string_that_never_closes_ends_with_the_data() -> None:
    assert after_string(b"(a(b)", 0) == 5


# -- pikepdf's parser as a second opinion -------------------------------------------------------


def by_parser(data: bytes) -> list[tuple[str, list[str]]]:
    """Return colour operators with operands as pikepdf's parser sees them."""
    with pikepdf.new() as pdf:
        instructions = pikepdf.parse_content_stream(pikepdf.Stream(pdf, data))
        return [
            (str(one.operator), [str(operand) for operand in one.operands])
            for one in instructions
            if str(one.operator).encode() in WANTED
        ]


def by_scanner(data: bytes) -> list[tuple[str, list[str]]]:
    result = []
    for one in operators(data):
        if one.word == b"BI":
            continue
        text = data[one.start : one.end].removesuffix(one.word)
        with pikepdf.new() as pdf:
            # The operands' own text, read as an array by pikepdf.
            array = pikepdf.Object.parse(b"[" + text + b"\n]")
            result.append((one.word.decode(), [str(v) for v in array]))
        del pdf
    return result


_number = st.one_of(
    st.integers(-999, 999).map(str),
    st.decimals(-9, 9, places=3).map(str),
    st.sampled_from([".5", "-.25", "+1", "1.", "0.759"]),
)
_blank = st.sampled_from([b" ", b"\n", b"\r\n", b"\t", b"  ", b"\x00", b" %c k\n", b"\x0c"])
_string = st.recursive(
    st.binary(max_size=6).map(
        lambda raw: raw.replace(b"\\", b"").replace(b"(", b"").replace(b")", b"")
    ),
    lambda inner: st.tuples(inner, inner).map(lambda two: b"a(" + two[0] + b" 1 g)" + two[1]),
    max_leaves=6,
).map(lambda text: b"(" + text + b")")
_name = st.sampled_from([b"/k", b"/CS0", b"/A#20B", b"/P1", b"/", b"/g.1"])
_hex = st.binary(max_size=5).map(lambda raw: b"<" + raw.hex().encode() + b">")
_simple = st.one_of(_number.map(str.encode), _string, _hex, _name)
_dictionary = st.lists(st.tuples(_name, _simple), max_size=3).map(
    lambda pairs: b"<<" + b" ".join(key + b" " + value for key, value in pairs) + b">>"
)
_array = st.lists(_simple, max_size=3).map(lambda items: b"[" + b" ".join(items) + b"]")
_other = st.sampled_from(
    [
        b"m",
        b"l",
        b"c",
        b"re",
        b"f",
        b"f*",
        b"B",
        b"S",
        b"Tj",
        b"TJ",
        b"BDC",
        b"EMC",
        b"Tf",
        b"cm",
        b"d",
    ]
)
_call = st.tuples(st.lists(st.one_of(_simple, _dictionary, _array), max_size=4), _other).map(
    lambda pair: [*pair[0], pair[1]]
)


@st.composite
def _colour(draw: st.DrawFn) -> list[bytes]:
    word = draw(st.sampled_from(sorted(WANTED)))
    if word in DEVICE_OPERATORS:
        count = DEVICE_OPERATORS[word][1]
        return [*(draw(_number).encode() for _ in range(count)), word]
    if word in (b"cs", b"CS", b"gs", b"Do"):
        return [draw(_name.filter(lambda name: len(name) > 1)), word]
    if word in (b"q", b"Q", b"d1"):
        return [word]
    return [*(draw(_number).encode() for _ in range(draw(st.integers(1, 5)))), word]


@st.composite
def _streams(draw: st.DrawFn) -> bytes:
    tokens = [
        token for call in draw(st.lists(st.one_of(_call, _colour()), max_size=14)) for token in call
    ]
    return b"".join(token + draw(_blank) for token in tokens)


@settings(max_examples=150, deadline=None)
@given(_streams())
def test_agrees_with_the_parser_on_random_streams(data: bytes) -> None:
    assert by_scanner(data) == by_parser(data)


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=300))
def test_never_fails_on_any_bytes(data: bytes) -> None:
    for wanted in (LEAN_OPERATORS, FULL_OPERATORS):
        end = 0
        for one in operators(data, wanted):
            assert end <= one.start < one.end <= len(data)
            end = one.end


@pytest.mark.slow
def test_agrees_with_the_parser_on_the_files_of_others() -> None:
    """The veraPDF corpus, pdf.js' and pikepdf's test files; unreadable streams left out."""
    compared = 0
    for path in shared_pdfs():
        try:
            pdf = pikepdf.open(path)
        except (pikepdf.PdfError, pikepdf.PasswordError):
            continue
        with pdf:
            for page in pdf.pages:
                contents = page.obj.get("/Contents")
                if not isinstance(contents, pikepdf.Stream):
                    continue
                try:
                    data = bytes(contents.read_bytes())
                    expected = [
                        str(one.operator)
                        for one in pikepdf.parse_content_stream(contents)
                        if str(one.operator).encode() in COLOUR_OPERATORS
                    ]
                except pikepdf.PdfError:
                    continue
                words = [one.word.decode() for one in operators(data, COLOUR_OPERATORS | {b"BI"})]
                assert [word for word in words if word != "BI"] == expected, path.name
                compared += len(expected)
    assert compared > 400


def test_the_parser_misses_what_renderers_paint() -> None:
    """Why the scanner splits ``0k``: pikepdf reads it as one unknown word."""
    with pikepdf.new() as pdf:
        words = [
            str(one.operator)
            for one in pikepdf.parse_content_stream(pikepdf.Stream(pdf, b"1 0 0 0k"))
        ]
    assert words == ["0k"]


def test_reads_a_whole_file_object() -> None:
    assert [one.word for one in operators(io.BytesIO(b"0 g").getvalue())] == [b"g"]
