"""Stage 4: what has to be printed or decided, and nothing that is known."""

from inkaccord.hooks import hookimpl
from inkaccord.knowledge.values import Translations
from inkaccord.order.model import Order
from inkaccord.planning.planner import plan_samples
from inkaccord.run.agreement import Agreement
from inkaccord.run.bench import Bench
from inkaccord.run.collected import Collected
from inkaccord.run.plan import SamplePlan


@hookimpl
def inkaccord_plan_samples(
    order: Order,
    collected: Collected,
    translations: Translations,
    agreement: Agreement,
    bench: Bench,
) -> SamplePlan:
    """Plan what is missing, weigh paper for what is in doubt, and ask about the rest."""
    return plan_samples(order, collected, translations, agreement, bench)
