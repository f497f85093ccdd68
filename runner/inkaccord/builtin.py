"""The built-in plugins: each stage and each delivery, under its name.

They are registered first and so asked last: an outside plugin can take the place of any of them.
"""

from types import ModuleType

from inkaccord.report import (
    agreement_page,
    artwork_letter,
    client_page,
    html,
    order_sheet,
    packing_page,
    sample_order,
)
from inkaccord.stages import (
    agree,
    check_artwork,
    collect,
    draw_sheet,
    impose,
    plan_samples,
    recolour,
    translate,
)

PLUGINS: dict[str, ModuleType] = {
    "collect": collect,
    "translate": translate,
    "agree": agree,
    "plan-samples": plan_samples,
    "recolour": recolour,
    "impose": impose,
    "artwork-checks": check_artwork,
    "plain-sheets": draw_sheet,
    "order-sheets": order_sheet,
    "sample-orders": sample_order,
    "packing-list": packing_page,
    "report": html,
    "agreement-sheet": agreement_page,
    "client-page": client_page,
    "artwork-letters": artwork_letter,
}
