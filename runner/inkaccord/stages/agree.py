"""Stage 3: whether the pieces agree."""

from inkaccord.hooks import hookimpl
from inkaccord.knowledge.values import Translations
from inkaccord.order.model import Order
from inkaccord.planning.agreeing import agree
from inkaccord.run.agreement import Agreement
from inkaccord.run.bench import Bench
from inkaccord.run.collected import Collected


@hookimpl
def inkaccord_agree(
    order: Order, collected: Collected, translations: Translations, bench: Bench
) -> Agreement:
    """Compare every two pieces in every colour that they share, and each with the aim."""
    return agree(order, collected, translations, bench)
