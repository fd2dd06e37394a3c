"""Ctrl-C while a draft is made: once, and the best so far is finished and written; twice, and nothing is."""

from __future__ import annotations

import signal
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

from autoorch.solver.stop import Stop


@contextmanager
def interruptible() -> Iterator[Stop]:
    """A wish to stop that the first Ctrl-C asks; the second raises KeyboardInterrupt.

    While the solver runs, Python's own handlers wait, and two signals in that time are one to them: a thread hears each through
    the wake-up socket and ends the search, so that the handler's turn comes. Only the main thread may use it.
    """
    stop = Stop()
    pressed: list[int] = []
    heard = bytearray()

    def handle(number: int, frame: FrameType | None) -> None:
        pressed.append(number)
        if max(len(pressed), len(heard)) > 1:
            raise KeyboardInterrupt
        stop.ask()

    ears, mouth = socket.socketpair()
    mouth.setblocking(False)

    def listen() -> None:
        while signals := ears.recv(1):
            heard.extend(signals)
            stop.ask()

    before = signal.signal(signal.SIGINT, handle)
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
