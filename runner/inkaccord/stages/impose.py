"""Stage 6: pieces on sheets, one piece up on envelopes, or single pieces for the vendor to lay."""
