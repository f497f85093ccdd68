import datetime
import hashlib

import pytest

from inkaccord.colour.builds import Build
from inkaccord.colour.pairs import Pair
from inkaccord.errors import ExitCode, FileError, OrderError
from inkaccord.models import Frozen
from inkaccord.order.kinds import VendorKind
from inkaccord.order.loading import load_order
from inkaccord.order.vendors import Device, Vendor
from inkaccord.units import PT_PER_IN


def mistakes(path, kinds=None):
    with pytest.raises(OrderError) as problem:
        load_order(path, kinds or {})
    assert problem.value.exit_code is ExitCode.WRONG
    return problem.value.findings


def only(path, kinds=None):
    findings = mistakes(path, kinds)
    assert len(findings) == 1, [str(finding) for finding in findings]
    return findings[0]


def test_a_good_order_loads(write_order):
    loaded = load_order(write_order(), {})
    order = loaded.order
    assert loaded.findings == ()
    assert order.date == datetime.date(2026, 10, 5)
    assert order.pieces["card"].trim.width_pt == 5 * PT_PER_IN
    card = order.jobs["card"]
    assert card.quantity == 23
    assert card.overs == 2  # 5 % of 23, rounded up
    assert card.pair == Pair(device="laser", stock="natural-cotton", setting="card")
    assert card.vendor_name == "studio"
    assert order.pairs_needed() == (card.pair,)


def test_every_mistake_is_reported_at_once_in_the_order_of_the_file(write_order):
    path = write_order(
        ("suites: 20", "suites: none"),
        ("lab: [33, -24, 4]", "lab: [133, -24, 4]"),
        ("cmyk 85 20 60 30", "cmyk 85 20 60"),
        ("size: letter", "size: leter"),
        ("delivers: sheets", "delivers: sheet"),
        ("device: laser", "device: lasr"),
    )
    found = [(f.place.line, f.place.field) for f in mistakes(path)]
    assert found == [
        (3, "suites"),
        (6, "colours.kelp.aim.lab[0]"),
        (7, "colours.kelp.in_artwork[0]"),
        (9, "stocks.natural-cotton.size"),
        (12, "vendors.studio.delivers"),
        (17, "pieces.card.device"),
    ]


def test_a_mistake_reads_as_file_line_column_field_and_mend(write_order):
    path = write_order(("device: laser", "device: lasr"))
    finding = only(path)
    assert str(finding) == (
        f"{path}:17:46: pieces.card.device: there is no device 'lasr' (did you mean 'laser'?)"
    )


@pytest.mark.parametrize(
    ("old", "new", "code", "words"),
    [
        ("suites: 20\n", "", "missing-field", "how many complete sets"),
        ("suites: 20", "suites: 20\nsuits: 3", "unknown-field", "no field 'suits'"),
        ("suites: 20", "suites: 20\nsuites: 30", "duplicate-key", "already in line 3"),
        ("trim: 5in x 7in", "trim: 5 x 7", "bad-value", "5in"),
        ("trim: 5in x 7in", "trim: a2 envelop", "bad-value", "a2-envelope"),
        ("stock: natural-cotton", "stock: soft", "unknown-stock", "no stock 'soft'"),
        ("lab: [33, -24, 4]", "lab: [33, -24, 4], by_eye: chip", "bad-value", "lab and by_eye"),
        ("aim: {lab: [33, -24, 4]}", "aim: {}", "bad-value", "exactly one"),
        ("lab: [33, -24, 4]", "by_eye: cmyk 85 20 60 30", "bad-value", "is numbers, and no thing"),
        ("aim: {lab: [33, -24, 4]}", "aim: {build: cmyk 1 2 3 4}", "bad-value", "go together"),
        ("order: evening", "order: ../evening", "bad-value", "not a name"),
        ("weight: 300 g/m2", "weight: heavy", "bad-value", "not a weight"),
        ("delivers: sheets", "kind: corner", "unknown-kind", "no plugin offers"),
        ("extra: 3", "extra: -3", "bad-value", "at least 0"),
        ("sheets: [letter]", "stocks: [kraft], sheets: [letter]", "unknown-stock", "kraft"),
        ("date: 2026-10-05", "date: someday", "bad-value", "date"),
    ],
)  # fmt: skip
def test_mistakes_by_kind(write_order, old, new, code, words):
    found = [f for f in mistakes(write_order((old, new))) if f.code == code]
    assert found, "the mistake was not found"
    assert words in f"{found[0].message} {found[0].hint}"
    assert found[0].place.line is not None


