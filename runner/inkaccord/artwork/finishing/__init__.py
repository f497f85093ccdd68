"""What a vendor's copy needs besides its colours."""
