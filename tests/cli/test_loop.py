"""The whole way of an order, from an empty shelf to the vendors' folders."""

import hashlib
import json
import re
import zipfile

import jsonschema
import pikepdf
import pytest

from inkaccord.artwork.content.walk import walk
from inkaccord.colour.builds import Build
from inkaccord.run.record import run_schema
from inkaccord.testing import assert_boxes, assert_builds
from recording_kit import fill_in
from run_kit import state


def test_the_first_run_asks_for_one_sheet_a_pair_and_says_so_last(first_run):
    order, out = first_run
    run = json.loads((order / "out" / "run.json").read_text("utf-8"))
    assert {piece["status"] for piece in run["pieces"]} == {"waiting"}
    assert {f"{s['device']}@{s['stock']}" for s in run["samples"]} == {"press@white", "press@cream"}
    for sheet in run["samples"]:
        assert (order / "out" / sheet["path"]).read_bytes().startswith(b"%PDF")
        assert f"inkaccord record {sheet['id']}" in out
    assert out.strip().endswith(f"Then run the order again: inkaccord run {order}")
    assert not (order / "out" / "studio").exists()


def test_after_recording_the_order_runs_through(finished):
    out = finished / "out"
    run = json.loads((out / "run.json").read_text("utf-8"))
    jsonschema.validate(run, run_schema())
    assert run["exit_code"] == 0
    assert {piece["status"] for piece in run["pieces"]} == {"ready"}
    assert run["samples"] == []
    by_pair = {it["stock"]: it for it in run["translations"]}
    for it in by_pair.values():
        assert it["evidence"] == "read"
        assert it["delta_e_00"] < 0.6
    # The imaginary press prints alike on both stocks, so the pieces must agree.
    apart = [it for it in run["agreement"] if it["other"]]
    assert [it["verdict"] for it in apart] == ["surely inside"]


def test_vendor_files_carry_the_builds_and_no_old_colour(finished):
    out = finished / "out"
    run = json.loads((out / "run.json").read_text("utf-8"))
    prints = [file for file in run["files"] if file["what"] == "print"]
    assert {file["pieces"][0] for file in prints} == {"card", "envelope"}
    old = "cmyk 75 20 80 10"
    for file in prints:
        data = (out / file["path"]).read_bytes()
        stock = {"card": "white", "envelope": "cream"}[file["pieces"][0]]
        new = next(it["build"] for it in run["translations"] if it["stock"] == stock)
        assert_builds(data, Build.parse(new))
        with pikepdf.open(out / file["path"]) as pdf:
            assert old not in {str(use.colour.paint) for use in walk(pdf)}
            for page in pdf.pages:
                assert "/TrimBox" in page
                assert "/BleedBox" in page
    envelope = next(file for file in prints if file["pieces"] == ["envelope"])
    with pikepdf.open(out / envelope["path"]) as pdf:
        width, height = (float(x) for x in list(pdf.pages[0].MediaBox)[2:])
    assert sorted((width, height)) == pytest.approx([5.25 * 72, 7.25 * 72], abs=0.01)


def test_every_file_is_in_the_record_with_its_checksum(finished):
    out = finished / "out"
    run = json.loads((out / "run.json").read_text("utf-8"))
    recorded = {file["path"]: file["sha256"] for file in run["files"]}
    found = {
        path.relative_to(out).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in out.rglob("*")
        if path.is_file() and path.name not in {"run.json", ".memory.sqlite"}
    }
    assert recorded == found
    sums = dict(
        reversed(line.split("  ")) for line in (out / "studio/SHA256SUMS").read_text().splitlines()
    )
    for name, digest in sums.items():
        assert hashlib.sha256((out / "studio" / name).read_bytes()).hexdigest() == digest
    with zipfile.ZipFile(out / "studio" / "loop-studio.zip") as package:
        assert {name.split("/", 1)[1] for name in package.namelist()} == {*sums, "SHA256SUMS"}


def test_an_unchanged_order_writes_nothing(finished, inkaccord):
    before = state(finished)
    code, _, _ = inkaccord("run", finished)
    assert code == 0
    assert state(finished) == before


def test_a_run_from_scratch_gives_the_same_bytes(finished, inkaccord, tmp_path):
    code, _, err = inkaccord("run", finished, "--out", tmp_path / "again")
    assert code == 0, err
    first = {name: data for name, (_, data) in state(finished / "out").items()}
    second = {name: data for name, (_, data) in state(tmp_path / "again").items()}
    assert first == second


def test_a_file_that_was_lost_is_made_again(finished, inkaccord):
    path = finished / "out" / "packing-list.csv"
    data = path.read_bytes()
    path.unlink()
    assert inkaccord("run", finished)[0] == 0
    assert path.read_bytes() == data


def test_a_table_that_a_person_filled_in_is_never_overwritten(asked, inkaccord):
    table = next((asked / "out" / "samples").glob("*.txt"))
    table.write_text("my readings", "utf-8")
    path = asked / "order.yaml"
    path.write_text(path.read_text("utf-8").replace("A loop", "Another title"), "utf-8")
    assert inkaccord("run", asked)[0] == 3
    assert table.read_text("utf-8") == "my readings"