def test_near_names_are_suggested(write_order):
    finding = only(write_order(("delivers: sheets", "delivers: sheet")))
    assert finding.hint == "did you mean 'sheets'?"


def test_a_device_belongs_to_one_vendor_only(write_order):
    path = write_order(
        ("pieces:", "  shop:\n    devices: {laser: {}}\npieces:"),
    )
    finding = only(path)
    assert finding.code == "device-twice"
    assert "studio and shop" in finding.message


def test_one_artwork_colour_cannot_mean_two_brand_colours(write_order):
    path = write_order(
        (
            "stocks:",
            "  weed: {aim: {lab: [50, 0, 0]}, in_artwork: [CMYK 85  20 60 30]}\nstocks:",
        ),
    )
    assert only(path).code == "colour-shared"


def test_a_stock_that_the_device_does_not_take(write_order):
    path = write_order(
        ("stocks:", "stocks:\n  kraft: {size: letter}"),
        ("sheets: [letter]", "sheets: [letter], stocks: [kraft]"),
    )
    unused, finding = mistakes(path)
    assert unused.code == "unused-stock"
    assert finding.code == "stock-not-taken"
    assert finding.hint.startswith("it takes kraft; add 'natural-cotton'")


@pytest.mark.parametrize(
    ("new", "code", "words"),
    [
        ("assembly: [crad]\npieces:", "unknown-piece", "did you mean 'card'"),
        ("assembly: [card, card]\npieces:", "assembled-twice", "per_suite"),
        ("assembly: [tag]\npieces:\n  tag: {artwork: t.pdf, trim: 2in x 2in, device: laser, "
         "stock: natural-cotton, per_suite: 0}", "not-in-suite", "per_suite is 0"),
    ],
)  # fmt: skip
def test_an_assembly_that_cannot_be(write_order, new, code, words):
    finding = only(write_order(("pieces:", new)))
    assert finding.code == code
    assert words in f"{finding.message} {finding.hint}"
    assert finding.place.field == f"assembly[{1 if code == 'assembled-twice' else 0}]"


def test_a_file_name_of_unknown_words(write_order):
    path = write_order(
        ("delivers: sheets", "delivers: sheets\n    file_name: '{order}-{peace}'"),
    )
    finding = only(path)
    assert finding.place.field == "vendors.studio.file_name"
    assert "{peace} stands for nothing" in finding.message
    assert "{piece}" in finding.message


def test_words_that_yaml_1_1_would_turn_into_booleans_stay_words(write_order):
    path = write_order(
        ("aim: {lab: [33, -24, 4]}", "aim: {build: cmyk 1 2 3 4, on: laser@natural-cotton}")
    )
    aim = load_order(path, {}).order.colours["kelp"].aim
    assert aim.build == Build.cmyk(1, 2, 3, 4)
    assert aim.on == Pair(device="laser", stock="natural-cotton")


def test_an_alias_bomb_is_refused(write_order):
    rows = "\n".join(
        f"  {chr(98 + n)}: &{chr(98 + n)} [{', '.join(['*' + chr(97 + n)] * 9)}]" for n in range(8)
    )
    finding = only(write_order(text=f"order:\n  a: &a [x, x, x, x, x, x, x, x, x]\n{rows}\n"))
    assert finding.code == "endless-alias"


def test_an_alias_to_itself_is_refused(write_order):
    assert only(write_order(text="order: &a [*a]\n")).code == "endless-alias"


@pytest.mark.parametrize(
    ("raw", "code"),
    [
        (b"order: [unclosed\n", "bad-yaml"),
        (b"", "empty"),
        (b"- a list\n", "no-mapping"),
        (b"order: !!python/object/apply:os.system ['true']\n", "bad-value"),
        (b"[1]: one\n", "bad-key"),
    ],
)
def test_files_that_are_no_order(tmp_path, raw, code):
    path = tmp_path / "order.yaml"
    path.write_bytes(raw)
    assert code in {finding.code for finding in mistakes(path)}


