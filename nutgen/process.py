"""What a process has to do with those around it: streams that may be closed, what stops it, the parent it ends with."""

import os
import signal
import sys
from collections.abc import Callable
from typing import Any

WRITTEN: list[str] = []
"""Folders into which a call has placed files: what is to be told where something fails after that."""


def open_streams() -> None:
    """Put nothing in the place of standard streams that are closed, so that no file of ours comes to stand there."""
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            handle = os.open(os.devnull, os.O_RDWR)  # the lowest number that is free: its own
            setattr(sys, name, os.fdopen(handle, mode, encoding="utf-8"))


def on_stop(handler: Callable[[int, Any], Any] | signal.Handlers) -> None:
    """Have one handler for whatever asks a process to stop; a hang-up that is to be outlived stays ignored."""
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is not None and (name == "SIGINT" or signal.getsignal(number) is not signal.SIG_IGN):
            signal.signal(number, handler)


def end_with_parent() -> None:
    """End this process when the one that started it ends, however that is; on Linux, where the system can do it."""
    if sys.platform == "linux":
        import ctypes

        ctypes.CDLL(None).prctl(1, signal.SIGKILL)  # PR_SET_PDEATHSIG, as prctl(2) has it
