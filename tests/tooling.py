"""The measuring tools of the project, for tests that hold to what they measure."""

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

TOOLS = Path(__file__).parent.parent / "tools"


def tool(name: str) -> ModuleType:
    """A tool by its name."""
    spec = importlib.util.spec_from_file_location(name, TOOLS / f"{name}.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module
