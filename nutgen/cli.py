"""The command line: which commands there are, and the one door that failures leave by.

An interrupt while the commands load ends like any other: nothing heavy is imported before `main` waits for it.
"""

import atexit
import gc
import os
import re
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import TYPE_CHECKING, Annotated, Any

from nutgen import __version__
from nutgen.process import WRITTEN, on_stop, open_streams

if TYPE_CHECKING:
    from typer import Typer

COMMANDS = {
    "presets": ("kinds", "The instrument kinds and natural pieces to start from."),
    "new": ("kinds", "A file to edit, or asked for measurement by measurement."),
    "check": ("check", "The solved nut: its strings, and every warning."),
    "make": ("make", "The files: template, solid, print, router."),
    "tension": ("tension", "How hard the strings pull, and what another set changes."),
    "heights": ("heights", "Clearance at every fret, buzz, fretted pitch, friction."),
    "setup": ("setup", "The whole set-up in its order: relief, saddle, nut, pitch."),
    "compare": ("history", "What changes from one file to another."),
    "reuse": ("reuse", "Whether the old nut will do, slot by slot."),
    "stock": ("stock", "Whether a bone or antler yields the nut, marks and cuts."),
    "stages": ("check", "The work at the bench, stage by stage."),
    "dryfit": ("dryfit", "How much to file off each slot, or the way back."),
    "log": ("history", "What was read and made over the months, and the wear."),
    "coupon": ("printed", "A small test print that measures the printer."),
    "jigs": ("printed", "Parts to print that hold the blank and guide the tools."),
    "schema": ("kinds", "JSON Schema of the files, for editors."),
    "explain": ("kinds", "Why a warning or a refusal comes up, and its cure."),
}
"""Every command in the order of the help: its module, and what the list of them says. Its own help is its docstring."""


def command_line(called: Sequence[str] = tuple(COMMANDS)) -> "Typer":
    """Every command and its help.

    called : words among which are the commands whose modules are loaded; of the others there is the name alone
    """
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
    for name, (module, listed) in COMMANDS.items():
        loaded = getattr(import_module(f"nutgen.commands.{module}"), name) if name in called else lambda: None
        app.command(name, short_help=listed)(loaded)

    @app.callback(invoke_without_command=True)
    def root(version: Annotated[bool, typer.Option("--version", help="Show the version and stop.")] = False) -> None:
        if version:
            print(f"nutgen {__version__}")
            raise typer.Exit

    return app


atexit.register(gc.freeze)  # what is left goes with the process: looking through it for garbage takes half a second


def main() -> None:
    """Run a command; every expected failure ends in one clear message and no traceback."""
    interrupts: list[int] = []

    def interrupt(number: int, _frame: object) -> None:
        interrupts.append(number)
        raise KeyboardInterrupt

    WRITTEN.clear()
    open_streams()
    on_stop(interrupt)
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")  # else it looks through all that is installed for some
    gc.set_threshold(50_000, 20, 20)  # a command is short: looking for garbage while loading is a tenth of its time
    try:
        commands = command_line(sys.argv[1:])
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
