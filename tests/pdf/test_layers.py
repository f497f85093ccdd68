"""Which layers show at first: ISO 32000-2:2020, table 99 (BaseState, ON, OFF)."""

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Pdf

from inkaccord.pdf.layers import Layers, merge_layers


def with_layers(default: dict[str, object], *named: tuple[str, str]) -> Pdf:
    """Return a file with layers, each in the list of the configuration that stands beside it."""
    pdf = Pdf.new()
    groups = {name: pdf.make_indirect(Dictionary(Type=Name.OCG, Name=name)) for name, _ in named}
    lists: dict[str, pikepdf.Array] = {}
    for name, where in named:
        lists.setdefault(f"/{where}", Array()).append(groups[name])
    pdf.Root.OCProperties = Dictionary(
        OCGs=Array(groups.values()), D=Dictionary({**default, **lists})
    )
    return pdf


@pytest.mark.parametrize(
    ("default", "hidden"),
    [
        ({}, {"notes"}),
        ({"/BaseState": Name.ON}, {"notes"}),
        ({"/BaseState": Name.OFF}, {"notes", "fold"}),
    ],
)
def test_base_state_counts_for_what_no_list_names(
    default: dict[str, object], hidden: set[str]
) -> None:
    with with_layers(default, ("type", "ON"), ("notes", "OFF"), ("fold", "Order")) as pdf:
        layers = Layers(pdf)
        assert set(layers.names.values()) == {"type", "notes", "fold"}
        assert layers.hidden == hidden

        with Pdf.new() as whole:
            merge_layers(whole, [whole, pdf])
            assert set(Layers(whole).names.values()) == {"type", "notes", "fold"}
            assert Layers(whole).hidden == hidden


def test_a_damaged_declaration_names_no_layer() -> None:
    with Pdf.new() as pdf:
        pdf.Root.OCProperties = Dictionary(OCGs=Array([3]), D=7)
        assert Layers(pdf).names == {}
        pdf.Root.OCProperties = Name.None_
        assert Layers(pdf).names == {}
