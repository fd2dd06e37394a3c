"""The problem in plain integers, and what a draft of it is."""
