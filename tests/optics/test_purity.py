"""The core loads where there is no Django, so it can be read, tested and trusted alone."""

import subprocess
import sys
from pathlib import Path

import records.optics

MODULES = sorted(
    f"records.optics.{path.stem}"
    for path in Path(records.optics.__file__).parent.glob("*.py")
    if path.stem != "__init__"
)

# A module set to None can't be imported: Python raises ModuleNotFoundError instead.
WITHOUT_DJANGO = """
import importlib, sys
sys.modules.update({"django": None, "rest_framework": None})
for name in sys.argv[1:]:
    importlib.import_module(name)
print(*sorted(name for name in sys.modules if name.startswith("records")))
"""


def test_the_core_loads_without_django():
    loaded = subprocess.run(
        [sys.executable, "-c", WITHOUT_DJANGO, *MODULES],
        check=True,
        capture_output=True,
        text=True,
        cwd=Path(__file__).parents[2],
    ).stdout.split()

    assert len(MODULES) >= 10
    assert loaded == sorted(["records", "records.optics", *MODULES])
