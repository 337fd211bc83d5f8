"""Find every text that reaches `say`, by following what is passed to it back to its literals.

A text may come as a literal, from a constant, a table, a loop over one, a parameter, what a
function returns, or an attribute that some record is made with. Where none of these leads to a
literal the place is told: a text that is made up at run time can never be translated.
"""

import ast
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

EACH, PICKED = "each", "picked"  # what a loop takes of a value; what an unknown key takes
Steps = tuple[str | int, ...]
_SCOPES = (ast.FunctionDef, ast.Lambda, ast.Module)
_COMPREHENSIONS = (ast.GeneratorExp, ast.ListComp, ast.SetComp)
_PASS_ON = {"tuple", "list", "sorted", "set", "dict", "iter", "reversed", "str", "replace"}
_WRITTEN_OUT = (ast.Constant, ast.Tuple, ast.Dict, ast.IfExp)
_ELSEWHERE = {"name", "key", "message", "description", "family"}
_WORDS = {"title", "label", "help", "hint", "why", "meaning", "what", "whose", "undated"}
_WORDED = {"say", "phrase", "listed", "sentence", "joined", "line"}
_DEEPEST, _SHOWN = 5, 80


class Module:
    """One module: its tree, what each part of it lies in, and what it calls by which name."""

    def __init__(self, name: str, text: str) -> None:
        self.name = name
        self.tree = ast.parse(text)
        self.within = {
            child: node for node in ast.walk(self.tree) for child in ast.iter_child_nodes(node)
        }

    def scopes(self, node: ast.AST) -> Iterator[ast.AST]:
        """Yield the functions that a part lies in, from the inside, and the module."""
        while node in self.within:
            node = self.within[node]
            if isinstance(node, _SCOPES):
                yield node


@dataclass(frozen=True)
class Spot:
    """A part of a module."""

    module: Module
    node: ast.AST

    def at(self, node: ast.AST) -> "Spot":
        """Return another part of the same module."""
        return Spot(self.module, node)

    def words(self) -> str:
        """Say where it is."""
        return f"{self.module.name}:{getattr(self.node, 'lineno', 0)}"


