"""Work done beside other work: in a copy of this process, on another core, where the system makes copies."""

import functools
import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from multiprocessing.connection import Connection
from typing import Any, TypeVar

from nutgen.process import end_with_parent, on_stop

T = TypeVar("T")


def _can_copy() -> bool:
    """Whether a copy of this process is safe and gains anything: Linux, one thread, a second core."""
    return sys.platform == "linux" and threading.active_count() == 1 and len(os.sched_getaffinity(0)) > 1


@contextmanager
def beside(work: Callable[[], T]) -> Iterator[Callable[[], T]]:
    """Begin some work beside what follows; the result is had by calling what this gives.

    work : gives a value that can be pickled; must not print or write, nor cut or slice with manifold3d: its own threads
           are not in the copy, which would wait for them for ever

    Where the work fails, or no copy can be made, it is done (again) when the result is asked for, so
    that its error comes out there. Work whose result is not asked for is ended with the block.
    """
    if not _can_copy():
        yield functools.cache(work)
        return
    context = multiprocessing.get_context("fork")  # a fresh process would first load what this one has
    reader, writer = context.Pipe(duplex=False)
    process = context.Process(target=_send, args=(work, writer), daemon=True)
    process.start()
    writer.close()

    @functools.cache
    def result() -> T:
        try:
            return reader.recv()
        except EOFError:
            return work()

    try:
        yield result
    finally:
        process.kill()
        process.join()
        reader.close()


def _send(work: Callable[[], Any], writer: Connection) -> None:
    """The copy's whole life; an interrupt is for the original, and so is an error."""
    end_with_parent()
    on_stop(signal.SIG_DFL)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with suppress(Exception):
        writer.send(work())
