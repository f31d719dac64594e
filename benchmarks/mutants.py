"""Change one operator or number at a time, and see whether the room's tests notice. Prints a score for each room.

python benchmarks/mutants.py                every room below
python benchmarks/mutants.py verdict judging        only files whose name holds one of these words

A mutant that no test notices is listed with its place. Some change nothing that can be seen (`<` for `<=` between sums
that are never equal); those that change a verdict are to be none. Each runs in a child of this process, so that nothing
is imported twice; needs a system that can fork.
"""

import ast
import copy
import importlib.util
import os
import signal
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parents[1]
#: seconds after which a mutant counts as noticed: it does not end
TIMEOUT_S = 60
#: file -> tests of its room
ROOMS = {
    "number/verdict": ["tests/number"],
    "number/reading": ["tests/number"],
    "number/limit": ["tests/number"],
    "gauges/judging": ["tests/gauges/test_judging_of_several.py", "tests/gauges/test_judging.py"],
    "alphabets/alphabet": ["tests/alphabets"],
    "alphabets/shift": ["tests/alphabets"],
    "line/receiver": ["tests/line/test_speed_and_receiver.py"],
}
SWAPS = {
    ast.Lt: (ast.LtE, ast.Gt), ast.LtE: (ast.Lt, ast.Gt), ast.Gt: (ast.GtE, ast.Lt), ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,), ast.NotEq: (ast.Eq,), ast.Is: (ast.IsNot,), ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,), ast.NotIn: (ast.In,),
    ast.Add: (ast.Sub,), ast.Sub: (ast.Add,), ast.Mult: (ast.Div,), ast.Div: (ast.Mult,), ast.Pow: (ast.Mult,),
    ast.Mod: (ast.FloorDiv,), ast.FloorDiv: (ast.Mod,),
    ast.And: (ast.Or,), ast.Or: (ast.And,),
}  # fmt: skip
NAMES = {"min": "max", "max": "min", "all": "any", "any": "all"}


def mutants(tree):
    """Return (line, what was changed, changed tree) for each place in a module."""
    places = [node for node in ast.walk(tree) if not isinstance(node, ast.Load)]
    for number, node in enumerate(places):
        for what, change in changes_of(node):
            other = copy.deepcopy(tree)
            twin = [each for each in ast.walk(other) if not isinstance(each, ast.Load)][number]
            change(twin)
            yield getattr(node, "lineno", 0), what, ast.fix_missing_locations(other)


def changes_of(node):
    """Return what could be changed at a node: in words, and the change."""
    if isinstance(node, ast.Compare):
        for place, sign in enumerate(node.ops):
            for new in SWAPS.get(type(sign), ()):
                yield f"{type(sign).__name__} > {new.__name__}", lambda n, p=place, k=new: n.ops.__setitem__(p, k())
    elif isinstance(node, ast.BinOp | ast.BoolOp | ast.AugAssign) and not in_annotation(node):
        for new in SWAPS.get(type(node.op), ()):
            yield f"{type(node.op).__name__} > {new.__name__}", lambda n, k=new: setattr(n, "op", k())
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub | ast.Not):
        if isinstance(node.op, ast.USub):
            yield "without minus", lambda n: setattr(n, "op", ast.UAdd())
        else:
            yield "without not", lambda n: setattr(n, "operand", ast.UnaryOp(ast.Not(), n.operand))
    elif isinstance(node, ast.Constant) and type(node.value) in (int, float):
        yield f"{node.value} > {node.value + 1}", lambda n: setattr(n, "value", n.value + 1)
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool):
        yield f"{node.value} > {not node.value}", lambda n: setattr(n, "value", not n.value)
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in NAMES:
        yield f"{node.func.id} > {NAMES[node.func.id]}", lambda n: setattr(n.func, "id", NAMES[n.func.id])
    elif isinstance(node, ast.IfExp):
        yield "if > if not", lambda n: setattr(n, "test", ast.UnaryOp(ast.Not(), n.test))


def in_annotation(node):
    """Return whether it is a union of types such as float | None."""
    return isinstance(getattr(node, "op", None), ast.BitOr)


class Mutated:
    """Finds one module, and runs its changed code in place of its own."""

    def __init__(self, name, path, tree):
        self.name, self.path, self.tree = name, path, tree

    def find_spec(self, name, path=None, target=None):
        return importlib.util.spec_from_file_location(name, self.path, loader=self) if name == self.name else None

    def create_module(self, spec):
        return None

    def exec_module(self, module):
        exec(compile(self.tree, self.path, "exec"), module.__dict__)


def tests_pass(name, path, tree, tests):
    """Run tests in a child with one module changed; return whether none failed."""
    child = os.fork()
    if child:
        return os.waitpid(child, 0)[1] == 0
    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)
    signal.alarm(TIMEOUT_S)
    code = 1
    try:
        import pytest
        from hypothesis import settings

        settings.register_profile("mutants", max_examples=40, deadline=None, derandomize=True, database=None)
        settings.load_profile("mutants")
        if tree is not None:
            sys.meta_path.insert(0, Mutated(name, path, tree))
        code = int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", "--assert=plain", *tests]))
    finally:
        os._exit(code)


def main(words):
    """Print a line for each mutant that no test noticed, and a score for each file."""
    if not hasattr(os, "fork") or importlib.util.find_spec("hypothesis") is None:
        return "This benchmark needs the test requirements (pip install 'tapewright[test]') and a system that can fork."
    os.chdir(HERE)
    sys.path.insert(0, str(HERE / "src"))
    import hypothesis  # noqa: F401  once, in the parent
    import numpy  # noqa: F401
    import pytest  # noqa: F401

    total = noticed = 0
    for room, tests in ROOMS.items():
        if words and not any(word in room for word in words):
            continue
        path = HERE / "src" / "tapewright" / f"{room}.py"
        name = f"tapewright.{room.replace('/', '.')}"
        if not tests_pass(name, path, None, tests):
            return f"{room}: its tests fail without any change."
        tried = missed = 0
        for line, what, tree in mutants(ast.parse(path.read_text("utf-8"))):
            tried += 1
            if tests_pass(name, path, tree, tests):
                missed += 1
                print(f"  {room}.py:{line}: {what} was not noticed", flush=True)
        print(f"{room}: {tried - missed} of {tried} mutants noticed", flush=True)
        total, noticed = total + tried, noticed + tried - missed
    print(f"all: {noticed} of {total} noticed, {100 * noticed / max(total, 1):.1f} %")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