class Texts:
    """What reaches `say` in a package: texts with their places, and what could not be followed."""

    def __init__(self, package: Path) -> None:
        root = package.parent
        self.found: dict[str, set[str]] = defaultdict(set)
        self.lost: list[str] = []
        self._modules = {
            path.relative_to(root).as_posix(): Module(
                path.relative_to(root).as_posix(), path.read_text("utf-8")
            )
            for path in sorted(package.rglob("*.py"))
        }
        self._index()
        self._done: set[tuple[ast.AST, Steps]] = set()
        self._due: list[tuple[Spot, Steps]] = []
        for spot in (*self._calls["say"], *self._calls["phrase"]):
            self._follow(spot.at(spot.node.args[0]), ())
        while self._due:
            spot, steps = self._due.pop()
            getattr(self, f"_{type(spot.node).__name__.lower()}", self._unknown)(spot, steps)

    def _index(self) -> None:
        self._calls: dict[str, list[Spot]] = defaultdict(list)
        self._functions: dict[str, list[Spot]] = defaultdict(list)
        self._classes: dict[str, list[Spot]] = defaultdict(list)
        self._given: dict[str, list[Spot]] = defaultdict(list)
        for module in self._modules.values():
            for node in ast.walk(module.tree):
                self._note(Spot(module, node))

    def _note(self, spot: Spot) -> None:
        node = spot.node
        if isinstance(node, ast.FunctionDef):
            self._functions[node.name].append(spot)
        elif isinstance(node, ast.ClassDef):
            self._classes[node.name].append(spot)
            for line in node.body:
                if isinstance(line, ast.AnnAssign) and line.value:
                    self._given[ast.unparse(line.target)].append(spot.at(line.value))
        elif isinstance(node, ast.Call):
            self._calls[_called(node)].append(spot)
            for word in node.keywords:
                if word.arg:
                    self._given[word.arg].append(spot.at(word.value))

    def _follow(self, spot: Spot, steps: Steps) -> None:
        """Follow a value, or what `steps` take of it, to its literals."""
        key = (spot.node, steps)
        if key not in self._done and len(steps) <= _DEEPEST:
            self._done.add(key)
            self._due.append((spot, steps))

    def _all(self, spot: Spot, nodes: Iterable[ast.AST], steps: Steps) -> None:
        for node in nodes:
            self._follow(spot.at(node), steps)

    def _unknown(self, spot: Spot, steps: Steps) -> None:
        self.lost.append(f"{spot.words()} {ast.unparse(spot.node)[:_SHOWN]}")

    def _constant(self, spot: Spot, steps: Steps) -> None:
        if isinstance(spot.node.value, str) and not steps and spot.node.value:
            self.found[spot.node.value].add(spot.words())

    def _ifexp(self, spot: Spot, steps: Steps) -> None:
        self._all(spot, (spot.node.body, spot.node.orelse), steps)

    def _boolop(self, spot: Spot, steps: Steps) -> None:
        self._all(spot, spot.node.values, steps)

    def _namedexpr(self, spot: Spot, steps: Steps) -> None:
        self._follow(spot.at(spot.node.value), steps)

    def _starred(self, spot: Spot, steps: Steps) -> None:
        self._follow(spot.at(spot.node.value), (EACH, *steps))

    def _binop(self, spot: Spot, steps: Steps) -> None:
        if steps:
            self._all(spot, (spot.node.left, spot.node.right), steps)
        else:
            self._unknown(spot, steps)

    def _tuple(self, spot: Spot, steps: Steps) -> None:
        if not steps:
            self._all(spot, spot.node.elts, ())
            return
        first, rest = steps[0], steps[1:]
        some = spot.node.elts
        if isinstance(first, int) and not any(isinstance(one, ast.Starred) for one in some):
            some = some[first : first + 1] or some[-1:]
        self._all(spot, some, rest)

    _list = _set = _tuple

    def _dict(self, spot: Spot, steps: Steps) -> None:
        node = spot.node
        first, rest = (steps[0], steps[1:]) if steps else (PICKED, ())
        if first == EACH:
            self._all(spot, [key for key in node.keys if key], rest)
        else:
            for key, value in zip(node.keys, node.values, strict=True):
                self._follow(spot.at(value), rest if key else steps)

    def _subscript(self, spot: Spot, steps: Steps) -> None:
        key = spot.node.slice
        if isinstance(key, ast.Slice):
            self._follow(spot.at(spot.node.value), steps)
            return
        whole = isinstance(key, ast.Constant) and isinstance(key.value, int)
        step = key.value if whole and key.value >= 0 else PICKED
        self._follow(spot.at(spot.node.value), (step, *steps))

    def _generatorexp(self, spot: Spot, steps: Steps) -> None:
        self._follow(spot.at(spot.node.elt), steps[1:])

    _listcomp = _setcomp = _generatorexp

    def _dictcomp(self, spot: Spot, steps: Steps) -> None:
        part = spot.node.key if steps[:1] == (EACH,) else spot.node.value
        self._follow(spot.at(part), steps[1:])

    def _lambda(self, spot: Spot, steps: Steps) -> None:
        self._follow(spot.at(spot.node.body), steps)

    def _yieldfrom(self, spot: Spot, steps: Steps) -> None:
        self._follow(spot.at(spot.node.value), steps)

    def _attribute(self, spot: Spot, steps: Steps) -> None:
        name = spot.node.attr
        if name in _ELSEWHERE:
            return
        owner = spot.node.value
        if isinstance(owner, ast.Name) and owner.id in self._classes:
            for found in self._classes[owner.id]:
                self._of_class(found, name, steps)
            return
        for found in self._given[name]:
            if name in _WORDS or self._is_written_out(found.node):
                self._follow(found, steps)
        if not self._given[name]:
            self._unknown(spot, steps)

    def _is_written_out(self, node: ast.AST) -> bool:
        """Say whether it is made of literals, or a member of an enumeration: ``State.OPEN``."""
        owner = node.value if isinstance(node, ast.Attribute) else None
        is_member = isinstance(owner, ast.Name) and owner.id in self._classes
        return is_member or isinstance(node, _WRITTEN_OUT)

    def _of_class(self, spot: Spot, name: str, steps: Steps) -> None:
        for line in spot.node.body:
            if isinstance(line, ast.Assign) and any(
                isinstance(target, ast.Name) and target.id == name for target in line.targets
            ):
                self._follow(spot.at(line.value), steps)

    def _call(self, spot: Spot, steps: Steps) -> None:
        node, name = spot.node, _called(spot.node)
        owner = node.func.value if isinstance(node.func, ast.Attribute) else None
        if name in _WORDED:
            return
        if owner is not None and name in ("values", "items", "get", "format", "lower", "keys"):
            self._method(spot, owner, name, steps)
        elif name == "enumerate":
            self._follow(spot.at(node.args[0]), (EACH, *steps[2:]))
        elif name == "zip":
            part = steps[1] if len(steps) > 1 and isinstance(steps[1], int) else 0
            part = min(part, len(node.args) - 1)
            self._follow(spot.at(node.args[part]), (EACH, *steps[2:]))
        elif name == "next":
            self._follow(spot.at(node.args[0]), (EACH, *steps))
            self._all(spot, node.args[1:], steps)
        elif name in _PASS_ON:
            self._all(spot, node.args, steps)
        elif name in self._classes and steps:
            self._made(spot, steps)
        elif name in self._functions:
            for found in _known_from(spot, name, self._functions[name]):
                self._returned(found, steps)
        else:
            self._unknown(spot, steps)

    def _made(self, spot: Spot, steps: Steps) -> None:
        self._all(spot, [*spot.node.args, *(word.value for word in spot.node.keywords)], steps[1:])

    def _method(self, spot: Spot, owner: ast.AST, name: str, steps: Steps) -> None:
        if name == "values":
            self._follow(spot.at(owner), (PICKED, *steps[1:]))
        elif name == "items":
            keys = steps[1:2] == (0,)
            self._follow(spot.at(owner), (EACH if keys else PICKED, *steps[2:]))
        elif name == "get":
            self._follow(spot.at(owner), (PICKED, *steps))
            self._all(spot, spot.node.args[1:], steps)
        else:
            self._follow(spot.at(owner), steps)

    def _returned(self, spot: Spot, steps: Steps) -> None:
        for node in ast.walk(spot.node):
            if next(spot.module.scopes(node), None) is not spot.node:
                continue
            if isinstance(node, ast.Return) and node.value:
                self._follow(spot.at(node.value), steps)
            elif isinstance(node, ast.Yield) and node.value:
                self._follow(spot.at(node.value), steps[1:])
            elif isinstance(node, ast.YieldFrom):
                self._follow(spot.at(node.value), steps)

    def _name(self, spot: Spot, steps: Steps) -> None:
        name = spot.node.id
        if name in self._classes:
            for found in self._classes[name]:
                self._members(found, steps)
            return
        for scope in spot.module.scopes(spot.node):
            if self._bound(spot.at(scope), name, steps):
                return
        for node in ast.walk(spot.module.tree):
            if isinstance(node, ast.ImportFrom) and self._imported(node, name, steps):
                return
        self._unknown(spot, steps)

    def _members(self, spot: Spot, steps: Steps) -> None:
        for line in spot.node.body:
            if isinstance(line, ast.Assign):
                self._follow(spot.at(line.value), steps[1:])

    def _imported(self, node: ast.ImportFrom, name: str, steps: Steps) -> bool:
        for alias in node.names:
            if (alias.asname or alias.name) == name and node.module:
                path = node.module.replace(".", "/")
                module = self._modules.get(f"{path}.py") or self._modules.get(f"{path}/__init__.py")
                if module:
                    return self._bound(Spot(module, module.tree), alias.name, steps)
        return False

    def _bound(self, spot: Spot, name: str, steps: Steps) -> bool:
        """Follow what a name stands for in a scope; False where the scope does not know it."""
        found = False
        for node in ast.walk(spot.node):
            if next(spot.module.scopes(node), None) is not spot.node:
                continue
            for target, value, more in _bindings(node):
                for path in _paths(target, name):
                    found = True
                    self._follow(spot.at(value), (*more, *path, *steps))
        if not isinstance(spot.node, ast.Module) and name in _parameters(spot.node):
            found = True
            self._passed(spot, name, steps)
        return found

    def _passed(self, spot: Spot, name: str, steps: Steps) -> None:
        """Follow what the callers of a function pass for a parameter."""
        node = spot.node
        if isinstance(node, ast.Lambda):
            self._unknown(spot, steps)
            return
        names = _parameters(node)
        default = _defaults(node).get(name)
        if default is not None:
            self._follow(spot.at(default), steps)
        offset = 1 if names[:1] in (["self"], ["cls"]) else 0
        for call in _known_from(spot, node.name, self._calls[node.name]):
            at = names.index(name) - offset
            for word in call.node.keywords:
                if word.arg == name:
                    self._follow(call.at(word.value), steps)
            if at < len(call.node.args):
                self._follow(call.at(call.node.args[at]), steps)


