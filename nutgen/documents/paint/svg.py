"""Pages and figures as SVG, in mm, with true arcs."""

from collections.abc import Iterator
from itertools import groupby

from markupsafe import Markup

from nutgen.documents.blocks import SAMPLE, Figure
from nutgen.documents.font import SUBSTITUTES
from nutgen.documents.lettering import Words
from nutgen.documents.paint.look import PAGE_STROKES
from nutgen.documents.paint.page import Linework, Page
from nutgen.formats.stamp import Stamp
from nutgen.geometry.lines import Arc, Chain, Line, Part
from nutgen.model.drawing import COLOURS

_LAYERS = "http://www.inkscape.org/namespaces/inkscape"
_AIR = 1.0  # mm, around a figure: half its widest line, and more
_ANCHOR = {"left": "start", "centre": "middle", "right": "end"}


def page_svg(page: Page, stamp: Stamp, *, about: str = "nut template at 1:1") -> bytes:
    """Paint one page: a group for each view, in it a layer for each kind of line; the words are a layer of their own.

    Layers are marked as drawing programs take them (groupmode and label in Inkscape's namespace). In a program each has
    its colour, on paper all are black.

    about : what it shows, for readers that do not see it
    """
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="{_LAYERS}" version="1.1"'
        f' width="{page.width:g}mm" height="{page.height:g}mm" viewBox="0 0 {page.width:g} {page.height:g}">',
        f"<title>{_text(stamp.title)}</title>",
        f"<desc>{_text(stamp.line)}; {_text(about)}, in mm, 25.4 to the inch; print at 100 %, no fitting</desc>",
        "<style>@media print { g[stroke] { stroke: black } }</style>",
    ]
    for item in page.items:
        lines += _lines(item, layered=True) if isinstance(item, Linework) else []
    words = [_words(item) for item in page.items if isinstance(item, Words)]
    return "\n".join([*lines, f"<g{_layer('words')}>", *words, "</g>", "</svg>", ""]).encode()


def _layer(name: str) -> str:
    return f' inkscape:groupmode="layer" inkscape:label="{name}"'


def figure_svg(figure: Figure, title: str) -> Markup:
    """A figure to stand in a page, its size in mm."""
    left, low, right, high = figure.box
    wide, tall = right - left + 2.0 * _AIR, high - low + 2.0 * _AIR
    box = f"{_number(left - _AIR)} {_number(-high - _AIR)} {_number(wide)} {_number(tall)}"
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" id="{figure.name}" role="img" aria-labelledby="{figure.name}-title"'
        f' width="{_number(wide)}mm" height="{_number(tall)}mm" viewBox="{box}" style="--wide:{_number(wide)}mm">',
        f'<title id="{figure.name}-title">{_text(title)}</title>',
        *_lines(Linework(f"{figure.name}-lines", 0.0, 0.0, figure.chains)),
        *(_words(label.on_page(0.0, 0.0)) for label in figure.labels),
        "</svg>",
    ]
    return Markup("\n".join(lines))


def sample_svg(chains: tuple[Chain, ...]) -> Markup:
    """The sample of a kind of line, for a legend."""
    lines = _lines(Linework("", 0.0, 1.0, chains))
    size = f'viewBox="0 0 {SAMPLE:g} 2" width="{SAMPLE:g}mm" height="2mm"'
    return Markup("\n".join([f'<svg class="sample" {size} aria-hidden="true">', *lines, "</svg>"]))


def xml_words(text: str, *, escaped: bool = False) -> str:
    """A text without the characters that XML cannot hold, and with those that it reads for itself written out."""
    plain = "".join(letter if _in_xml(letter) else " " for letter in text)
    return plain.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;") if escaped else plain


def _text(text: str) -> str:
    return xml_words(text, escaped=True)


def _in_xml(letter: str) -> bool:
    """Whether XML 1.0 allows a character at all (production 2, Char)."""
    return letter in "\t\n\r" or " " <= letter <= "\ud7ff" or "\ue000" <= letter <= "\ufffd" or letter > "\uffff"


def _words(words: Words) -> str:
    weight = ' font-weight="bold"' if words.bold else ""
    if words.turned:
        weight += f' transform="rotate(-90 {_number(words.x)} {_number(words.y)})"'
    return (
        f'<text x="{_number(words.x)}" y="{_number(words.y)}" font-family="{SUBSTITUTES}"'
        f' font-size="{words.size:g}"{weight} fill="{_grey(words.shade)}" text-anchor="{_ANCHOR[words.align]}"'
        f' textLength="{_number(words.length)}">{_text(words.text)}</text>'
    )


def _lines(figure: Linework, *, layered: bool = False) -> Iterator[str]:
    name = f' id="{figure.name}"' if figure.name else ""
    name += _layer(figure.name) if layered else ""
    yield f'<g{name} fill="none" stroke="black" stroke-linejoin="round">'
    for layer, chains in groupby(sorted(figure.chains, key=lambda chain: chain.layer), key=lambda c: c.layer):
        stroke = PAGE_STROKES[layer]
        look = f'stroke-width="{stroke.width:g}"'
        if stroke.pattern:
            look += f' stroke-linecap="round" stroke-dasharray="{" ".join(f"{dash:g}" for dash in stroke.pattern)}"'
        if layered:
            look += f' stroke="#{bytes(COLOURS.get(layer, (0, 0, 0))).hex()}"'
        name = f' id="{figure.name}.{layer}"' if figure.name else ""
        name += _layer(layer) if layered else ""
        yield f'<g{name} class="{layer}" {look}>'
        for chain in chains:
            yield f'<path d="{_path(figure, chain)}"/>'
        yield "</g>"
    yield "</g>"


def _path(figure: Linework, chain: Chain) -> str:
    start = figure.at(chain.parts[0].start)
    drawn = chain.parts[:-1] if chain.closed and isinstance(chain.parts[-1], Line) else chain.parts  # Z draws the last
    steps = [f"M{_number(start[0])} {_number(start[1])}", *(_step(figure, part) for part in drawn)]
    return " ".join([*steps, "Z"] if chain.closed else steps)


def _step(figure: Linework, part: Part) -> str:
    end = figure.at(part.end)
    to = f"{_number(end[0])} {_number(end[1])}"
    if not isinstance(part, Arc):
        return f"L{to}"
    radius = _number(part.radius)
    # up is down here, so counterclockwise in the drawing is sweep 0
    return f"A{radius} {radius} 0 {int(abs(part.sweep_deg) > 180.0)} {int(part.turning < 0)} {to}"


def _grey(shade: float) -> str:
    return f"#{round(shade * 255):02x}" + f"{round(shade * 255):02x}" * 2


def _number(value: float) -> str:
    return f"{value + 0.0:.6f}".rstrip("0").rstrip(".")
