"""The record's form is frozen under its number: what would break a reader takes a new one."""

import copy
import json
import re
import sys
from pathlib import Path

import jsonschema
import pytest

from inkaccord.run.record import FORMAT, run_schema
from report_kit import mid_flight

DOCS = Path(__file__).parents[2] / "docs"


@pytest.fixture(scope="module")
def generate():
    sys.path.insert(0, str(DOCS))
    try:
        import generate
    finally:
        sys.path.pop(0)
    return generate


@pytest.fixture
def frozen():
    return json.loads((DOCS / "run.forms.json").read_text("utf-8"))


def _piece(schema):
    return schema["$defs"]["RecordedPiece"]["properties"]


def test_the_form_is_the_one_that_is_frozen_under_its_number(generate, frozen):
    assert str(FORMAT) in frozen
    assert generate.run_forms(run_schema(), FORMAT, frozen) == frozen


@pytest.mark.parametrize(
    "change",
    [
        lambda schema: schema["properties"].update(more={"type": "string"}),
        lambda schema: schema["properties"].pop("suites"),
        lambda schema: schema["required"].remove("suites"),
        lambda schema: _piece(schema).update(quantity={"type": "number"}),
        lambda schema: _piece(schema).update(amount=_piece(schema).pop("quantity")),
        lambda schema: _piece(schema)["status"].update({"$ref": "#/$defs/ExitCode"}),
        lambda schema: schema["$defs"]["PieceStatus"]["enum"].append("printed"),
    ],
    ids=["added", "taken", "optional", "another kind", "renamed", "another part", "another word"],
)
def test_another_form_under_the_same_number_is_refused(generate, frozen, change):
    schema = copy.deepcopy(run_schema())
    change(schema)
    with pytest.raises(SystemExit, match="raise FORMAT"):
        generate.run_forms(schema, FORMAT, frozen)
    raised = generate.run_forms(schema, FORMAT + 1, frozen)
    assert raised.keys() - frozen.keys() == {str(FORMAT + 1)}
    assert raised | frozen == raised


def test_other_words_and_other_names_of_parts_are_the_same_form(generate, frozen):
    text = json.dumps(run_schema()).replace("RecordedPiece", "PieceOfTheRecord")
    schema = json.loads(text)
    schema["title"] = schema["properties"]["suites"]["description"] = "other words"
    assert generate.run_forms(schema, FORMAT, frozen) == frozen


def test_a_field_called_like_a_word_of_the_schema_counts(generate):
    with_title = {"properties": {"title": {"type": "string", "title": "Title"}}}
    assert generate.form_of(with_title) == {"properties": {"title": {"type": "string"}}}


def test_every_number_says_in_the_docs_what_changed(frozen):
    page = (DOCS / "run-record.md").read_text("utf-8")
    assert re.findall(r"^\| (\d+) \| \S", page, re.M) == list(frozen)
    assert list(frozen) == [str(number) for number in range(1, FORMAT + 1)]


def test_a_record_keeps_to_its_schema_and_is_read_back_the_same():
    run = mid_flight().run
    written = json.loads(run.as_json())
    jsonschema.validate(written, run_schema())
    assert type(run).model_validate_json(run.as_json()) == run
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(written | {"format": FORMAT + 1}, run_schema())


def test_a_piece_a_translation_and_a_sheet_name_the_parts_of_their_pair():
    run = mid_flight().run
    for it in (run.pieces[0], run.translations[0], run.samples[0]):
        written = it.model_dump(mode="json")
        assert {part: written[part] for part in it.pair.parts} == it.pair.parts
        assert "pair" not in written
