"""What an artwork holds: every colour with its place and area, and the brand colour it is."""