def _known_from(spot: Spot, name: str, spots: list[Spot]) -> Iterator[Spot]:
    """Leave out what a private name means in other modules."""
    return (one for one in spots if one.module is spot.module or not name.startswith("_"))


def _called(node: ast.Call) -> str:
    func = node.func
    if isinstance(func, ast.Name):
        return func.id
    return func.attr if isinstance(func, ast.Attribute) else ""


def _is_property(node: ast.FunctionDef) -> bool:
    return any("property" in ast.unparse(one) for one in node.decorator_list)


def _parameters(node: ast.FunctionDef | ast.Lambda) -> list[str]:
    args = node.args
    return [one.arg for one in (*args.posonlyargs, *args.args, *args.kwonlyargs)]


def _defaults(node: ast.FunctionDef) -> dict[str, ast.expr]:
    args = node.args
    plain = [*args.posonlyargs, *args.args]
    last = plain[len(plain) - len(args.defaults) :]
    found = {one.arg: value for one, value in zip(last, args.defaults, strict=True)}
    named = zip(args.kwonlyargs, args.kw_defaults, strict=True)
    return found | {one.arg: value for one, value in named if value is not None}


def _bindings(node: ast.AST) -> Iterator[tuple[ast.expr, ast.expr, Steps]]:
    """Yield what a statement binds: target, value, and what is taken of the value."""
    if isinstance(node, ast.Assign):
        yield from ((target, node.value, ()) for target in node.targets)
    elif isinstance(node, ast.AnnAssign | ast.AugAssign | ast.NamedExpr) and node.value:
        yield node.target, node.value, ()
    elif isinstance(node, ast.For | ast.comprehension):
        yield node.target, node.iter, (EACH,)


def _paths(target: ast.expr, name: str) -> Iterator[Steps]:
    """Yield by which steps a name lies in a target such as ``(a, (b, c))``."""
    if isinstance(target, ast.Name) and target.id == name:
        yield ()
    elif isinstance(target, ast.Tuple):
        for at, part in enumerate(target.elts):
            yield from ((at, *path) for path in _paths(part, name))
