"""`reuse`: will the old nut do?"""

from nutgen.commands.common import AsJson, File, ShownIn, print_json, solve_one, units_for


def reuse(file: File, units: ShownIn = None, as_json: AsJson = False) -> None:
    """Judge the old nut, slot by slot: keep, widen, too wide, too low, off position; and the shim that saves it."""
    from nutgen.bench.reuse import reuse as judge
    from nutgen.documents.paint.text import show
    from nutgen.documents.screens.reuse import reuse_blocks
    from nutgen.errors import SpecFaults
    from nutgen.finding import of_key, refusal
    from nutgen.jobs.record import head, plain

    spec, nut = solve_one(file)
    if spec.old_nut is None:
        raise SpecFaults(file, [refusal("file.no-old-nut", of_key("old_nut"))])
    judged = judge(nut, spec.old_nut)
    if as_json:
        print_json({**head(spec), **plain(judged)})
        return
    show(reuse_blocks(spec.title, judged), units=units_for(spec, units))
