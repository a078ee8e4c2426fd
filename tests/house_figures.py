"""How livable the code is, in figures: `python -m tests.house_figures [TREE]` counts a checkout (this one without an argument).

Static counts are by the syntax tree; the last two are of one low text that is run through `explain` (the daemon's own handlers in a
transaction that is rolled back) with every call of ours noted from `read_text` on. Nothing here is asserted: it is for comparing two trees.
"""

import ast
import io
import os
import subprocess
import sys
import tempfile
import tokenize
from collections import Counter, defaultdict
from pathlib import Path

HERE = Path(__file__).resolve().parents[1]
VAGUE = {"one", "said", "found", "seen", "wrong", "rest"}
CONFIGURATION = """
[site]
name = "Quandong Ridge"
timezone = "Australia/Sydney"
country = "AU"
[modem]
device = "simulated"
[store]
url = "sqlite:///{folder}/gateway.db"
[[controllers]]
id = "ridge"
name = "Ridge controller"
number = "0491 570 006"
[[controllers.rules]]
text = "LINE {{input}} {{state}} *"
means = "input"
active = ["MADE"]
idle = ["BROKE"]
[[tanks]]
id = "house"
name = "House tank"
shape = {{ kind = "upright-cylinder", diameter_m = 2.0, height_m = 1.8 }}
[[tanks.floats]]
controller = "ridge"
input = 1
means = "low"
level_m = 0.45
[[contacts]]
id = "wren"
name = "Wren"
number = "0491 570 156"
"""
TRACED = """
import sys
import tempfile
entered, reading = [], 0
def note(frame, event, argument):
    global reading
    code = frame.f_code
    if code.co_name == "read_text":
        reading += {"call": 1, "return": -1}.get(event, 0)
    if event == "call" and reading and code.co_filename.startswith(sys.argv[1]):
        entered.append(code.co_filename[len(sys.argv[1]) + 1 :])
from gateway.__main__ import main
import contextlib, io
sys.setprofile(note)
with contextlib.redirect_stdout(io.StringIO()):
    main(["explain", "LINE 1 MADE 0717", "--from", "0491 570 006", "--config", sys.argv[2]])
sys.setprofile(None)
rooms = [file.split("/")[0] for file in entered]
print(len(set(entered)), sum(1 for before, after in zip(rooms, rooms[1:]) if before != after))
"""


def main(tree: Path) -> None:
    """Prints the figures of a checkout."""
    files = sorted((tree / "gateway").rglob("*.py"))
    sources = {file: file.read_text("utf-8") for file in files}
    graph = import_graph(tree, sources)
    importers: dict[str, set[str]] = defaultdict(set)
    for importer, imported in graph.items():
        for module in imported:
            importers[module].add(importer)
    loops = [name for source in sources.values() for name in loop_variables(source)]
    in_functions = sum(imports_in_functions(source) for source in sources.values())
    base_names = Counter(file.stem for file in files if file.stem not in ("__init__", "__main__"))
    entered, changes = low_text(tree)
    for name, figure in (
        ("files", len(files)),
        ("lines", sum(source.count("\n") for source in sources.values())),
        ("files over 300 lines", sum(source.count("\n") > 300 for source in sources.values())),
        ("files in circles (imports in functions counted)", sum(len(circle) for circle in circles(graph))),
        ("files with one importer", sum(len(importers[module]) == 1 for module in graph)),
        ("imports of ours within functions", in_functions),
        ("`Any`", sum(names(source, "Any") for source in sources.values())),
        ("comment lines", sum(comment_lines(source) for source in sources.values())),
        ("vague loop variables, of all", f"{sum(name in VAGUE for name in loops)} of {len(loops)}"),
        ("base names that stand more than once", sum(count > 1 for count in base_names.values())),
        ("files that a low text enters (`explain`)", entered),
        ("changes of room on its way", changes),
    ):
        print(f"{name:50} {figure}")


def module_name(tree: Path, file: Path) -> str:
    """`gateway.rules.template_regex` of its file; a package by its own name."""
    parts = file.relative_to(tree).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def import_graph(tree: Path, sources: dict[Path, str]) -> dict[str, set[str]]:
    """Which of our modules each imports, wherever the import stands."""
    known = {module_name(tree, file) for file in sources}
    graph: dict[str, set[str]] = {}
    for file, source in sources.items():
        imported: set[str] = set()
        for node in ast.walk(ast.parse(source)):
            if isinstance(node, ast.ImportFrom) and node.module:
                dotted = {f"{node.module}.{alias.name}" for alias in node.names}
                imported |= (dotted & known) or ({node.module} & known)
            elif isinstance(node, ast.Import):
                imported |= {alias.name for alias in node.names} & known
        graph[module_name(tree, file)] = imported - {module_name(tree, file)}
    return graph


def circles(graph: dict[str, set[str]]) -> list[set[str]]:
    """The strongly connected parts with more than one file (Tarjan 1972)."""
    order: dict[str, int] = {}
    lowest: dict[str, int] = {}
    stack: list[str] = []
    parts: list[set[str]] = []

    def visit(module: str) -> None:
        order[module] = lowest[module] = len(order)
        stack.append(module)
        for imported in graph[module]:
            if imported not in order:
                visit(imported)
                lowest[module] = min(lowest[module], lowest[imported])
            elif imported in stack:
                lowest[module] = min(lowest[module], order[imported])
        if lowest[module] == order[module]:
            part = set(stack[stack.index(module) :])
            del stack[stack.index(module) :]
            if len(part) > 1:
                parts.append(part)

    for module in graph:
        if module not in order:
            visit(module)
    return parts


def loop_variables(source: str) -> list[str]:
    """The names that `for` binds, in loops and comprehensions."""
    targets = [node.target for node in ast.walk(ast.parse(source)) if isinstance(node, ast.For | ast.comprehension)]
    return [name.id for target in targets for name in ast.walk(target) if isinstance(name, ast.Name)]


def imports_in_functions(source: str) -> int:
    """Imports of our own modules that stand within a function."""
    functions = [node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.FunctionDef)]
    inner = {node for function in functions for node in ast.walk(function) if isinstance(node, ast.ImportFrom)}
    return sum(1 for node in inner if node.module and node.module.startswith("gateway"))


def names(source: str, name: str) -> int:
    """How often a name stands in the code."""
    return sum(isinstance(node, ast.Name) and node.id == name for node in ast.walk(ast.parse(source)))


def comment_lines(source: str) -> int:
    """Lines with a comment that is no waiver for a tool."""
    tokens = tokenize.generate_tokens(io.StringIO(source).readline)
    return sum(token.type == tokenize.COMMENT and "type: ignore" not in token.string for token in tokens)


def low_text(tree: Path) -> tuple[int, int]:
    """(files entered, changes of room) of one low text through `explain`, from reading it to its messages."""
    with tempfile.TemporaryDirectory(prefix="house-figures-") as folder:
        configuration = Path(folder) / "gateway.toml"
        configuration.write_text(CONFIGURATION.format(folder=folder), "utf-8")
        ended = subprocess.run(
            [sys.executable, "-c", TRACED, str(tree / "gateway"), str(configuration)],
            cwd=tree,
            env={**os.environ, "PYTHONPATH": str(tree)},
            capture_output=True,
            text=True,
            check=True,
        )
    entered, changes = ended.stdout.split()
    return int(entered), int(changes)


if __name__ == "__main__":
    main(Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else HERE)
