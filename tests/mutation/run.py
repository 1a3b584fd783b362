"""Mutate one module and list the mutants that its tests let live.

    python -m tests.mutation.run fit/pad                            with tests/fit/test_pad.py
    python -m tests.mutation.run fit/pad tests/fit/test_common_practice.py tests/fit/test_pad.py

mutmut works on a copy under .cache/mutation/, so the checkout stays as it is and several modules can be mutated at
once. It changes what functions do; constants, properties and other decorated functions it leaves alone.
"""

import os
import shutil
import subprocess
import sys
import sysconfig
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from tests.project.checkout import ROOT

PROGRAM: Final = Path(sysconfig.get_path("scripts")) / "mutmut"

SETTINGS: Final = """\
[tool.mutmut]
source_paths = ["src"]
only_mutate = ["src/hooflast/{module}.py"]
pytest_add_cli_args = ["-p", "no:cacheprovider", "--tb=short"]
pytest_add_cli_args_test_selection = [{tests}]
use_git_change_detection = false
process_isolation = "forkserver"

[tool.pytest.ini_options]
addopts = ["--import-mode=importlib"]
pythonpath = ["."]
filterwarnings = ["error"]
"""

ALWAYS_THE_SAME: Final = """\
from hypothesis import HealthCheck, Phase, settings

settings.register_profile(
    "mutation",
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.differing_executors],
)
settings.load_profile("mutation")
"""
"""The copy's conftest: the same examples for every mutant, none of them made smaller once it has killed one, and tests
that run more than once in one process."""


def main(arguments: Sequence[str]) -> int:
    """Mutate the module that the first argument names; what follows are its tests."""
    if not arguments or arguments[0].startswith("-"):
        print(__doc__, file=sys.stderr)
        return 2
    module, *tests = arguments
    room, name = module.split("/")
    place = _copy(module, tests=tests or [f"tests/{room}/test_{name}.py"])
    _mutmut(place, "run", "--max-children", "1")
    survivors = [line.split(":")[0].strip() for line in _mutmut(place, "results").splitlines()]
    for mutant in survivors:
        print(_mutmut(place, "show", mutant))
    print(f"{len(survivors)} to kill, or to explain in tests/mutation/survivors.md")
    return 1 if survivors else 0


def _copy(module: str, *, tests: Sequence[str]) -> Path:
    place = ROOT / ".cache" / "mutation" / module
    shutil.rmtree(place, ignore_errors=True)
    unused = shutil.ignore_patterns("__pycache__")
    shutil.copytree(ROOT / "service" / "hooflast", place / "src" / "hooflast", ignore=unused)
    for room in {Path(test).parent for test in tests}:
        shutil.copytree(ROOT / room, place / room, ignore=unused)
    (place / "tests" / "conftest.py").write_text(ALWAYS_THE_SAME, "utf-8")
    quoted = ", ".join(f'"{test}"' for test in tests)
    (place / "pyproject.toml").write_text(SETTINGS.format(module=module, tests=quoted), "utf-8")
    return place


def _mutmut(place: Path, *options: str) -> str:
    """What mutmut says, on one thread: mutants are many and small."""
    alone = os.environ | {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    done = subprocess.run([PROGRAM, *options], cwd=place, env=alone, check=False, capture_output=True, text=True)
    if done.returncode:
        sys.exit(f"{done.stdout[-4000:]}\n{done.stderr}\nmutmut could not finish. Do the tests pass by themselves?")
    return done.stdout


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
