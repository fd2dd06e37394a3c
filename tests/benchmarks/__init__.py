"""Long measurements, run by hand: `python -m tests.benchmarks.acceptance --help`."""