def test_a_file_that_is_no_text_is_a_file_error(tmp_path):
    path = tmp_path / "order.yaml"
    path.write_bytes(b"order: x\ntitle: \xff\xfe\n")
    with pytest.raises(FileError) as problem:
        load_order(path, {})
    assert problem.value.findings[0].place.line == 2


def test_a_missing_file_is_a_file_error(tmp_path):
    with pytest.raises(FileError) as problem:
        load_order(tmp_path / "none.yaml", {})
    assert "none.yaml" in str(problem.value)


def test_an_order_without_a_vendor_is_told_so(write_order):
    written = "vendors:\n  studio:\n    delivers: sheets\n    overs: {percent: 5}\n    devices:\n"
    path = write_order(
        (written, "vendors: {}\n"), ("      laser: {sheets: [letter], setting: card}\n", "")
    )
    assert [finding.place.field for finding in mistakes(path)] == ["vendors", "pieces.card.device"]


def test_a_vendor_that_is_wrong_is_reported_once_beside_the_other_mistakes(write_order):
    path = write_order(("delivers: sheets", "delivers: sheet"), ("suites: 20", "suites: none"))
    assert [finding.place.field for finding in mistakes(path)] == [
        "suites",
        "vendors.studio.delivers",
    ]


def test_the_digest_is_of_what_was_read_though_the_file_changes_meanwhile(write_order, monkeypatch):
    path = write_order()
    read = path.read_bytes()

    def changed_after(file, _most_bytes):
        path.write_bytes(read + b"title: written while the order was loaded\n")
        return read

    monkeypatch.setattr("inkaccord.order.source.read_bytes", changed_after)
    loaded = load_order(path, {})
    assert (loaded.order.title, loaded.sha256) == ("", hashlib.sha256(read).hexdigest())


# --- kinds of vendor -------------------------------------------------------------------------


class CornerOptions(Frozen):
    device: str
    ink_limit: float = 280


def corner(profile=lambda name, o: Vendor(devices={o.device: Device(ink_limit=o.ink_limit)})):
    return {"corner": VendorKind(name="corner", options=CornerOptions, profile=profile)}


OF_KIND = (
    ("    delivers: sheets\n    overs: {percent: 5}\n    devices:\n"
     "      laser: {sheets: [letter], setting: card}\n",
     "    kind: corner\n    device: laser\n"),
)  # fmt: skip


def test_a_kind_of_vendor_makes_the_profile(write_order):
    order = load_order(write_order(*OF_KIND), corner()).order
    assert order.device("laser").ink_limit == 280


def test_a_wrong_option_of_a_kind_has_its_place(write_order):
    path = write_order(*OF_KIND, ("device: laser\npieces", "device: laser\n    ink: 3\npieces"))
    finding = only(path, corner())
    assert (finding.code, finding.place.line) == ("unknown-field", 14)
    assert "ink_limit" in (finding.hint or "")


@pytest.mark.parametrize(
    ("profile", "words"),
    [
        (lambda name, options: 1 / 0, "ZeroDivisionError"),
        (lambda name, options: "a vendor", "gave str"),
        (lambda name, options: Vendor(devices={}), "devices"),
    ],
)
def test_a_kind_that_fails_is_named_and_the_rest_still_checked(write_order, profile, words):
    path = write_order(*OF_KIND, ("suites: 20", "suites: 0"))
    findings = mistakes(path, corner(profile))
    assert [finding.code for finding in findings] == ["bad-value", "plugin-failed"]
    assert words in findings[1].message
    assert findings[1].source == "corner"


def test_options_that_do_not_go_together_read_as_the_plugin_says(write_order):
    def refuse(name, options):
        raise ValueError("no ink on Sundays")

    finding = only(write_order(*OF_KIND), corner(refuse))
    assert (finding.code, finding.message) == ("bad-value", "no ink on Sundays")


def test_pdfx4_without_a_profile_is_said_while_it_can_be_asked_for(write_order):
    finding = only(write_order(("delivers: sheets", "pdf: {standard: pdf/x-4}")))
    assert (finding.place.line, finding.place.field) == (12, "vendors.studio.pdf")
    assert "output_profile" in str(finding)
