"""`check`: the solved nut on the screen."""

from nutgen.commands.common import AsJson, File, ShownIn, print_json, solve_one, units_for


def check(file: File, units: ShownIn = None, as_json: AsJson = False) -> None:
    """Solve the nut; show the table of strings and every warning. Writes nothing."""
    spec, nut = solve_one(file)
    if as_json:
        from nutgen.jobs.record import nut_record

        print_json(nut_record(spec, nut))
        return
    from nutgen.documents.paint.text import show
    from nutgen.documents.screens.nut import nut_blocks
    from nutgen.spec.read import spec_hash

    show(nut_blocks(nut, f"{file}, {spec_hash(spec)}"), units=units_for(spec, units))
