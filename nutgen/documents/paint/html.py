"""Pages of HTML that hold everything they need: templates, and files set inside them."""

from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template
from markupsafe import Markup

TEMPLATES = Path(__file__).parents[1] / "templates"


@cache
def template(name: str) -> Template:
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
