"""Stage 5: each vendor's copy of the artwork."""

from inkaccord.hooks import hookimpl
from inkaccord.knowledge.values import Translations
from inkaccord.order.model import Order
from inkaccord.prepress.copies import make_copies
from inkaccord.run.bench import Bench
from inkaccord.run.collected import Collected
from inkaccord.run.recoloured import Recoloured


@hookimpl
def inkaccord_recolour(
    order: Order, collected: Collected, translations: Translations, bench: Bench
) -> Recoloured:
    """Recolour and prove every piece whose colours are all known."""
    return make_copies(order, collected, translations, bench)
