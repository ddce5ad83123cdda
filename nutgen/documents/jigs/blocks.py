"""jigs.pdf and its screen: what to print, then jig by jig how it is set and used."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from nutgen.bench.materials import MATERIALS
from nutgen.bench.stages import stage_names
from nutgen.documents.blocks import Block, Document, Figure, Findings, Paragraph, Points, Steps, Title, remark
from nutgen.documents.jigs.scene import Scene, scenes
from nutgen.documents.jigs.tables import parts_table, settings_table, tools_table
from nutgen.documents.jigs.view import seen
from nutgen.documents.lettering import Words
from nutgen.documents.sheet.dimensions import CHECK_BARS
from nutgen.documents.texts import Run, capital, phrase
from nutgen.documents.words.jigs import JIG_NAMES
from nutgen.finding import Finding, caution
from nutgen.geometry.lines import Chain, Line
from nutgen.geometry.mesh import Mesh
from nutgen.geometry.pose import Pose
from nutgen.jigs.choose import Made
from nutgen.jigs.lay import FILLED
from nutgen.jigs.task import Task
from nutgen.model.print.amount import SKINS

CAUTIONS = tuple(caution(f"jig.caution-{name}") for name in ("fingers", "blades", "belt", "heat"))

WIDE, HIGH, BETWEEN = 80.0, 46.0, 8.0
"""Of a picture on paper, at most, and from one to the next [mm]."""

NAMES, TYPE = 14.0, 2.6
"""Room for the names of its bodies, and their type [mm]."""

BARS = tuple(((0.0, y), (long, y), name) for y, (long, _, name) in zip((9.0, 4.0), CHECK_BARS.values(), strict=True))
"""That prove a page: their ends, their names [mm]."""


def jig_blocks(
    task: Task, made: Sequence[Made], left_out: tuple[Finding, ...], first: Finding | None = None
) -> Document:
    """What can hurt, what to print, every jig in the order of work, what stays by hand.

    first : of the trial nut, where there is one
    """
    trial = (Title(capital(JIG_NAMES["trial"]), 2), Paragraph(first)) if first else ()
    return (
        Title(f"Jigs for {task.nut.title}"),
        Points((*CAUTIONS, MATERIALS[task.nut.material].in_short), "!"),
        Title("Print", 2),
        Paragraph(_settings(task)),
        parts_table(made),
        remark(
            "Lengths in tables are in {units}, of filament in m. Time and filament are worked out from volume, walls"
            " and layers; a printer half or twice as fast takes twice or half as long."
        ),
        *trial,
        Title("Your tools in the guides", 2),
        *tools_table(task),
        *(block for one in made for block in _one(task, one)),
        Title("By hand", 2),
        Paragraph(_by_hand(task, made)),
        Findings(left_out, none=""),
    )


def _settings(task: Task) -> Run:
    table = task.printer
    grown = (
        phrase(
            f"{{off:fine}} is {'added to' if table.added_per_side > 0.0 else 'taken off'} every side already. Where a"
            " check asks for a change, write both in one as print.per_side, in place of coupon_slot.",
            off=abs(table.added_per_side),
        )
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
    yield Title(capital(JIG_NAMES[jig.name]), 2)
    yield from pictures(task, made)
    if jig.hardware:
        yield Paragraph(Run(("It takes: ", Run(jig.hardware, "; "), ".")))
    yield Steps(jig.steps)
    yield from settings_table(jig)
    if jig.outlines:
        bars = tuple(Chain("check-bar", (Line(start, end),)) for start, end, _ in BARS)
        names = (
            *(Words(end[0] + 2.0, end[1] - TYPE / 3.0, name, TYPE) for _, end, name in BARS),
            *(_named(one) for one in jig.outlines),
        )
        yield Figure("gauges", (*jig.outlines, *bars), names, "1:1; the bars must be as long as they say")
    if jig.promise:
        yield Paragraph(Run(("It holds: ", Run(jig.promise, "; "), ".")))
    yield Paragraph(Run((jig.check.what, phrase(": it must be {size}.", size=jig.check.size))))
    yield Findings(jig.told, none="")


def _named(gauge: Chain) -> Words:
    """What a gauge is, inside its outline."""
    left, _, _, top = gauge.box
    return Words(left + 2.0, top - 2.0 * TYPE, gauge.layer.removeprefix("gauge-"), TYPE)


def pictures(task: Task, made: Made) -> Iterator[Figure]:
    """A jig apart and step by step, two pictures beside each other."""
    for row, pair in enumerate(_pairs(scenes(task, made))):
        panels = [_panel(scene, made.jig.parts[0].used, place * (WIDE + BETWEEN)) for place, scene in enumerate(pair)]
        chains = tuple(one for lines, _ in panels for one in lines)
        yield Figure(f"jig-{made.jig.name}-{row + 1}", chains, tuple(one for _, words in panels for one in words))


def _pairs(found: tuple[Scene, ...]) -> list[tuple[Scene, ...]]:
    return [found[n : n + 2] for n in range(0, len(found), 2)]


def _panel(scene: Scene, lies: Pose, left: float) -> tuple[list[Chain], list[Words]]:
    """A picture from a place across on, its bodies named at its right, what it shows below."""
    frame = scene.lies or lies
    bodies = [
        replace(one, mesh=Mesh(frame.apply_inverse(one.mesh.vertices), one.mesh.triangles)) for one in scene.bodies
    ]
    named = NAMES if any(one.label for one in bodies) else 0.0
    lines, places = seen(bodies, wide=WIDE - named, high=HIGH, above_deg=scene.above_deg)
    right = max(chain.box[2] for chain in lines) + 3.0
    chains, words, y = [one.moved(left, 0.0) for one in lines], [], HIGH
    for label, place in sorted(places.items(), key=lambda one: -one[1][1]):
        y = min(y - TYPE * 1.5, place[1])
        words.append(Words(left + right, y - TYPE / 3.0, label, TYPE))
        chains.append(Chain("leaders", (Line((left + place[0], place[1]), (left + right - 0.6, y)),)))
    words.append(Words(left, -5.0, scene.words, TYPE, shade=0.35))
    return chains, words


def _by_hand(task: Task, made: Sequence[Made]) -> str:
    held = {stage for one in made for stage in one.jig.stages}
    rest = [name for name in stage_names(task.nut) if name not in held]
    return f"These stages have no jig here: {', '.join(rest)}. `nutgen stages` has sizes and stops for all of them."
