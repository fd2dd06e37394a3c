"""Ctrl-C while a draft is made: once, and the best so far is finished and written; twice, and nothing is."""

from __future__ import annotations

import signal
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from autoorch.solver.stop import Stop


@contextmanager
def interruptible(leave: Callable[[], object]) -> Iterator[Stop]:
    """A wish to stop that the first Ctrl-C asks; at the second `leave` is called, which is to end the process.

    A thread hears the signals through the wake-up socket and does both. Python's own handlers wait while the solver runs, two
    signals in that time are one to them, and an exception that they raise amid a pool's locks leaves those locked for good.
    Only the main thread may use it.
    """
    stop = Stop()
    ears, mouth = socket.socketpair()
    mouth.setblocking(False)

    def listen() -> None:
        if ears.recv(1):
            stop.ask()
        if ears.recv(1):
            leave()

    before = signal.signal(signal.SIGINT, lambda number, frame: None)
    woken = signal.set_wakeup_fd(mouth.fileno(), warn_on_full_buffer=False)
    listener = threading.Thread(target=listen, daemon=True)
    listener.start()
    try:
        yield stop
    finally:
        signal.set_wakeup_fd(woken)
        signal.signal(signal.SIGINT, before)
        mouth.close()
        listener.join()
        ears.close()
