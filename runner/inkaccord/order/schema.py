"""The JSON Schema of an order file, with the kinds of vendor that are installed.

It allows what the loader reads (:mod:`inkaccord.order.meaning`): an editor that marks a value
which is read all the same would teach its user to distrust it.
"""

from collections.abc import Mapping
from typing import Any

from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from inkaccord.colour.builds import Build
from inkaccord.colour.paints import Paint
from inkaccord.colour.pairs import Pair
from inkaccord.order.going import Going
from inkaccord.order.kinds import VendorKind
from inkaccord.order.model import Order
from inkaccord.order.page_boxes import TrimPlace
from inkaccord.order.pieces import Folding
from inkaccord.order.vendors import Overs
from inkaccord.units import Points, write_length

_TEXT: JsonSchemaValue = {"type": "string"}
_ONLY_TEXT: dict[type, list[str]] = {
    Paint: ["cmyk 85 20 60 30", "rgb 20 92 78", "spot Name", "gray 50", "lab 42 58 30"],
    Build: ["cmyk 85 20 60 30", "rgb 20 92 78"],
    Pair: ["device@stock"],
}
"""What is written as text, with examples."""
_ALSO_TEXT: dict[type, JsonSchemaValue] = {
    Folding: {"type": "string", "examples": ["vertical", "horizontal", "4in"]},
    TrimPlace: {"type": "string", "examples": ["centred"]},
    Going: {"type": "string", "examples": ["round", "beside", "with reply-envelope"]},
    Overs: {"type": "string", "pattern": "%\\s*$", "examples": ["5%"]},
}
"""What is written as fields, or in short as text."""


class _Schema(GenerateJsonSchema):
    """Writes default lengths as an order would, and allows the ways of writing that are read."""

    def encode_default(self, dft: Any) -> Any:
        return write_length(dft) if isinstance(dft, Points) else super().encode_default(dft)

    def float_schema(self, schema: core_schema.FloatSchema) -> JsonSchemaValue:
        return _or_text(super().float_schema(schema), r"^\s*[-+\u2212]?[\d.,]+\s*$")

    def int_schema(self, schema: core_schema.IntSchema) -> JsonSchemaValue:
        return _or_text(super().int_schema(schema), r"^\s*[-+\u2212]?\d[\d ,']*$")

    def bool_schema(self, schema: core_schema.BoolSchema) -> JsonSchemaValue:
        return _or_text(super().bool_schema(schema), _careless(["yes", "no", "true", "false"]))

    def date_schema(self, schema: core_schema.DateSchema) -> JsonSchemaValue:
        # 20261127 is a number to an editor.
        return {"anyOf": [super().date_schema(schema), _TEXT, {"type": "integer"}]}

    def str_schema(self, schema: core_schema.StringSchema) -> JsonSchemaValue:
        return {**super().str_schema(schema), "type": ["string", "number", "boolean"]}

    def enum_schema(self, schema: core_schema.EnumSchema) -> JsonSchemaValue:
        return _or_text(
            super().enum_schema(schema), _careless([str(it.value) for it in schema["members"]])
        )

    def literal_schema(self, schema: core_schema.LiteralSchema) -> JsonSchemaValue:
        words = [str(it) for it in schema["expected"]]
        choices: list[JsonSchemaValue] = [
            super().literal_schema(schema),
            {"type": "string", "pattern": _careless(words)},
        ]
        numbers = [float(word) for word in words if word.replace(".", "").isdigit()]
        return {"anyOf": [*choices, {"enum": numbers}] if numbers else choices}

    def tuple_schema(self, schema: core_schema.TupleSchema) -> JsonSchemaValue:
        return {"anyOf": [super().tuple_schema(schema), _TEXT]}

    def model_schema(self, schema: core_schema.ModelSchema) -> JsonSchemaValue:
        fields, cls = super().model_schema(schema), schema["cls"]
        if cls in _ONLY_TEXT:
            # A flow list parts 'cmyk 2,8,45,0' at its commas, and fields are joined to a text.
            return {
                "type": ["string", "number", "array", "object"],
                "title": fields["title"],
                "description": fields["description"],
                "examples": _ONLY_TEXT[cls],
            }
        if cls in _ALSO_TEXT:
            return {"anyOf": [fields, _ALSO_TEXT[cls]]}
        return fields


def _or_text(schema: JsonSchemaValue, pattern: str) -> JsonSchemaValue:
    return {"anyOf": [schema, {"type": "string", "pattern": pattern}]}


def _careless(words: list[str]) -> str:
    """Return a pattern for words whose case, blanks and hyphens may differ."""

    def letter(sign: str) -> str:
        if sign.isalpha():
            return f"[{sign.upper()}{sign.lower()}]"
        return "[ _-]+" if sign in " _-" else f"[{sign}]"

    return f"^({'|'.join(''.join(map(letter, word)) for word in words)})$"


def order_schema(kinds: Mapping[str, VendorKind]) -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of an order file, for editors."""
    schema = Order.model_json_schema(schema_generator=_Schema)
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    schema["title"] = "inkaccord order"
    definitions = schema["$defs"]
    choices: list[dict[str, Any]] = [{"$ref": "#/$defs/Vendor"}]
    for name, kind in sorted(kinds.items()):
        options = kind.options.model_json_schema(schema_generator=_Schema)
        definitions.update(options.pop("$defs", {}))
        options.setdefault("properties", {})["kind"] = {"const": name}
        options["required"] = ["kind", *options.get("required", [])]
        options["title"] = f"vendor of the kind {name}"
        if kind.summary:
            options["description"] = kind.summary
        definitions[f"vendor-{name}"] = options
        choices.append({"$ref": f"#/$defs/vendor-{name}"})
    schema["properties"]["vendors"]["additionalProperties"] = {"anyOf": choices}
    return schema
