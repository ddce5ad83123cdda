"""`reuse`: will the old nut do?"""

from pathlib import Path
from typing import Annotated

import typer

from nutgen.bench.reuse import reuse as judge
from nutgen.commands.common import answered, solve_one
from nutgen.commands.conversation import must_be_terminal
from nutgen.commands.options import AsJson, File, ShownIn
from nutgen.commands.table_conversation import offer_to_keep, old_nut_at_terminal
from nutgen.documents.screens.reuse import reuse_blocks
from nutgen.errors import SpecFaults
from nutgen.finding import of_key, refusal
from nutgen.spec.playing import OldNut
from nutgen.spec.read import read_beside
from nutgen.spec.tables import Spec


def reuse(
    file: File,
    ask: Annotated[bool, typer.Option("--ask", help="Ask for the readings of the old nut, slot by slot.")] = False,
    units: ShownIn = None,
    as_json: AsJson = False,
) -> None:
    """Judge the old nut, slot by slot: keep, widen, too wide, too low, off position; and what saves it."""
    spec, nut = solve_one(file)
    old = _asked(file, spec) if ask else spec.old_nut
    if old is None:
        raise SpecFaults(file, [refusal("file.no-old-nut", of_key("old_nut"))])
    judged = judge(nut, old, spec.tools)
    answered(reuse_blocks(spec.title, judged), spec, units, judged, as_json=as_json)


def _asked(file: str, spec: Spec) -> OldNut:
    """Ask for the old nut, and keep it in the file where the maker says yes; a kind of ours is left as it is."""
    must_be_terminal(file, "reuse --ask", "write [old_nut] with edges, widths, floors")
    table = old_nut_at_terminal(spec)
    if Path(file).is_file():
        offer_to_keep(Path(file), "old_nut", table)
    return read_beside(OldNut, table, spec, at="old_nut")[0]
