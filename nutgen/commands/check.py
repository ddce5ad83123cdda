"""`check` and `stages`: the solved nut, and the work at the bench, on the screen."""

from nutgen.commands.common import answered, print_json, shown, solve_one
from nutgen.commands.options import AsJson, File, ShownIn
from nutgen.documents.blocks import Paragraph, Title
from nutgen.documents.screens.nut import nut_blocks
from nutgen.documents.texts import phrase
from nutgen.documents.words import sentence
from nutgen.spec.read import spec_hash


def check(file: File, units: ShownIn = None, as_json: AsJson = False) -> None:
    """Solve the nut; show the table of strings and every warning. Writes nothing."""
    spec, nut = solve_one(file)
    if as_json:
        from nutgen.jobs.record import nut_record

        print_json(nut_record(spec, nut))
        return

    shown(nut_blocks(nut, f"{file}, {spec_hash(spec)}"), spec, units)


def stages(file: File, units: ShownIn = None, as_json: AsJson = False) -> None:
    """Show the work at the bench stage by stage: cautions, sizes, tools, leaves. Writes nothing."""
    from nutgen.bench.materials import MATERIALS
    from nutgen.bench.stages import stages as stages_of
    from nutgen.documents.sheet.words import LOCAL
    from nutgen.documents.sheet.work import work_blocks

    spec, nut = solve_one(file)
    material = MATERIALS[spec.material]
    work = stages_of(nut, spec.tools, material)
    about = {"material": material.name, "cautions": material.cautions, "working": material.working}
    told = {"local_rules": sentence(LOCAL), "stages": work}
    made_of = "{file}, {hash}. A nut of {material}. All in {units} unless marked."
    line = phrase(made_of, file=file, hash=spec_hash(spec), material=material.name)
    document = (Title(spec.title), Paragraph(line, "note"), *work_blocks(work, material))
    answered(document, spec, units, about, told, as_json=as_json)
