"""Stage 6: every piece that is ready laid into print files."""

from inkaccord.hooks import hookimpl
from inkaccord.knowledge.values import Translations
from inkaccord.order.model import Order
from inkaccord.prepress.imposing import impose_pieces
from inkaccord.run.bench import Bench
from inkaccord.run.collected import Collected
from inkaccord.run.imposed import Imposed
from inkaccord.run.recoloured import Recoloured


@hookimpl
def inkaccord_impose(
    order: Order,
    collected: Collected,
    translations: Translations,
    recoloured: Recoloured,
    bench: Bench,
) -> Imposed:
    """Make the print files of every piece that is ready."""
    return impose_pieces(order, collected, translations, recoloured, bench)
