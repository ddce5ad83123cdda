"""`presets`, `new` and `schema`: where an instrument file comes from."""

from pathlib import Path
from typing import Annotated

import typer

from nutgen.commands.common import AsJson, print_json, say


def presets(as_json: AsJson = False) -> None:
    """List the instrument kinds to start from."""
    from dataclasses import asdict

    from nutgen.kinds import kinds
    from nutgen.screen import Column, Screen

    if as_json:
        print_json({"kinds": [asdict(kind) for kind in kinds()]})
        return
    columns = [Column("kind"), Column("what it is"), Column("scale"), Column("strings, bass to treble")]
    Screen().table(columns, [(kind.name, kind.title, kind.scale, kind.strings) for kind in kinds()])


def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The file to write.")],
    kind: Annotated[
        str | None, typer.Option("--from", metavar="KIND", help="An instrument kind; see `nutgen presets`.")
    ] = None,
    ask: Annotated[
        bool, typer.Option("--ask", help="Ask for the measurements one by one, the kind's as default.")
    ] = False,
) -> None:
    """Write a commented instrument file to edit, or ask for it measurement by measurement."""
    from nutgen.kinds import kind_path
    from nutgen.spec.faults import Fault, SpecFaults

    if kind is None and not ask:
        raise typer.BadParameter("say which with --from KIND (`nutgen presets` lists the kinds), or --ask")
    text = kind_path(kind).read_bytes() if kind else b""
    if file.exists():
        raise SpecFaults(str(file), [Fault("", "is there already and is left as it is; choose another name")])
    if not file.parent.is_dir():
        raise SpecFaults(str(file), [Fault("", f"there is no folder {file.parent}; make it first")])
    if ask:
        from nutgen.commands.ask import ask as converse
        from nutgen.commands.check import check

        converse(file, kind)
        check(str(file))
        return
    from nutgen.export.whole import write_all

    write_all(file.parent, {file.name: text})
    say(f"wrote {file}; measure, edit, then: nutgen check {file}")


def schema() -> None:
    """Print the JSON Schema of the instrument file, for editors."""
    from nutgen.spec.tables import Spec

    print_json(
        {
            "$schema": "https://json-schema.org/draft/2020-12/schema",
            "title": "nutgen instrument file",
            **Spec.json_schema(),
        }
    )
