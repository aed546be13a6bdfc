"""What a process must not load: a static graph cannot see deferred imports, so ask the interpreter."""

import subprocess
import sys

import pytest


def loaded_by(code: str) -> set[str]:
    script = f"import sys\n{code}\nprint('\\n'.join(sorted(sys.modules)))"
    result = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    return set(result.stdout.split())


@pytest.mark.parametrize("heavy", ["numpy", "textual", "paho.mqtt.client", "serial"])
def test_help_loads_nothing_heavy(heavy: str) -> None:
    code = "from click.testing import CliRunner\nfrom firebox.__main__ import cli\nassert CliRunner().invoke(cli, ['--help']).exit_code == 0"
    assert heavy not in loaded_by(code)


def test_the_keeper_never_loads_the_dashboard() -> None:
    modules = loaded_by("import firebox.wiring, firebox.keeper.loop, firebox.watch")
    assert "textual" not in modules
    assert "tui.app" not in modules


def test_the_dashboard_loads_no_arithmetic_library() -> None:
    assert "numpy" not in loaded_by("import tui.app")
