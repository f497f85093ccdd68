"""The JSON Schema of an order file, with the kinds of vendor that are installed."""

from collections.abc import Mapping
from typing import Any

from pydantic.json_schema import GenerateJsonSchema

from inkaccord.order.kinds import VendorKind
from inkaccord.order.model import Order
from inkaccord.units import Points, write_length


class _Schema(GenerateJsonSchema):
    """Writes default lengths as an order would."""

    def encode_default(self, dft: Any) -> Any:
        return write_length(dft) if isinstance(dft, Points) else super().encode_default(dft)


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
