"""From a draft to notated parts."""
