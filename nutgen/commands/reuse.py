"""`reuse`: will the old nut do?"""

from typing import TYPE_CHECKING

from nutgen.commands.common import AsJson, File, print_json, solve_one

if TYPE_CHECKING:
    from nutgen.bench.reuse import Reuse


def reuse(file: File, as_json: AsJson = False) -> None:
    """Judge the old nut, slot by slot: keep, widen, too wide, too low, off position; and the shim that saves it."""
    from nutgen.bench.reuse import reuse as judge
    from nutgen.errors import Fault, SpecFaults

    spec, nut = solve_one(file)
    if spec.old_nut is None:
        words = "missing; measure the old nut and write the table [old_nut] with centres, widths, floors"
        raise SpecFaults(file, [Fault("old_nut", words)])
    judged = judge(spec, nut, spec.old_nut)
    if as_json:
        from nutgen.bench.reuse_record import reuse_record
        from nutgen.jobs.record import plain

        print_json(plain(reuse_record(spec, judged)))
        return
    _show(spec.title, judged)


def _show(title: str, judged: "Reuse") -> None:
    from nutgen.commands.columns import show_points, show_split
    from nutgen.documents.screen import Column, Screen

    screen = Screen()
    screen.say(title, style="bold")
    screen.say(f"Old nut: {judged.verdict}. {judged.reason[0].upper()}{judged.reason[1:]}.")
    screen.say()
    titles = ("string", "gauge", "width", "wanted", "off", "floor", "wanted")
    rows = [
        [
            old.name,
            f"{old.slot.gauge:.2f}",
            f"{old.width:.2f}",
            f"{old.slot.width:.2f}",
            f"{old.off:+.2f}",
            f"{old.floor_height:+.2f}",
            f"{old.slot.floor_height:+.2f}",
        ]
        for old in judged.slots
    ]
    show_split(screen, [Column(word, right=index > 0) for index, word in enumerate(titles)], rows)
    screen.say()
    for old in judged.slots:
        words = [*(old.steps or ["keep"]), *([old.remark] if old.remark else [])]
        screen.say(f"{old.name}: {'; '.join(words)}", hang="  ")
    if judged.shim > 0.0 and judged.verdict == "shim and file":
        down = ", ".join(f"{old.name} {old.lower_by + judged.shim:.2f}" for old in judged.slots)
        screen.say(f"On a shim of {judged.shim:.2f}, file the floors down by: {down}", hang="  ")
    screen.say()
    screen.say(
        "All in mm. off: centre from its wanted place, positive to the treble side. floor: over the fret plane."
        " What counts as loose, off or too low is common practice.",
        style="dim",
    )
    show_points(screen, "Assumption", judged.assumed)
    if judged.verdict != "keep":
        screen.say("Bone and antler dust: work wet or with extraction, and wear a fitted mask.", style="dim")
