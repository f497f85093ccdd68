"""The revisions, one for each version that changed tables or words: forwards only."""
