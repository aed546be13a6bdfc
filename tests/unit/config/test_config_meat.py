"""What a pit's file may say of the meat."""

import pytest

from firebox.config import load
from firebox.errors import ConfigError
from firebox.meat.follow import piece_of
from firebox.setup import MeatPiece
from tests.unit.meat.kitchen import T0

PROBES = '[units]\nmass = "lb"\n[[probes]]\nname = "grate"\n[[probes]]\nname = "flat"\n'


def loaded(tmp_path, text):
    path = tmp_path / "pit.toml"
    path.write_text(PROBES + text)
    return load(path)


def refusal(tmp_path, text):
    with pytest.raises(ConfigError) as caught:
        loaded(tmp_path, text)
    return str(caught.value)


def test_a_piece_of_meat_is_told_in_the_cooks_units(tmp_path):
    config = loaded(tmp_path, '[[meat]]\nprobe = "flat"\ncut = "brisket"\nweight = 12\nthickness_mm = 80\n')
    (meat,) = config.setup(T0).meats
    assert meat == MeatPiece(probe="flat", cut="brisket", kg=pytest.approx(5.443, abs=1e-3), thickness_mm=80)
    assert piece_of("flat", config.setup(T0)).thickness == pytest.approx(0.08)


def test_a_cut_of_ones_own_differs_where_it_says(tmp_path):
    text = '[[cut]]\nname = "goat"\nlike = "pork shoulder"\nfat = 0.05\nwater = 0.75\n[[meat]]\nprobe = "flat"\ncut = "goat"\n'
    piece = piece_of("flat", loaded(tmp_path, text).setup(T0))
    assert (piece.cut.name, piece.composition.fat, piece.composition.protein) == ("goat", 0.05, 0.175)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            '[[meat]]\nprobe = "flat"\ncut = "briskit"\n',
            (
                'pit.toml, line 9, meat[0].cut: "briskit" is not a cut; one of brisket, pork shoulder, beef ribs, pork ribs, turkey, '
                'chicken, meat (did you mean "brisket"?)'
            ),
        ),
        (
            '[[meat]]\nprobe = "grate"\ncut = "turkey"\n',
            'pit.toml, line 8, meat[0].probe: "grate" is no probe in meat; there are flat',
        ),
        (
            '[[meat]]\nprobe = "flat"\ncut = "turkey"\nweight = 900\n',
            "pit.toml, line 10, meat[0].weight: 900 lb is out of range; up to 220 lb",
        ),
        (
            '[[meat]]\nprobe = "flat"\ncut = "turkey"\n[[meat]]\nprobe = "flat"\ncut = "chicken"\n',
            'pit.toml, line 11, meat[1].probe: the probe "flat" is already in another piece of meat',
        ),
        (
            '[[cut]]\nname = "goat"\nlike = "cow"\n',
            (
                'pit.toml, line 7, cut[0]: cut "goat" is like "cow", which is not known; known are beef ribs, brisket, chicken, meat, '
                "pork ribs, pork shoulder, turkey"
            ),
        ),
        (
            '[[cut]]\nname = "goat"\nlike = "turkey"\nfat = 0.9\n',
            "pit.toml, line 7, cut[0]: fractions of meat add up to 1.83; they should add up to 1, each from 0 to 1",
        ),
    ],
    ids=["a cut nobody knows", "a grate probe", "too heavy", "one probe in two pieces", "like nothing", "no meat"],
)
def test_what_cannot_be_is_told(tmp_path, text, message):
    assert refusal(tmp_path, text) == message


def test_the_grade_of_a_piece_is_told(tmp_path):
    config = loaded(tmp_path, '[[meat]]\nprobe = "flat"\ncut = "brisket"\ngrade = "marbled"\n')
    assert config.setup(T0).meats[0].grade == "marbled"
    assert piece_of("flat", config.setup(T0)).composition.fat > 0.2
    assert "grade" in refusal(tmp_path, '[[meat]]\nprobe = "flat"\ncut = "brisket"\ngrade = "prime"\n')


def test_a_piece_may_hold_a_second_probe_of_its_own(tmp_path):
    more = '[[probes]]\nname = "deep"\n[[meat]]\nprobe = "flat"\ncut = "brisket"\nsecond = "{}"\n'
    assert loaded(tmp_path, more.format("deep")).setup(T0).meats[0].second == "deep"
    assert 'meat[0].second: "grate" is no probe in meat' in refusal(tmp_path, more.format("grate"))
    assert 'the probe "flat" is already in a piece of meat' in refusal(tmp_path, more.format("flat"))
