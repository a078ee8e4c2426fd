"""PageView → HTML, through a template that escapes everything; and the file, replaced in one step.

Source: Jinja2 (autoescape on, undefined names are errors). Nothing is loaded from anywhere; no script.
"""

from functools import lru_cache
from pathlib import Path
from typing import Any

from gateway.page import vessel
from gateway.page.view import PageView

READABLE, ENTERABLE = 0o644, 0o755
"""A web server is another user, and the service's own umask lets nobody in."""


def render(view: PageView) -> str:
    """The page."""
    return str(_template().render(page=view))


def write(file: str, html: str, *, for_all: bool = False) -> None:
    """Replaces the file whole: a reader sees the old page or the new one. `for_all`: whoever may enter the folder may read it."""
    target = Path(file)
    made = not target.parent.exists()
    target.parent.mkdir(parents=True, exist_ok=True)
    making = target.with_name(f".{target.name}.making")
    making.write_text(html, "utf-8")
    if for_all:
        making.chmod(READABLE)
        if made:
            target.parent.chmod(ENTERABLE)
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
