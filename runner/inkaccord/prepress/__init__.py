"""An order's words made into print files: copies for a vendor, laid and finished."""