def test_nothing_is_written_outside_out_and_shelf(first_run, write_order, tmp_path):
    order, _ = first_run
    before = {order / path.name for path in write_order(tmp_path).iterdir()}
    new = {p for p in order.parent.rglob("*") if p.is_file()} - before
    outside = [p for p in new if not p.is_relative_to(order / "out")]
    assert {p.name.removesuffix("-wal").removesuffix("-shm") for p in outside} == {"shelf.sqlite"}


def test_readings_of_another_sheet_are_refused_and_nothing_is_kept(asked, inkaccord):
    two = max((asked / "out" / "samples").glob("*.txt"))
    fill_in(two, asked / "read.txt")
    read = (asked / "read.txt").read_text("utf-8")
    # Another sheet has another build in some place.
    other = re.sub(r"^A1 \S+ \S+ \S+ \S+", "A1 1 2 3 4", read, flags=re.MULTILINE)
    assert other != read
    (asked / "read.txt").write_text(other, "utf-8")
    code, _, err = inkaccord("record", two.stem, asked / "read.txt", "--order", asked)
    assert code == 2
    assert "read.txt" in err or two.stem in err
    shown = inkaccord("shelf", "--order", asked, "list", "--json")[1]
    assert {sheet["readings"] for sheet in json.loads(shown)["sheets"]} == {0}


@pytest.mark.slow
def test_picks_alone_wait_until_the_order_lets_the_eye_decide(asked, inkaccord, inkaccord_json):
    for table in sorted((asked / "out" / "samples").glob("*.txt")):
        code, _, err = inkaccord("record", table.stem, "--pick", "leaf=A1", "--order", asked)
        assert code == 0, err
    code, run = inkaccord_json("run", asked)
    assert code == 3
    assert {it["evidence"] for it in run["translations"]} == {"picked"}
    assert all(piece["status"] == "held" for piece in run["pieces"])


def test_colours_that_differ_hold_their_pieces_until_a_person_says_what_counts(
    finished, inkaccord_json
):
    path = finished / "order.yaml"
    path.write_text(
        path.read_text("utf-8").replace("lab: [52, -28, 22]", "lab: [20, 60, -70]"), "utf-8"
    )
    code, run = inkaccord_json("run", finished)
    assert code == 3
    assert {piece["status"] for piece in run["pieces"]} == {"held"}
    assert not list((finished / "out" / "studio").glob("*.pdf"))
    assert {step["kind"] for step in run["next"]} == {"question"}
    # The lines of the first choice, pasted at the end of the file, end the order.
    lines = [it["line"] for step in run["next"] for it in step["choices"][0]["answers"]]
    path.write_text("\n".join([path.read_text("utf-8"), *lines, ""]), "utf-8")
    code, run = inkaccord_json("run", finished)
    assert (code, run["next"]) == (0, [])
    assert {piece["status"] for piece in run["pieces"]} == {"ready"}
    assert {it["piece"] for it in run["accepted"]} == {"card", "envelope"}
    assert any(it["verdict"] == "surely outside" for it in run["agreement"])


def test_single_pieces_have_trim_and_bleed(finished, inkaccord):
    text = (finished / "order.yaml").read_text("utf-8")
    text = text.replace("delivers: sheets", "delivers: pieces\n    marks: false")
    (finished / "order.yaml").write_text(text, "utf-8")
    code, out, err = inkaccord("run", finished)
    assert code == 0, out + err
    assert_boxes((finished / "out/studio/loop-card.pdf").read_bytes(), "5in x 7in", bleed_pt=9)


@pytest.mark.slow
def test_released_regardless_an_order_ends_after_first_contact(finished, inkaccord_json):
    path = finished / "order.yaml"
    text = path.read_text("utf-8").replace("lab: [52, -28, 22]", "lab: [20, 60, -70]")
    path.write_text(text + "release: regardless\n", "utf-8")
    code, run = inkaccord_json("run", finished)
    assert (code, run["next"], run["samples"]) == (0, [], [])
    assert {piece["status"] for piece in run["pieces"]} == {"ready"}
    assert any(it["verdict"] == "surely outside" for it in run["agreement"])


def test_when_nothing_more_is_asked_the_last_lines_say_what_goes_to_whom(finished, inkaccord):
    code, out, _ = inkaccord("run", finished)
    assert code == 0
    *_, to, then, command = out[out.index("Nothing more is asked") :].splitlines()
    assert to.split() == ["to", "studio", str(finished / "out/studio"), "(card,", "envelope)"]
    assert then.startswith("What to write with it")
    assert command.split() == ["inkaccord", "message", str(finished)]


@pytest.mark.slow
def test_a_sheet_that_is_marked_as_printed_waits_whatever_its_order_asks_for(
    order, inkaccord, inkaccord_json
):
    _, run = inkaccord_json("run", order)
    sheet = run["samples"][0]["id"]
    assert inkaccord("shelf", "printed", sheet, "--order", order)[0] == 0
    path = order / "order.yaml"
    path.write_text(path.read_text("utf-8") + "release: regardless\n", "utf-8")
    _, run = inkaccord_json("run", order)
    (step,) = (it for it in run["next"] if it["sheet"] == sheet)
    assert step["kind"] == "record"
    assert step["text"].startswith(f"Record sheet {sheet}")
    listed = inkaccord_json("shelf", "list", "--order", order)[1]["sheets"]
    assert {it["id"]: it["state"] for it in listed}[sheet] == "printed, waiting"
