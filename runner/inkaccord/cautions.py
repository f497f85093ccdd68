"""What to mind where work can hurt someone, or be refused: the texts, each shown where it is done.

All of them defer to the makers' instructions, local rules and trained hands. Common practice, no
source.
"""

BLADES = (
    "Blades cut before they are felt. Follow the maker's instructions, your shop's and local "
    "rules: guards on, both hands on the controls, clamp down before the cut, never reach under "
    "the blade, lock the blade and switch off before changing it. Guillotines are for trained "
    "people."
)
"""With every cut plan."""
KNIFE = (
    "Blades: cut away from yourself, on a cutting mat and along a steel rule, fingers clear of the "
    "blade's way; follow the maker's instructions, and put the blade away at once."
)
"""With what is cut by hand."""
KNIFE_IN_BRIEF = (
    "steel rule, cutting mat, fingers clear of the blade",
    "steel rule, mat, fingers clear of the blade",
    "steel rule, mat; mind the blade",
    "mind the blade",
)
"""The same where little room is left, the longest first."""
EITHER_BLADE = (
    "Blades: steel rule, mat, fingers clear; at a guillotine the maker's rules and trained hands."
)
"""With what is cut by hand or at a guillotine."""
HEAT = (
    "Ask the makers of device and stock before envelopes, windows, gums or films go through a "
    "fuser or a dryer: they can melt inside."
)
"""With envelopes that a vendor prints."""
WHITE = (
    "White under ink lies thick and dries or cures late: let the sheet dry as the ink's maker says "
    "before it is stacked, touched or laid on an instrument; solvents and curing lamps by their "
    "safety sheets, in trained hands."
)
"""With sheets that carry white under ink."""
INKS_AND_HEAT = (
    "Inks, toners, solvents, laminates and heat: the makers' instructions and safety sheets, local "
    f"rules and trained hands come first. {HEAT}"
)
"""With what is to be printed, and with printed sheets that are to be handled."""
INKS_AND_HEAT_IN_BRIEF = "Inks, toners, heat: the makers' instructions and local rules come first."
WORK = (
    "Drying, scoring, folding, glue, inks, laminates and heat: follow the makers' instructions for "
    "this device, stock and finish, and the local rules for safe work and for the post; machines "
    "are for trained hands."
)
"""With what a vendor is to make."""
POST = (
    "What the post asks of sizes, clear places, type and contrast changes: show your post office "
    "a piece before you print, and a whole suite before you send."
)
"""With what bears an address."""
