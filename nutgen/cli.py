"""The command line: which commands there are, and the one door that failures leave by.

An interrupt while the commands load ends like any other: nothing heavy is imported before `main` waits for it.
"""

import gc
import os
import re
import sys
from typing import TYPE_CHECKING, Annotated, Any

from nutgen import __version__
from nutgen.process import WRITTEN, on_stop, open_streams

if TYPE_CHECKING:
    from collections.abc import Callable

    from typer import Typer


def _commands() -> "tuple[Callable[..., None], ...]":
    """Every command, in the order of its help."""
    from nutgen.commands.check import check, stages
    from nutgen.commands.dryfit import dryfit
    from nutgen.commands.explain import explain
    from nutgen.commands.heights import heights
    from nutgen.commands.history import compare, log
    from nutgen.commands.kinds import new, presets, schema
    from nutgen.commands.make import make
    from nutgen.commands.printed import coupon, jigs
    from nutgen.commands.reuse import reuse
    from nutgen.commands.setup import setup
    from nutgen.commands.stock import stock
    from nutgen.commands.tension import tension

    before = presets, new, check, make, tension, heights, setup
    return *before, compare, reuse, stock, stages, dryfit, log, coupon, jigs, schema, explain


def command_line() -> "Typer":
    """Every command and its help."""
    import typer

    app = typer.Typer(
        name="nutgen",
        help="A new nut for a fretted instrument: from caliper readings to files on the bench.",
        no_args_is_help=True,
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode="markdown",  # which leaves the names of tables, as in [before], alone
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    for command in _commands():
        app.command()(command)

    @app.callback(invoke_without_command=True)
    def root(
        version: Annotated[bool, typer.Option("--version", help="Show the version and stop.")] = False,
    ) -> None:
        if version:
            print(f"nutgen {__version__}")
            raise typer.Exit

    return app


def main() -> None:
    """Run a command; every expected failure ends in one clear message and no traceback."""
    interrupts: list[int] = []

    def interrupt(number: int, _frame: object) -> None:
        interrupts.append(number)
        raise KeyboardInterrupt

    WRITTEN.clear()
    open_streams()
    on_stop(interrupt)
    gc.set_threshold(50_000, 20, 20)  # a command is short: looking for garbage while loading is a tenth of its time
    try:
        commands = command_line()
        _check_figures(sys.argv[1:])
        code = commands(standalone_mode=False) or 0
        sys.stdout.flush()
        sys.exit(_stopped() if interrupts else code)
    except Exception as error:
        # an interrupt that hits a compiled library while it loads comes out as an ImportError
        sys.exit(_stopped() if interrupts else _told(error))
    except KeyboardInterrupt:
        sys.exit(_stopped())


_LONG = re.compile(r"\"[^\"]{80,}\"|'[^']{80,}'|\S{80,}")
"""What somebody typed, where it takes more than a line."""


def _check_figures(words: list[str]) -> None:
    """Refuse a number in figures of another script; raises typer.BadParameter."""
    import typer

    for word in words:
        if not word.isascii() and re.fullmatch(r"(--[a-z-]+=)?[\d\s.,+-]+", word):
            raise typer.BadParameter(f'"{word}": write a number in the figures 0 to 9')


def _stopped() -> int:
    print("stopped; files that were not finished were left as they were", file=sys.stderr)
    return 1  # as where something cannot be made


def _told(error: Exception) -> int:
    """Say what went wrong; the exit code."""
    import typer

    from nutgen.commands.common import CANNOT, LONGEST_NAME, WRONG, cannot_told, faults_told, say, written_told
    from nutgen.errors import CannotBeMade, SpecFaults
    from nutgen.finding import echoed

    usage: Any = typer.BadParameter.__mro__[2]  # the base of every slip on the command line
    match error:
        case SpecFaults():
            say(faults_told(error))
            return WRONG
        case CannotBeMade():
            say(f"cannot be made:\n{cannot_told(error)}{written_told()}")
            return CANNOT
        case typer.Exit():
            return int(error.exit_code)
        case typer.Abort():
            return _stopped()
        case _ if isinstance(error, usage):
            said: Any = error
            said.message = _LONG.sub(lambda long: echoed(long[0], 40), echoed(said.message))
            said.show()
            return WRONG
        case OSError(filename=None):  # files have names, streams have none
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            if not isinstance(error, BrokenPipeError):
                say(f"the result was not shown: {(error.strerror or str(error)).lower()}{written_told()}")
            return CANNOT
        case OSError():
            where, what = echoed(str(error.filename), LONGEST_NAME), (error.strerror or str(error)).lower()
            say(f"{where}: {what}; nothing was written there{written_told()}")
            return CANNOT
        case _:
            raise error
