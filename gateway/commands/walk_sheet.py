"""How a walk ended → one page to print and to keep beside the box: the date, each float, how long each leg took, what to mend."""

from datetime import datetime
from html import escape
from pathlib import Path

from gateway.commands.own_files import refuse_what_is_not_ours
from gateway.commands.terminal_output import local_time
from gateway.errors import GatewayError
from gateway.facts import Event
from gateway.facts.harmless import harmless
from gateway.site import Site
from gateway.whole_file import write_whole

_STYLE = """body{font:14px/1.4 sans-serif;margin:2em;max-width:60em}table{border-collapse:collapse;width:100%}
th,td{border:1px solid #666;padding:.3em .5em;text-align:left;vertical-align:top}.line{margin-top:3em}"""
_BEGINS = '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Test after fitting'
_LEGS = (("heard_after_s", "heard"), ("sent_after_s", "left"), ("delivered_after_s", "arrived"))


def refuse_other_files(file: str, config: str) -> None:
    """Only another sheet is written over. Raises GatewayError."""
    refuse_what_is_not_ours(Path(file), Path(config), is_ours=_is_sheet, what="sheet", example="sheet.html")


def _is_sheet(file: Path) -> bool:
    with file.open("rb") as there:
        return there.read(len(_BEGINS)) == _BEGINS.encode()


def write_sheet(file: str, site: Site, ended: Event) -> None:
    """Raises GatewayError where the file cannot be written."""
    try:
        write_whole(Path(file), _page(site, ended).encode())
    except OSError as error:
        raise GatewayError(f"{file} cannot be written: {error.strerror}") from None


def _page(site: Site, ended: Event) -> str:
    at = local_time(datetime.fromisoformat(ended.detail["at"]), site.zone)
    rows = "\n".join(_row(site, tried) for tried in ended.detail["floats"])
    name = escape(harmless(site.settings.site.name))
    passed = "Passed." if ended.detail["passed"] else "Not passed: what stands under “to mend”, then walk again."
    return f"""{_BEGINS}, {name}</title>
<style>{_STYLE}</style></head><body><h1>Test after fitting: {name}</h1>
<p>{at}, messages to {escape(harmless(str(ended.detail["who"])))}. <strong>{passed}</strong>
Seconds count from the network's stamp on the text.</p>
<table><tr><th>Float</th><th>Result</th><th>When active</th><th>When idle</th><th>To mend</th></tr>
{rows}</table>
<p class="line">Done by ______________________ &nbsp; Signature ______________________</p></body></html>
"""


def _row(site: Site, tried: dict[str, object]) -> str:
    float_name = f"{site.tank_name(str(tried['tank']))} ({tried['controller']}, input {tried['input']})"
    cells = (float_name, tried["result"], _leg(tried["active"]), _leg(tried["idle"]), tried["why"] or "")
    return "<tr>" + "".join(f"<td>{escape(harmless(str(cell)))}</td>" for cell in cells) + "</tr>"


def _leg(leg: object) -> str:
    if not isinstance(leg, dict):
        return "nothing came"
    took = ", ".join(f"{name} {leg[key]:.1f} s" for key, name in _LEGS if leg[key] is not None)
    return f"{leg['text']} — {took}"
