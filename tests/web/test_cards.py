"""What a step's card on an order's page offers."""

from inkaccord.run.plan import NextStep
from inkaccord.web.cards import StepCard


def test_a_sheet_that_was_read_can_still_be_looked_at_from_its_step() -> None:
    asked = NextStep(text="Lay the leaf beside sheet K7Q-XM3.", sheet="K7Q-XM3")
    assert StepCard(0, asked, None, None, "", None, None).looks_at == "K7Q-XM3"
    question = NextStep(text="What shall be done?")
    assert StepCard(0, question, None, None, "", None, None).looks_at is None
