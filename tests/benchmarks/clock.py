"""Seconds of each step of the pipeline, taken by wrapping the functions that the pipeline calls."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from typing import Any
from unittest.mock import patch

from autoorch import delivery, pipeline

STEPS = {
    "reading": (pipeline, ("read_sketch",)),
    "roles": (pipeline, ("read_roles",)),
    "solving": (pipeline, ("build_material", "build_problem", "gather", "solve", "make_draft")),
    "realising": (pipeline, ("realise",)),
    "writing": (delivery, ("write",)),
}
ORDER = tuple(STEPS)


@contextmanager
def step_seconds() -> Iterator[dict[str, float]]:
    """Seconds by step of all that runs inside; "writing" is `delivery.write`."""
    spent = dict.fromkeys(ORDER, 0.0)

    def timed(step: str, function: Callable[..., Any]) -> Callable[..., Any]:
        def run(*args: Any, **kwargs: Any) -> Any:
            began = time.perf_counter()
            try:
                return function(*args, **kwargs)
            finally:
                spent[step] += time.perf_counter() - began

        return run

    with ExitStack() as stack:
        for step, (module, names) in STEPS.items():
            for name in names:
                stack.enter_context(patch.object(module, name, timed(step, getattr(module, name))))
        yield spent
