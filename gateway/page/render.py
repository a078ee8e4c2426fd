"""PageView → HTML, through a template that escapes everything; and the file, replaced in one step.

Source: Jinja2 (autoescape on, undefined names are errors). Nothing is loaded from anywhere; no script.
"""

from functools import lru_cache
from pathlib import Path
from typing import Any

from gateway.page import vessel
from gateway.page.view import PageView


def render(view: PageView) -> str:
    """The page."""
    return str(_template().render(page=view))


def write(file: str, html: str) -> None:
    """Replaces the file whole: a reader sees the old page or the new one."""
    target = Path(file)
    target.parent.mkdir(parents=True, exist_ok=True)
    making = target.with_name(f".{target.name}.making")
    making.write_text(html, "utf-8")
    making.replace(target)


@lru_cache(maxsize=1)
def _template() -> Any:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("gateway.page", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals.update(drawn=vessel.drawn, labels=vessel.labels)
    return environment.get_template("page.html.j2")
