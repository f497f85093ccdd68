"""A mend that the order can make names the field to set, and the field is there."""

import re
from pathlib import Path

import inkaccord
from inkaccord.artwork.advice import ADVICE
from inkaccord.order.annotations import annotation_of, members, models_in
from inkaccord.order.model import Order

CORE = Path(inkaccord.__file__).parent
NAMED = re.compile(r"'([a-z_]+)(?:: ([a-z-]+))?'")
"""A field, or a field with the value to give it, as hints quote them."""
QUOTED_BUT_NO_FIELD = {"piece", "once", "forward"}


def fields_of(model, found, met=frozenset()):
    """Gather every field below a model with what it takes."""
    met = met | {model}
    for name, field in model.model_fields.items():
        annotation = annotation_of(field)
        found.setdefault(name, []).append(annotation)
        for member in members(annotation):
            parts = [member, *getattr(member, "__args__", ())]
            for part in parts:
                for inner in models_in(part):
                    if inner not in met and inner.__module__.startswith("inkaccord.order"):
                        fields_of(inner, found, met)
    return found


def choices(annotations):
    words = set()
    for annotation in annotations:
        for member in members(annotation):
            words |= {str(it) for it in getattr(member, "__members__", {}).values()}
            words |= {str(it) for it in getattr(member, "__args__", ()) if isinstance(it, str)}
            words |= {"true", "false"} if member is bool else set()
    return words


def hints():
    """Yield every hint of the checks, the layout and the stages, with its file."""
    for folder in ("artwork/preflight", "layout", "stages"):
        for path in sorted((CORE / folder).glob("*.py")):
            for found in re.finditer(r"hint=(.*?),\n\s*\)", path.read_text("utf-8"), re.DOTALL):
                text = "".join(re.findall(r'f?"((?:[^"\\]|\\.)*)"', found[1]))
                yield path.relative_to(CORE), text
    for code, advice in ADVICE.items():
        yield Path("artwork/advice.py"), f"{code}: {advice.order}"


def test_fields_and_values_that_hints_name_are_the_order_s():
    fields = fields_of(Order, {})
    named = 0
    for path, text in hints():
        for field, value in NAMED.findall(text):
            if field in QUOTED_BUT_NO_FIELD:
                continue
            assert field in fields, f"{path}: {text}"
            if value and value != "device":
                assert value in choices(fields[field]), f"{path}: {text}"
            named += 1
    assert named > 30


def test_the_mends_that_people_looked_for_are_named():
    said = " ".join(text for _, text in hints())
    for mend in ("bleed_repair: mirror", "layers: keep", "score: true"):
        assert f"'{mend}'" in said
