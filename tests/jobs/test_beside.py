"""Work done beside other work gives what it would have given here."""

import os
import time

import pytest

from nutgen.jobs.beside import beside


def test_result_comes_back_whole_and_as_often_as_asked() -> None:
    with beside(lambda: {"a": b"x" * 1_000_000}) as result:
        assert result() == {"a": b"x" * 1_000_000}
        assert result() is result()


def test_an_error_comes_out_where_the_result_is_asked_for() -> None:
    def fails() -> int:
        raise ValueError("no such bone")

    with beside(fails) as result, pytest.raises(ValueError, match="no such bone"):
        result()


def test_work_not_asked_for_ends_with_the_block() -> None:
    start = time.perf_counter()
    with beside(lambda: time.sleep(60)):
        pass
    assert time.perf_counter() - start < 30.0
    with pytest.raises(ChildProcessError):
        os.waitpid(-1, os.WNOHANG)


def test_nothing_of_it_is_printed(capfd: pytest.CaptureFixture[str]) -> None:
    print("here", end="")
    with beside(lambda: 1) as result:
        assert result() == 1
    assert capfd.readouterr().out == "here"
