"""`check`: the solved nut on the screen."""

from nutgen.commands.common import AsJson, File, print_json, solve_one


def check(file: File, as_json: AsJson = False) -> None:
    """Solve the nut; show the table of strings and every warning. Writes nothing."""
    spec, nut = solve_one(file)
    if as_json:
        from nutgen.jobs.record import nut_record

        print_json(nut_record(spec, nut))
        return
    from nutgen.commands.tables import show_nut
    from nutgen.documents.screen import Screen
    from nutgen.spec.read import spec_hash

    show_nut(Screen(), nut, f"{file}, {spec_hash(spec)}")
