"""jigs.pdf and its screen: what to print, then jig by jig how it is set and used."""

from collections.abc import Iterator, Sequence

from nutgen.bench.materials import MATERIALS
from nutgen.bench.stages import stage_names
from nutgen.documents.blocks import (
    Block,
    Document,
    Figure,
    Findings,
    Paragraph,
    Points,
    Run,
    Space,
    Steps,
    Title,
    capital,
    phrase,
)
from nutgen.documents.jigs.scene import at_work
from nutgen.documents.jigs.tables import parts_table, settings_table, tools_table
from nutgen.documents.jigs.view import seen
from nutgen.documents.words.jigs import JIG_NAMES
from nutgen.finding import Finding, caution
from nutgen.geometry.lines import Chain, Line
from nutgen.geometry.mesh import Mesh
from nutgen.jigs.choose import Made
from nutgen.jigs.lay import FILLED
from nutgen.jigs.task import Task
from nutgen.model.print.amount import SKINS

CAUTIONS = tuple(caution(f"jig.caution-{name}") for name in ("fingers", "blades", "belt", "heat"))

WIDE, HIGH = 105.0, 56.0
"""Of a picture on paper, at most [mm]."""

BAR = Chain("check-bar", (Line((0.0, 4.0), (50.0, 4.0)),))
"""That proves a page [mm]."""


def jig_blocks(
    task: Task, made: Sequence[Made], left_out: tuple[Finding, ...], first: Finding | None = None
) -> Document:
    """What can hurt, what to print, every jig in the order of work, what stays by hand.

    first : of the trial nut, where there is one
    """
    trial = (Space(), Title(capital(JIG_NAMES["trial"]), 2), Paragraph(first)) if first else ()
    return (
        Title(f"Jigs for {task.nut.title}"),
        Points((*CAUTIONS, MATERIALS[task.nut.material].in_short), "!"),
        Space(),
        Title("Print", 2),
        Paragraph(_settings(task)),
        parts_table(made),
        Paragraph(
            "Time and filament are worked out from volume, walls and layers; a printer half or twice as fast takes"
            " twice or half as long.",
            "note",
        ),
        *trial,
        Space(),
        Title("Your tools in the guides", 2),
        *tools_table(task),
        *(block for one in made for block in _one(task, one)),
        Space(),
        Title("By hand", 2),
        Paragraph(_by_hand(task, made)),
        Findings(left_out, none=""),
    )


def _settings(task: Task) -> Run:
    table = task.printer
    grown = (
        phrase("{off:fine} is added to every side already.", off=table.added_per_side)
        if table.added_per_side
        else "First `nutgen coupon`, which measures your printer: every fit here rests on it."
    )
    return Run(
        (
            phrase(
                "As each part lies, without supports: a nozzle of {nozzle:machine}, layers of {layer:machine}, three"
                f" outer lines, {SKINS:g} solid layers above and below, {100 * FILLED:.0f} % filled, {{material}}.",
                nozzle=table.nozzle,
                layer=table.layer_height,
                material=table.material,
            ),
            grown,
        ),
        " ",
    )


def _one(task: Task, made: Made) -> Iterator[Block]:
    jig = made.jig
    yield Space()
    yield Title(capital(JIG_NAMES[jig.name]), 2)
    if not jig.outlines:
        yield picture(made)
    bodies = at_work(task, made)
    if any(layer == "blank" for layer, _ in bodies):
        lies = jig.parts[0].used
        turned = [(layer, Mesh(lies.apply_inverse(mesh.vertices), mesh.triangles)) for layer, mesh in bodies]
        yield Figure(f"work-{jig.name}", seen(turned, wide=WIDE, high=HIGH), caption="at work")
    if jig.hardware:
        yield Paragraph(Run(("It takes: ", Run(jig.hardware, "; "), ".")))
    yield Steps(jig.steps)
    yield from settings_table(jig)
    if jig.outlines:
        yield Figure("gauges", (*jig.outlines, BAR), caption="1:1; the bar must be 50 mm long")
    if jig.promise:
        yield Paragraph(Run(("It holds: ", Run(jig.promise, "; "), ".")))
    if jig.check:
        yield Paragraph(Run((jig.check.what, phrase(": it must be {size}.", size=jig.check.size))))
    yield Findings(jig.told, none="")


def picture(made: Made) -> Figure:
    """The parts of a jig apart from each other, the first as it lies on the bed."""
    lies = made.jig.parts[0].used
    bodies = [("jig", Mesh(lies.apply_inverse(one.moved.vertices), one.moved.triangles)) for one in made.parts]
    return Figure(f"jig-{made.jig.name}", seen(bodies, wide=WIDE, high=HIGH))


def _by_hand(task: Task, made: Sequence[Made]) -> str:
    held = {stage for one in made for stage in one.jig.stages}
    rest = [name for name in stage_names(task.nut) if name not in held]
    return f"These stages have no jig here: {', '.join(rest)}. `nutgen stages` has sizes and stops for all of them."
