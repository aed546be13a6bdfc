"""Files for the system: the service by systemd's own verifier, the overlay by the compiler, the rules by udev's grammar."""

import configparser
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from firebox.keeper.loop import TICK_LOGICAL
from hardware.bench.board import NODE

HARDWARE = NODE.parent
UNIT = HARDWARE / "service" / "firebox-keep@.service"
RULES = HARDWARE / "udev" / "70-firebox-node.rules"
OVERLAY = HARDWARE / "overlays" / "pit-amplifiers.dts"

needs_systemd = pytest.mark.skipif(
    shutil.which("systemd-analyze") is None, reason="needs systemd: apt install systemd"
)
needs_dtc = pytest.mark.skipif(shutil.which("dtc") is None, reason="needs dtc: apt install device-tree-compiler")


# --- service -------------------------------------------------------------------------------------


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A home folder in which the project is installed as the service's page says."""
    (tmp_path / "firebox" / ".venv" / "bin").mkdir(parents=True)
    (tmp_path / "firebox" / ".venv" / "bin" / "firebox").symlink_to(Path(sys.executable).with_name("firebox"))
    (tmp_path / "run").mkdir()
    return tmp_path


def verify(home: Path, text: str) -> str:
    """Return what systemd has against a unit."""
    unit = home / UNIT.name
    unit.write_text(text)
    environment = {**os.environ, "HOME": str(home), "XDG_RUNTIME_DIR": str(home / "run")}
    done = subprocess.run(
        ["systemd-analyze", "--user", "verify", "--man=no", f"./{unit.name}"],
        cwd=home, env=environment, capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    return done.stdout + done.stderr + (f"status {done.returncode}" if done.returncode else "")


@pytest.mark.e2e
@needs_systemd
def test_systemd_has_nothing_against_the_service(home):
    assert verify(home, UNIT.read_text()) == ""


@pytest.mark.e2e
@needs_systemd
@pytest.mark.parametrize(
    ("right", "wrong", "told"),
    [
        ("Restart=on-failure", "Restart=sometimes", "sometimes"),
        ("Type=notify", "Type=notifies", "notifies"),
        ("WatchdogSec=60", "WatchdogSec=often", "often"),
        ("RestrictRealtime=", "RestrictSurrealtime=", "RestrictSurrealtime"),
        (".venv/bin/firebox keep", ".venv/bin/fireboks keep", "fireboks"),
    ],
)
def test_systemd_would_say_so_if_it_had(home, right, wrong, told):
    text = UNIT.read_text()
    assert right in text
    assert told in verify(home, text.replace(right, wrong))


def parsed(path: Path) -> configparser.ConfigParser:
    parser = configparser.ConfigParser(interpolation=None)
    parser.optionxform = str  # type: ignore[assignment]
    parser.read(path)
    return parser


def test_the_service_keeps_the_pit_it_is_called_after_and_never_gives_up():
    unit = parsed(UNIT)
    command = unit["Service"]["ExecStart"].split()
    assert command[1:] == ["keep", "--pit", "%i"]  # %I would turn the dash of north-pit into a slash
    assert unit["Service"]["Restart"] == "on-failure"
    assert unit["Unit"]["StartLimitIntervalSec"] == "0"
    assert unit["Service"]["RestartPreventExitStatus"] == "2"


def test_a_keeper_that_hangs_is_started_anew():
    service = parsed(UNIT)["Service"]
    assert service["Type"] == "notify"
    assert int(service["WatchdogSec"]) >= 4 * TICK_LOGICAL  # a sign of life comes with every tick; some may be late
    assert service.get("NotifyAccess", "main") == "main"  # the default of Type=notify: only the keeper itself speaks


def test_the_service_can_reach_the_probes():
    service = parsed(UNIT)["Service"]
    assert not {"PrivateDevices", "DeviceAllow", "DevicePolicy", "ProtectKernelTunables"} & set(service)
    assert {"AF_UNIX", "AF_INET", "AF_INET6"} <= set(service["RestrictAddressFamilies"].split())


def test_the_command_of_the_service_is_one_that_the_program_knows():
    command = parsed(UNIT)["Service"]["ExecStart"].split()[1:]
    done = subprocess.run(
        [Path(sys.executable).with_name("firebox"), *command[:1], "--help"],
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 0
    assert command[1] in done.stdout


def test_the_journal_of_the_system_is_kept_small():
    journal = parsed(HARDWARE / "service" / "firebox-journald.conf")["Journal"]
    assert set(journal) <= {"Storage", "SystemMaxUse", "SyncIntervalSec", "MaxRetentionSec"}  # man journald.conf
    assert journal["SystemMaxUse"] == "50M"
    assert "below 50 M" in (HARDWARE / "power.md").read_text()


# --- overlay -------------------------------------------------------------------------------------


@pytest.mark.e2e
@needs_dtc
def test_the_overlay_compiles_without_a_word(tmp_path):
    made = tmp_path / "pit-amplifiers.dtbo"
    done = subprocess.run(
        ["dtc", "-@", "-I", "dts", "-O", "dtb", "-o", made, OVERLAY], capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    back = subprocess.run(["dtc", "-I", "dtb", "-O", "dts", made], capture_output=True, text=True, timeout=60).stdout
    assert re.findall(r'label = "(\w+)"', back) == ["grate", "grate2"]
    assert back.count('compatible = "maxim,max31856"') == 2
    assert back.count("spi-cpha") == 2  # this chip needs it, a MAX31855 must not have it


@pytest.mark.e2e
@needs_dtc
def test_the_page_makes_the_overlay_for_the_other_chip(tmp_path):
    page = (HARDWARE / "overlays" / "README.md").read_text()
    line = re.search(r"^sed .+ ~/firebox/hardware/overlays/pit-amplifiers.dts", page, re.MULTILINE)[0]
    command = shlex.split(line)[:-1]
    text = subprocess.run([*command, OVERLAY], capture_output=True, text=True, timeout=20, check=True).stdout
    source = tmp_path / "pit-amplifiers.dts"
    source.write_text(text)
    done = subprocess.run(
        ["dtc", "-@", "-I", "dts", "-O", "dts", source], capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stderr == ""
    assert done.stdout.count('compatible = "maxim,max31855k"') == 2
    assert "max31856" not in done.stdout
    assert "spi-cpha" not in done.stdout
    assert "thermocouple-type" not in done.stdout
    assert re.findall(r'label = "(\w+)"', done.stdout) == ["grate", "grate2"]


# --- udev ----------------------------------------------------------------------------------------

MATCHES = {"ACTION", "SUBSYSTEM", "SUBSYSTEMS", "KERNEL", "KERNELS", "ATTR", "ATTRS", "ENV", "DRIVERS"}
SETS = {"SYMLINK", "GROUP", "MODE", "ENV", "TAG", "GOTO", "LABEL", "OWNER"}
WORD = re.compile(r'(?P<key>[A-Z]+)(?:\{(?P<part>[\w/]+)\})?(?P<operator>==|!=|\+=|:=|=)"(?P<value>[^"]*)"')
"""One word of a rule: man udev, section Rules files."""


def rules() -> list[list[re.Match[str]]]:
    found = []
    for line in RULES.read_text().splitlines():
        if not line.strip() or line.startswith("#"):
            continue
        words = [WORD.fullmatch(word.strip()) for word in line.split(",")]
        assert all(words), line
        found.append([word for word in words if word])
    return found


def test_every_rule_is_one_by_udevs_grammar():
    for rule in rules():
        for word in rule:
            matching = word["operator"] in {"==", "!="}
            assert word["key"] in (MATCHES if matching else SETS), word[0]
            assert bool(word["part"]) == (word["key"] in {"ATTR", "ATTRS", "ENV"}), word[0]
            if word["key"] in {"GOTO", "LABEL"}:
                assert word["operator"] == "="
        operators = [word["operator"] in {"==", "!="} for word in rule]
        assert operators == sorted(operators, reverse=True), "matches come before what they lead to"
        assert False in operators, "a rule that does nothing"


def test_every_goto_has_its_label_behind_it():
    words = [word for rule in rules() for word in rule]
    places = {word["value"]: place for place, word in enumerate(words) if word["key"] == "LABEL"}
    gotos = [(word["value"], place) for place, word in enumerate(words) if word["key"] == "GOTO"]
    assert gotos
    assert all(places[value] > place for value, place in gotos)


def test_only_the_node_gets_a_name_and_modem_software_leaves_it_alone():
    guard = [rule for rule in rules() if any(word["key"] == "ATTRS" and word["part"] == "idVendor" for word in rule)]
    assert {word["part"]: word["value"] for word in guard[0] if word["key"] == "ATTRS"} == {
        "idVendor": "2e8a",
        "idProduct": "0005",
    }
    values = [(word["key"], word["part"], word["value"]) for rule in rules() for word in rule]
    assert ("SYMLINK", None, "pit-node") in values
    assert ("ENV", "ID_MM_DEVICE_IGNORE", "1") in values
    assert 'port = "/dev/pit-node"' in (HARDWARE / "udev" / "README.md").read_text()


def can_verify_rules() -> bool:
    udevadm = shutil.which("udevadm")
    if udevadm is None:
        return False
    told = subprocess.run([udevadm, "--help"], capture_output=True, text=True, timeout=20).stdout
    return bool(re.search(r"^\s*verify\b", told, re.MULTILINE))


if can_verify_rules():  # it came with systemd 254; where it is older, the grammar above holds alone

    def test_udev_has_nothing_against_the_rules():
        done = subprocess.run(["udevadm", "verify", RULES], capture_output=True, text=True, timeout=20)
        assert done.returncode == 0, done.stdout + done.stderr
