"""Blocks as HTML, in pages that hold everything they need: templates, and files set inside them."""

from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template
from markupsafe import Markup

from nutgen.documents.blocks import Block, Table
from nutgen.documents.paint.svg import figure_svg, sample_svg
from nutgen.documents.paint.written import written, written_table
from nutgen.documents.texts import Text
from nutgen.documents.words.quantities import Units

TEMPLATES = Path(__file__).parents[1] / "templates"


def page_html(name: str, units: Units, **values: Any) -> bytes:
    """A template of a page, filled in; documents among the values are painted by its `document`.

    units   : of the reader
    returns : the file; the same values give the same bytes
    """

    def words(text: Text) -> str:
        return written(text, units)

    def table(block: Table) -> dict[str, Any]:
        columns, heads, rows = written_table(block, units)
        return {"columns": columns, "heads": heads, "rows": rows}

    text = _template(name).render(
        words=words, table=table, kind=_kind, figure_svg=figure_svg, sample_svg=sample_svg, inside=inside, **values
    )
    return text.encode(errors="replace")


def _kind(block: Block | Text) -> str:
    return type(block).__name__


@cache
def _template(name: str) -> Template:
    """A page to fill in; whatever is put in is taken for words, unless it says that it is markup."""
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    return environment.get_template(name)


def inside(name: str) -> Markup:
    """A file of the templates, to stand inside a page."""
    return Markup((TEMPLATES / name).read_text("utf-8"))
