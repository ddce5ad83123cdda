"""`stages`: the work at the bench on the screen, cautions first."""

import json
from typing import TYPE_CHECKING, Any

from nutgen.commands.common import AsJson, File, print_json, solve_one

if TYPE_CHECKING:
    from collections.abc import Iterable

    from nutgen.bench.materials import Material, Note
    from nutgen.bench.stages import Stage
    from nutgen.documents.screen import Screen
    from nutgen.documents.sheet.words import SizeGroup, StageWords, Table


def stages(file: File, as_json: AsJson = False) -> None:
    """Show the work at the bench stage by stage: cautions, sizes, tools, leaves. Writes nothing."""
    from nutgen.bench.materials import MATERIALS
    from nutgen.bench.stages import stages as stages_of
    from nutgen.documents.screen import Screen
    from nutgen.spec.read import spec_hash

    spec, nut = solve_one(file)
    material = MATERIALS[spec.material]
    work = stages_of(nut, spec.tools, material)
    if as_json:
        print_json(_record(work, material, title=spec.title, spec_hash=spec_hash(spec)))
        return
    screen = Screen()
    screen.say(spec.title, style="bold")
    screen.say(f"{file}, {spec_hash(spec)}. A nut of {material.name}. All in mm unless marked.", style="dim")
    _show_care(screen, work, material)
    _show_work(screen, work, material)


def _show_care(screen: "Screen", work: "tuple[Stage, ...]", material: "Material") -> None:
    from nutgen.documents.sheet.words import LOCAL, hazards

    _show_notes(screen, f"Before you start, take care: {material.name}", material.cautions, "!")
    _show_notes(screen, "At the bench", hazards(work), "!")
    screen.say(LOCAL, style="bold")
    _show_notes(screen, f"Working {material.name}", (*material.files, *material.working), "-")


def _show_notes(screen: "Screen", head: str, notes: "Iterable[Note]", mark: str) -> None:
    from nutgen.documents.sheet.words import source_of

    screen.say()
    screen.say(head, style="bold")
    for note in notes:
        source = source_of(note)
        screen.say(f"{mark} {note.text}" + (f" [{source}]" if source else ""), hang="  ")


def _show_work(screen: "Screen", work: "tuple[Stage, ...]", material: "Material") -> None:
    from nutgen.documents.sheet.words import SIZES_READ, cuts, stage_words, stops

    screen.say()
    screen.say("Stages", style="bold")
    screen.say(SIZES_READ, style="dim")
    for stage in work:
        _show_stage(screen, stage_words(stage, material))
    plans = next(stage.slots for stage in work if stage.slots)
    screen.say()
    screen.say("Tools, slot by slot", style="bold")
    for cut in cuts(plans):
        screen.say(f"String {cut.string}: {cut.verdict}", hang="  ")
        for number, step in enumerate(cut.steps, start=1):
            screen.say(f"{number} {step}", indent="  ", hang="  ")
    screen.say()
    screen.say("Stop stacks", style="bold")
    _show_stops(screen, stops(plans))


def _show_stage(screen: "Screen", stage: "StageWords") -> None:
    screen.say()
    screen.say(f"{stage.number} {stage.name}", style="bold")
    screen.say(stage.do)
    for group in stage.sizes:
        _show_sizes(screen, group)
    screen.say()
    if stage.papers:
        screen.say(f"Papers: {stage.papers}", hang="  ")
    if stage.sizes:
        screen.say(f"Measure: {stage.measure}", hang="  ")
    for sizes, words in stage.under:
        screen.say(f"{sizes[:1].upper()}{sizes[1:]} past the limit: {words}.", hang="  ")
    screen.say(f"Take care: {' '.join(stage.cautions)}", hang="  ")


def _show_sizes(screen: "Screen", group: "SizeGroup") -> None:
    """Sizes as a table; what comes off next as its last column, or below where the terminal is narrow."""
    from nutgen.documents.screen import Column

    numbers = [Column(title, right=True) for title in ("stop at", "reach", "limit")]
    columns = [Column(group.heading or "size"), *numbers, Column("then off")]
    rows = [(line.short, line.stop, line.reach, line.limit, line.then) for line in group.lines]
    then = [f"{row[0]} {row[4]}" for row in rows if row[4]]
    beside = then and screen.fits(columns, [(*row[:4], row[4][:10]) for row in rows])
    shown = 5 if beside else 4
    screen.say()
    screen.table(columns[:shown], [row[:shown] for row in rows])
    if then and not beside:
        screen.say(f"Then off: {'; '.join(then)}.", hang="  ")


def _show_stops(screen: "Screen", table: "Table") -> None:
    """The stacks as a table where the terminal is wide enough, else line by line."""
    from nutgen.documents.screen import Column

    heads = [" ".join(part for part in head if part) for head in table.heads]
    columns = [Column(head, right=number) for head, number in zip(heads, table.right, strict=True)]
    screen.say(table.remark, style="dim")
    if screen.fits(columns, table.rows):
        screen.table(columns, table.rows)
        return
    for row in table.rows:
        if row[0]:
            screen.say(f"String {row[0]}")
        parts = [
            f"{leaves} {unit} ({out})" for leaves, unit, out in ((row[3], "mm", row[4]), (row[5], "in", row[6])) if out
        ]
        screen.say(f"{row[1]} {row[2]}: {' or '.join(parts) or row[3]}", indent="  ", hang="  ")


def _record(work: "tuple[Stage, ...]", material: "Material", **job: str) -> dict[str, Any]:
    from dataclasses import asdict

    from nutgen.documents.sheet.words import LOCAL

    record = {
        "units": "mm",
        **job,
        "material": material.name,
        "cautions": [asdict(note) for note in material.cautions],
        "local_rules": LOCAL,
        "working": [asdict(note) for note in (*material.files, *material.working)],
        "stages": [asdict(stage) for stage in work],
    }
    # floats to a millionth: far below any file or leaf, and free of noise digits
    return json.loads(json.dumps(record), parse_float=lambda text: round(float(text), 6))
