"""Work done beside other work: in a copy of this process, on another core, where the system makes copies."""

import contextlib
import functools
import os
import pickle
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from typing import Any, TypeVar

T = TypeVar("T")


def _can_copy() -> bool:
    """Whether a copy of this process is safe and gains anything: Linux, one thread, a second core."""
    return sys.platform == "linux" and threading.active_count() == 1 and len(os.sched_getaffinity(0)) > 1


@contextlib.contextmanager
def beside(work: Callable[[], T]) -> Iterator[Callable[[], T]]:
    """Begin some work beside what follows; the result is had by calling what this gives.

    work : gives a value that can be pickled; must not print or write

    Where the work fails, or no copy can be made, it is done (again) when the result is asked for, so
    that its error comes out there. Work whose result is not asked for is ended with the block.
    """
    if not _can_copy():
        yield functools.cache(work)
        return
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        _work_and_end(work, reader, writer)
    os.close(writer)
    had = list[T]()

    def result() -> T:
        if not had:
            with os.fdopen(os.dup(reader), "rb") as pipe:
                data = pipe.read()
            had.append(pickle.loads(data) if data else work())
        return had[0]

    try:
        yield result
    finally:
        os.close(reader)
        if not had:
            os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)


def _work_and_end(work: Callable[[], Any], reader: int, writer: int) -> None:
    """The copy's whole life: no clean-up of what belongs to the original, no message but the result."""
    try:
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        os.close(reader)
        data = pickle.dumps(work(), protocol=pickle.HIGHEST_PROTOCOL)
        with os.fdopen(writer, "wb") as pipe:
            pipe.write(data)
    finally:
        os._exit(0)
