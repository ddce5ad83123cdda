"""Work done beside other work: in a copy of this process, on another core, where the system makes copies."""

import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from multiprocessing.connection import Connection
from typing import Any, TypeVar

from nutgen.process import end_with_parent, on_stop

T = TypeVar("T")


def _can_copy() -> bool:
    """Whether a copy of this process is safe and gains anything: Linux, one thread, a second core."""
    return sys.platform == "linux" and threading.active_count() == 1 and len(os.sched_getaffinity(0)) > 1


@contextmanager
def beside(works: Iterable[Callable[[], T]]) -> Iterator[Iterator[T]]:
    """Begin some works, one after the other, beside what follows; what this gives are their results, in their order.

    works : give values that can be pickled; must not print or write, nor cut or slice with manifold3d: its own threads
            are not in the copy, which would wait for them for ever

    Where a work fails, or no copy can be made, it and those after it are done (again) when their results are asked
    for, so that its error comes out there. Works whose results are not asked for are ended with the block.
    """
    if not _can_copy():
        yield map(_done, works)
        return
    works = tuple(works)
    context = multiprocessing.get_context("fork")  # a fresh process would first load what this one has
    reader, writer = context.Pipe(duplex=False)
    process = context.Process(target=_send, args=(works, writer), daemon=True)
    process.start()
    writer.close()

    def received(work: Callable[[], T]) -> T:
        try:
            return reader.recv()
        except EOFError:
            return work()

    try:
        yield map(received, works)
    finally:
        process.kill()
        process.join()
        reader.close()


def _done(work: Callable[[], T]) -> T:
    return work()


def _send(works: Iterable[Callable[[], Any]], writer: Connection) -> None:
    """The copy's whole life; an interrupt is for the original, and so is an error."""
    end_with_parent()
    on_stop(signal.SIG_DFL)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with suppress(Exception):
        for work in works:
            writer.send(work())
