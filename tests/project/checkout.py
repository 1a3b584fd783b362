"""Checkout: where it lies, what it documents, and the script of its two commands as a module."""

import importlib.util
from pathlib import Path
from typing import Any, Final

ROOT: Final = Path(__file__).resolve().parents[2]
SCRIPT: Final = ROOT / "deploy" / "run.py"
PAGES: Final = sorted((ROOT / "service" / "hooflast" / "pages").glob("*.md"))
DOCUMENTS: Final = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *PAGES, *sorted(ROOT.glob("plugins/*/README.md"))]

Script = Any


def load_script() -> Script:
    """`deploy/run.py` as a new module."""
    spec = importlib.util.spec_from_file_location("hooflast_run", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
