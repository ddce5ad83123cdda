"""mill.txt and its screen: how to hold the piece, in which order to cut, how high each line runs, what is left."""

from nutgen.documents.blocks import Column, Document, Entry, Steps, Table, Title, remark, table_of
from nutgen.documents.machines.cautions import router_cautions
from nutgen.documents.strings import shelf_blocks, string_name
from nutgen.documents.texts import Text, phrase
from nutgen.finding import Finding
from nutgen.model.mill.milling import (
    FREE,
    STEP_DOWN,
    TAB_HEIGHT,
    Clamped,
    cleared,
    passes,
    tab_width,
    through,
    tip_below,
)
from nutgen.model.mill.runs import PAST, SKIN, WALL_ROOM, SlotCut
from nutgen.spec.forming import Cutter, Mill


def mill_blocks(work: Clamped, mill: Mill, cuts: tuple[SlotCut, ...], rest: tuple[Finding, ...]) -> Document:
    """How to hold it, what is cut in which order, each line of a slot, and what is left for saw and file.

    rest : steps after the router
    """
    return (
        Title("Mill"),
        Steps(_set_up(work)),
        Title("Order of work", 2),
        _order(work, mill, cuts),
        remark(
            "{units}. z: of the cutter's tip, below the stock's top. A pass goes down by {share} of the cutter's"
            " diameter. 3D: the surface is curved, no level cut makes it; without 3D passes it is filed to the"
            " template.",
            share=f"{100.0 * STEP_DOWN:.0f} %",
        ),
        *_lines(cuts),
        *_left(cuts),
        Title("Then by hand", 2),
        Steps(tuple(rest)),
        *shelf_blocks(work.nut),
        router_cautions(work.nut.material),
    )


def _set_up(work: Clamped) -> tuple[Text, ...]:
    stock, cutter = work.stock, work.cutter
    tall = passes(-through(work), cutter)
    return (
        phrase(
            "Stock {length:stock} long, {thickness:stock} thick, {height:stock} high, standing on its underside, the"
            " bridge side toward you: floors fall and fan, and lie open to a cutter from above only. Where the piece is"
            " short, glue wood to each end.",
            stock,
        ),
        phrase(
            f"{_clamps(work)} with a waste board under it and nothing before or behind it: the cutter goes all round"
            " the nut. It reaches {deep} deep; where yours is shorter, saw the ends.",
            clamp=work.beyond - cutter.diameter - FREE,
            deep=stock.height,
        ),
        "Zero: left corner toward you, on top of the stock; x right, y away from you, z up. mill.dxf,"
        " mill-part.step and mill-stock.step are all in that frame, in mm, 25.4 to the inch; every depth is below 0.",
        phrase(
            "Tabs of {wide} wide and {high} high stay at both ends (layer tabs, z is their top). Where your program"
            " knows no tabs, stop the outline at that z and saw the rest. Go round last, in {count} passes: until then"
            " the whole stock holds the nut.",
            wide=tab_width(work.nut.thickness),
            high=TAB_HEIGHT,
            count=tall,
        ),
        phrase(
            "mill-profile.dxf is the outline alone, for the same piece lying on its back and clamped likewise: cut"
            " outside, down to {down:fine}; zero: lower left corner.",
            down=-stock.thickness - tip_below(cutter),
        ),
        "Run the whole job once in the air and watch the clamps; then cut, a hand at the stop and none near the"
        " cutter. A piece that comes loose is thrown: no cut before both clamps are tight, no tab cut by machine.",
    )


def _clamps(work: Clamped) -> str:
    if work.warnings:
        return "Clamp it down on both ends, once they are long enough,"
    return "Clamp it down on both ends, on the {clamp} that the layer clamps shows,"


def _order(work: Clamped, mill: Mill, cuts: tuple[SlotCut, ...]) -> Table:
    """What is cut, one row an operation."""
    level, around = cleared(work), work.cutter
    clears = max(mill.cutters, key=lambda cutter: (cutter.end == "flat", cutter.diameter))
    surface = max(mill.cutters, key=lambda cutter: (cutter.end == "ball", cutter.diameter))
    slots = [cut for cut in cuts if cut.runs]
    rows: list[tuple[Entry, ...]] = [
        ("1", "top", "clear inside", _named(clears), level, passes(-level, clears)),
        ("2", "mill-part.step", "3D: land, bevel, edges", _named(surface), None, None),
    ]
    if slots:
        rows.append(("3", "slot-...", "along each line", "below", None, None))
    down = through(work)
    rows.append((str(len(rows) + 1), "outline", "outside, tabs stay", _named(around), down, passes(-down, around)))
    columns = (
        Column("step"),
        Column("layer or file"),
        Column("cut"),
        Column("cutter"),
        Column("z", "fine"),
        Column("passes", "count"),
    )
    return Table(columns, tuple(rows), "order")


def _lines(cuts: tuple[SlotCut, ...]) -> Document:
    """Where each line of a slot runs, and how high."""
    runs = [run for cut in cuts for run in cut.runs]
    if not runs:
        return ()
    places = [Column(title, "fine") for title in ("x front", "y", "z", "x back", "y", "z", "level")]
    return (
        Title("Lines of the slots", 2),
        Table(
            (Column("line"), *places, Column("passes", "count")),
            tuple((run.layer, *run.front, *run.back, run.level, run.passes) for run in runs),
            "lines",
        ),
        remark(
            "{units}. A layer each: slot-6 along the floor, slot-6-1 and on beside it, a line on either hand. In"
            " mill.dxf a line is one polyline, the tip of the cutter in space. By hand: a straight"
            " run through front and back, {past} and half the cutter past either face. A program that knows no z"
            " along a line runs the layer at level, whatever the file says.",
            past=PAST,
        ),
    )


def _left(cuts: tuple[SlotCut, ...]) -> Document:
    """What the lines leave in each slot."""
    return (
        Title("What they leave", 2),
        table_of(
            cuts,
            (Column("slot"), lambda cut: string_name(cut.slot)),
            (Column("largest", "setting_out"), "largest"),
            (Column("yours"), lambda cut: _named(cut.cutter) if cut.cutter else "-"),
            (Column("floor", "leaf"), "floor_left"),
            (Column("at level", "leaf"), "level_left"),
            (Column("walls", "leaf"), "walls_left"),
            (Column("then"), "then"),
            name="left",
        ),
        remark(
            "{units}. largest: the widest ball that enters, {room} clear of each wall. yours: the one at hand that"
            " gets lowest; one wider than the slot rides on its two edges, level by hand, as its line says. floor:"
            " the most that is left above the floor by the lines in space, {skin} all over it for the file; at"
            " level: by level ones.",
            room=WALL_ROOM,
            skin=SKIN,
        ),
    )


def _named(cutter: Cutter) -> Text:
    return phrase("{d:fine,bare} {end}", d=cutter.diameter, end=cutter.end)
