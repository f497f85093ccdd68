"""The built-in plugins: each stage and each delivery, under its name.

They are registered first and so asked last: an outside plugin can take the place of any of them.
"""

from types import ModuleType

from inkaccord.report import (
    deliver_agreement,
    deliver_order_sheets,
    deliver_packing_list,
    deliver_report,
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
    "order-sheets": deliver_order_sheets,
    "packing-list": deliver_packing_list,
    "report": deliver_report,
    "agreement-sheet": deliver_agreement,
}
