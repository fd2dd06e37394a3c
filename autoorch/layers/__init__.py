"""The layers: what each adds to the sketch's own strands."""
