"""No verb is left out of the machines of random changes, but for a reason."""

import ast
from pathlib import Path

from records.changes import VERBS

LEFT_OUT = {
    "catalogue.load": "reads files, and every machine starts from what it loaded",
}
"""Verbs that no machine drives, each with its reason."""

MACHINES = ("test_stateful*.py", "versions.py", "machine.py", "remembering.py")


def driven() -> set[str]:
    """Return the verbs that machines call, or give to a job as steps."""
    here = Path(__file__).parent
    trees = [ast.parse(path.read_text()) for name in MACHINES for path in here.glob(name)]
    called = {
        f"{node.value.id}.{node.attr}"
        for tree in trees
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name)
    }
    planned = {
        node.value
        for tree in trees
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    return (called | planned) & VERBS.keys()


def test_every_verb_is_driven_at_random_or_left_out_for_a_reason():
    assert VERBS.keys() - driven() == LEFT_OUT.keys()
