"""Every regular expression of the project, as its source has it."""

import ast
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
FUNCTIONS = {
    "compile",
    "match",
    "search",
    "fullmatch",
    "sub",
    "subn",
    "split",
    "findall",
    "finditer",
}
_TERMINAL = re.compile(r"^[A-Z_]+(?:\.-?\d+)?: /(.+)/$", re.M)
_SCRIPT = re.compile(
    r"(?<=[=(,:] )/(?![/*])(?:\\.|[^/\n\\])+/[a-z]*|(?<=[=(,:])/(?![/*])(?:\\.|[^/\n\\])+/[a-z]*(?=[.,)])"
)


def _text(node, constants):
    """The text of a literal, names of the module's own texts filled in; ``None`` for others."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.Name):
        return constants.get(node.id)
    if isinstance(node, ast.FormattedValue):
        return _text(node.value, constants)
    if isinstance(node, ast.JoinedStr):
        parts = [_text(value, constants) for value in node.values]
        return None if None in parts else "".join(parts)
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        parts = [_text(node.left, constants), _text(node.right, constants)]
        return None if None in parts else "".join(parts)
    return None


def of_module(path):
    """The patterns of a Python file; ``None`` where one isn't written out there."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    constants = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            found = _text(node.value, constants)
            if found is not None:
                constants[node.targets[0].id] = found
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        called = node.func
        is_re = (
            isinstance(called, ast.Attribute)
            and isinstance(called.value, ast.Name)
            and called.value.id == "re"
            and called.attr in FUNCTIONS
        )
        name = getattr(called, "attr", getattr(called, "id", ""))
        if (is_re or name in ("RegexField", "RegexValidator")) and node.args:
            yield _text(node.args[0], constants)
        if name == "re_path":
            yield _text(node.args[0], constants)


def everywhere():
    """(where, pattern) of Python, the grammar and scripts."""
    for package in ("gymsite", "members", "scoring"):
        for path in sorted((ROOT / package).rglob("*.py")):
            for pattern in of_module(path):
                yield str(path.relative_to(ROOT)), pattern
        for path in sorted((ROOT / package).rglob("*.lark")):
            for pattern in _TERMINAL.findall(path.read_text(encoding="utf-8")):
                yield str(path.relative_to(ROOT)), pattern.replace("\\/", "/")
        for path in sorted((ROOT / package).rglob("*.js")):
            for pattern in _SCRIPT.findall(path.read_text(encoding="utf-8")):
                yield str(path.relative_to(ROOT)), pattern
        for path in sorted((ROOT / package).rglob("*.html")):
            for pattern in re.findall(r'\spattern="([^"]+)"', path.read_text(encoding="utf-8")):
                yield str(path.relative_to(ROOT)), pattern
