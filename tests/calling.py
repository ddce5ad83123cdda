"""The command line called within this process, which is some hundred times faster than one of its own.

A process of its own is right where the process is what is tested: signals, terminals, what is imported,
what the shell's surroundings do to the bytes.
"""

import contextlib
import io
import os
import signal
import subprocess
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from unittest.mock import patch

import pexpect
import pytest

import nutgen.cli

CODE = "from nutgen.cli import main; main()"
"""The command line for a Python of its own."""


@dataclass(frozen=True)
class Done:
    """What a command left behind: its exit code, its result and its chatter."""

    returncode: int
    stdout: str
    stderr: str


def run(*words: str, cwd: Path, columns: int = 80, env: Mapping[str, str] | None = None, stdin: str = "") -> Done:
    """Run `nutgen words...` in a folder; no stream of it is a terminal.

    env : the whole environment, where it is not this process's; COLUMNS is set beside it
    """
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    surroundings = {**(os.environ if env is None else env), "COLUMNS": str(columns)}
    with (
        contextlib.chdir(cwd),
        patch.dict(os.environ, surroundings, clear=True),
        patch.object(sys, "argv", ["nutgen", *words]),
        patch.object(sys, "stdin", io.StringIO(stdin)),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
        _signals_kept(),
    ):
        code = _exit_code()
    return Done(code, _text(out), _text(err))


def in_a_process(*words: str, cwd: Path, **surroundings: str) -> subprocess.CompletedProcess[str]:
    """Run `nutgen words...` in a process of its own, in some other surroundings."""
    command = [sys.executable, "-c", CODE, *words]
    env = {**os.environ, **surroundings}
    return subprocess.run(command, cwd=cwd, env=env, capture_output=True, text=True, timeout=180, check=False)


def _exit_code() -> int:
    with pytest.raises(SystemExit) as stop:
        nutgen.cli.main()
    return int(stop.value.code or 0)


def _text(stream: io.TextIOWrapper) -> str:
    stream.seek(0)
    return stream.read()


@contextlib.contextmanager
def _signals_kept() -> Iterator[None]:
    before = {number: signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def at_a_terminal(folder: Path, *words: str, columns: int = 80) -> pexpect.spawn:
    """`nutgen words...` in a folder, at a terminal of its own; what it is told is sent without a pause."""
    surroundings = {key: value for key, value in os.environ.items() if key != "COLUMNS"}
    child = pexpect.spawn(
        sys.executable, ["-c", CODE, *words], cwd=str(folder), encoding="utf-8", timeout=30,
        dimensions=(50, columns), env=surroundings,
    )  # fmt: skip
    child.delaybeforesend = None
    return child


def say(child: pexpect.spawn, question: str, text: str) -> None:
    """Answer a question once its prompt stands on the screen."""
    child.expect_exact(question)
    child.expect("> ?$")
    child.sendline(text)
