"""The shelf: sample sheets, readings and picks, kept from order to order."""
