"""`python -m autoorch`: the same as the `autoorch` command."""

from autoorch.cli import run

run()
