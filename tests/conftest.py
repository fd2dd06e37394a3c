"""What holds for every test: how long an example of a property takes is no fault of the code on a busy machine."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("patient", deadline=None)
settings.load_profile("patient")
