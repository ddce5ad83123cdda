"""The command line: which commands there are, and the one door that failures leave by.

An interrupt while the commands load ends like any other: nothing heavy is imported before `main` waits for it.
"""

import gc
import os
import signal
import sys
from typing import TYPE_CHECKING, Annotated, Any

from nutgen import __version__

if TYPE_CHECKING:
    from typer import Typer


def command_line() -> "Typer":
    """Every command and its help."""
    import typer

    from nutgen.commands.check import check
    from nutgen.commands.coupon import coupon
    from nutgen.commands.dryfit import dryfit
    from nutgen.commands.explain import explain
    from nutgen.commands.heights import heights
    from nutgen.commands.kinds import new, presets, schema
    from nutgen.commands.make import make
    from nutgen.commands.reuse import reuse
    from nutgen.commands.stages import stages
    from nutgen.commands.stock import stock
    from nutgen.commands.tension import tension

    app = typer.Typer(
        name="nutgen",
        help="A new nut for a fretted instrument: from caliper readings to files on the bench.",
        no_args_is_help=True,
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode="markdown",  # which leaves the names of tables, as in [before], alone
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    for command in (presets, new, check, make, tension, heights, reuse, stock, stages, dryfit, coupon, schema, explain):
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

    signal.signal(signal.SIGINT, interrupt)
    gc.set_threshold(50_000, 20, 20)  # a command is short: looking for garbage while loading is a tenth of its time
    try:
        code = command_line()(standalone_mode=False) or 0
        sys.exit(_stopped() if interrupts else code)
    except Exception as error:
        # an interrupt that hits a compiled library while it loads comes out as an ImportError
        sys.exit(_stopped() if interrupts else _told(error))
    except KeyboardInterrupt:
        sys.exit(_stopped())


def _stopped() -> int:
    print("stopped; files that were not finished were left as they were", file=sys.stderr)
    return 1  # as where something cannot be made


def _told(error: Exception) -> int:
    """Say what went wrong; the exit code."""
    import typer

    from nutgen.commands.common import CANNOT, WRONG, cannot_told, faults_told, say
    from nutgen.errors import CannotBeMade, SpecFaults

    usage: Any = typer.BadParameter.__mro__[2]  # the base of every slip on the command line
    match error:
        case SpecFaults():
            say(faults_told(error))
            return WRONG
        case CannotBeMade():
            say(f"cannot be made:\n{cannot_told(error)}")
            return CANNOT
        case typer.Exit():
            return int(error.exit_code)
        case typer.Abort():
            return _stopped()
        case _ if isinstance(error, usage):
            error.show()
            return WRONG
        case BrokenPipeError():
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            return CANNOT
        case OSError():
            where = f"{error.filename}: " if error.filename else ""
            say(f"{where}{(error.strerror or str(error)).lower()}; nothing was written")
            return CANNOT
        case _:
            raise error
