"""Work done beside other work gives what it would have given here."""

import os
import time

import pytest

from nutgen.jobs.beside import beside


def test_results_come_back_whole_and_in_their_order() -> None:
    with beside([lambda: {"a": b"x" * 1_000_000}, lambda: {"b": b"y"}]) as results:
        assert list(results) == [{"a": b"x" * 1_000_000}, {"b": b"y"}]


def test_one_copy_does_it_all() -> None:
    with beside([os.getpid, os.getpid]) as results:
        first, second = results
    assert first == second != os.getpid()


def test_an_error_comes_out_where_the_result_is_asked_for() -> None:
    def fails() -> int:
        raise ValueError("no such bone")

    with beside([lambda: 1, fails, lambda: 2]) as results:
        assert next(results) == 1
        with pytest.raises(ValueError, match="no such bone"):
            next(results)
        assert next(results) == 2


def test_what_the_copy_cannot_send_is_done_here() -> None:
    with beside([lambda: lambda: os.getpid()]) as results:
        assert next(results)() == os.getpid()


def test_work_not_asked_for_ends_with_the_block() -> None:
    start = time.perf_counter()
    with beside([lambda: 1, lambda: time.sleep(60)]) as results:
        assert next(results) == 1
    assert time.perf_counter() - start < 30.0
    with pytest.raises(ChildProcessError):
        os.waitpid(-1, os.WNOHANG)


def test_nothing_of_it_is_printed(capfd: pytest.CaptureFixture[str]) -> None:
    print("here", end="")
    with beside([lambda: 1]) as results:
        assert next(results) == 1
    assert capfd.readouterr().out == "here"
