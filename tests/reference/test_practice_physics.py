"""The practice fire's physics against published figures.

Sources, with how each figure was obtained:

* Net heat of wood by moisture: LHV = HHV (1 - w) - 2.442 (9 H (1 - w) + w), HHV 20.0 MJ/kg (8600 Btu/lb oven dry, a
  verified figure of several fuel guides), H 0.06; the rows are computed from it.
* Air demand: about 6 g a gram of oven-dry wood (Kubler, Wood and Fiber Science, 1991; verified in the abstract); 5.956
  computed from C 0.50, H 0.06, O 0.43.
* Draft: dp = 0.0342 p H (1/To - 1/Ti), chimney practice (verified); the rows are computed from it.
* Flow through an opening: Q = C A sqrt(2 g H (Ti - To)/Ti), C 0.65 (form verified in two stored copies); the rows are
  computed from it, for a stack of 0.15 m.
* Oxygen: 13.1 MJ a kg of oxygen for nearly all organic fuels (Huggett, 1980; from memory).
* Flue gas: CO2 20.39 % at most in dry flue gas and its fall with excess air (computed from the composition above); heat
  carried off by gas at a temperature: enthalpies as in the next point but one. Siegert's form of the loss, a constant
  times the rise over the CO2 content, with 0.65-0.75 for wood (from memory).
* Outside losses: correlations of the PyPI package `ht` (Churchill-Chu horizontal cylinder, Churchill-Bernstein) with
  CoolProp air, 0.5 m diameter, emissivity 0.9 (verified by library).
* Gas temperatures by excess air: complete burning without losses, gas enthalpies from CoolProp (verified by library).
* Volatiles 75-85 % of dry wood: Briggs, "Forest Products Measurements and Conversion Factors", ch. 9 (verified).
* Charring 0.6-0.7 mm/min in a fully developed room fire (Eurocode 5, Wood Handbook ch. 18; from memory); a split in a
  firebox chars more slowly.
* Conductivity 0.1567 W/(m K) and heat capacity of wood: Wood Handbook eqs. 4-15..4-18 (verified).
"""

import math
from datetime import UTC, datetime

import pytest

from firebox.practice import air, losses, wood
from firebox.practice.build import sized
from firebox.practice.faults import FIRE, Mishap
from firebox.practice.fire import Fire
from firebox.practice.rounds import SCENARIOS, choose, stage
from firebox.practice.weather import SKIES, Weather
from firebox.practice.wood import Piece


@pytest.mark.parametrize(
    ("wet_basis", "as_fired"),
    [(0.0, 18.681), (0.10, 16.569), (0.15, 15.513), (0.20, 14.457), (0.25, 13.400), (0.30, 12.344), (0.50, 8.120)],
)
def test_net_heat_falls_with_moisture_as_tabulated(wet_basis: float, as_fired: float) -> None:
    moisture = wet_basis / (1.0 - wet_basis)
    # the table is printed to 1 kJ/kg
    assert wood.net_heating_value(moisture) / 1e6 == pytest.approx(as_fired, abs=6e-4)


def test_volatiles_and_char_together_give_the_heat_of_the_wood() -> None:
    whole = (1.0 - wood.CHAR_SHARE) * wood.VOLATILE_HEAT + wood.CHAR_SHARE * wood.CHAR_HEAT
    assert whole == pytest.approx(18.681e6, rel=1e-4)


def test_the_share_of_volatiles_is_that_of_proximate_analysis() -> None:
    assert 0.75 <= 1.0 - wood.CHAR_SHARE <= 0.85


def test_air_demand_is_about_six_kilograms_a_kilogram() -> None:
    oxygen = (1.0 - wood.CHAR_SHARE) * wood.OXYGEN_VOLATILE + wood.CHAR_SHARE * wood.OXYGEN_CHAR
    assert oxygen / air.OXYGEN == pytest.approx(5.956, rel=2e-3)


@pytest.mark.parametrize(
    ("height", "outside", "inside", "pascal"),
    [
        (1.0, 20, 120, 3.007),
        (1.2, 20, 150, 4.358),
        (1.2, 0, 120, 4.647),
        (1.5, 30, 110, 3.580),
        (0.9, 20, 200, 4.047),
    ],
)
def test_draft_as_tabulated(height: float, outside: float, inside: float, pascal: float) -> None:
    drawn = air.draft(height, inside + 273.15, outside + 273.15)
    # the table takes 0.0342 for 0.034163: a tenth of a per cent
    assert drawn == pytest.approx(pascal, rel=2e-3)


@pytest.mark.parametrize(
    ("height", "outside", "inside", "volume"),
    [
        (1.0, 20, 120, 0.02566),
        (1.2, 20, 150, 0.03089),
        (1.2, 0, 120, 0.03079),
        (1.5, 30, 110, 0.02847),
        (0.9, 20, 200, 0.02977),
    ],
)
def test_flow_under_draft_as_tabulated(height: float, outside: float, inside: float, volume: float) -> None:
    area = math.pi * 0.15**2 / 4.0
    cold = outside + 273.15
    drawn = air.draft(height, inside + 273.15, cold)
    # the table's volume is that of outside air; printed to four digits
    assert air.flow(air.ORIFICE * area, drawn, cold) / air.density(cold) == pytest.approx(volume, rel=1e-3)


def test_a_kilogram_of_oxygen_sets_free_about_what_it_does_with_any_fuel() -> None:
    whole = wood.net_heating_value(0.0) / wood.OXYGEN_WOOD
    # 13.56 for the wood here: 3.5 % over the usual figure, for the high heating value chosen
    assert whole == pytest.approx(13.1e6, rel=0.05)
    # of char alone, carbon to CO2: 32.8 MJ/kg over 2.664, from the heats of formation; here 31.0 MJ/kg char
    char = wood.CHAR_HEAT / wood.OXYGEN_CHAR
    assert char == pytest.approx(12.3e6, rel=0.06)


@pytest.mark.parametrize(
    ("wall", "outside", "natural", "radiative"),
    [
        (60, 20, 4.68, 6.29), (90, 20, 5.42, 7.30), (90, 0, 5.98, 6.71), (110, 20, 5.76, 8.03), (250, 20, 6.89, 14.98),
        (350, 20, 7.20, 22.18),
    ],
)  # fmt: skip
def test_still_air_coefficients_as_tabulated(wall: float, outside: float, natural: float, radiative: float) -> None:
    hot, cold = wall + 273.15, outside + 273.15
    # 3 %: the properties of air are power laws here
    assert losses.natural(hot, cold, 0.5) == pytest.approx(natural, rel=0.03)
    assert losses.radiative(hot, cold, 0.9) == pytest.approx(radiative, rel=5e-3)


@pytest.mark.parametrize(
    ("wall", "outside", "row"),
    [
        (60, 20, (5.4, 10.8, 15.3, 25.3)), (90, 20, (5.4, 10.6, 15.0, 24.7)), (110, 20, (5.3, 10.5, 14.8, 24.3)),
        (250, 20, (5.1, 9.9, 13.8, 22.3)), (350, 20, (5.0, 9.6, 13.3, 21.2)),
    ],
)  # fmt: skip
def test_wind_coefficients_as_tabulated(wall: float, outside: float, row: tuple[float, ...]) -> None:
    for wind, published in zip((1.0, 3.0, 5.0, 10.0), row, strict=True):
        found = losses.forced(wall + 273.15, outside + 273.15, 0.5, wind)
        # 3 % for the power laws, and the table is printed to 0.1
        assert found == pytest.approx(published, rel=0.03, abs=0.06)


def test_a_wind_of_five_metres_raises_the_loss_by_about_three_quarters() -> None:
    still = losses.outside(363.15, 293.15, 0.5, 0.0, 0.9)
    windy = losses.outside(363.15, 293.15, 0.5, 5.0, 0.9)
    # the table says about 75 %, taking forced alone where it is the larger; ours joins both by third powers
    assert 1.6 < windy / still < 1.9


@pytest.mark.parametrize(("excess", "celsius"), [(4, 714), (6, 505), (8, 393), (10, 323), (15, 227), (20, 178)])
def test_gas_temperature_by_excess_air(excess: float, celsius: float) -> None:
    gas = 1.0 + excess * 5.956
    rise = wood.net_heating_value(0.0) / (gas * air.SPECIFIC_HEAT)
    # one specific heat for all temperatures: 4 % over at 700 degC, under 3 % below 400
    assert 25.0 + rise == pytest.approx(celsius, rel=0.045)


@pytest.mark.parametrize(
    ("excess", "dioxide"),
    [(1.0, 20.39), (1.5, 13.56), (2.0, 10.16), (3.0, 6.77), (4.0, 5.07), (6.0, 3.38), (8.0, 2.53)],
)
def test_siegerts_constant_of_wood_is_about_what_is_published(excess: float, dioxide: float) -> None:
    gas = 1.0 + excess * 5.956
    percent_a_kelvin = 100.0 * gas * air.SPECIFIC_HEAT / wood.net_heating_value(0.0)
    # the constant itself creeps with the excess air, as it does in the books; a tenth for that and for one specific heat
    assert 0.65 * 0.9 < percent_a_kelvin * dioxide < 0.75 * 1.1


@pytest.mark.parametrize(("excess", "celsius"), [(8, 393), (10, 323), (15, 227), (20, 178)])
def test_the_share_that_the_flue_carries_off_follows_published_enthalpies(excess: float, celsius: float) -> None:
    # gas at the temperature that it would reach without any other loss carries off everything; at half the rise, half
    gas, rise = 1.0 + excess * 5.956, celsius - 25.0
    for part in (0.25, 0.5, 1.0):
        lost = gas * air.SPECIFIC_HEAT * part * rise / wood.net_heating_value(0.0)
        # gas is a little easier to warm at lower temperatures: 3 % for that, on top of the 3 % of one specific heat
        assert lost == pytest.approx(part, rel=0.06)


@pytest.mark.parametrize("intake", [0.3, 1.0])
def test_a_burning_pit_loses_at_the_flue_what_its_gas_carries(intake: float) -> None:
    fire = Fire(sized("pit", 950.0, 6.35), Weather(SKIES["calm"], 1), intake=intake)
    fire.light(3.5)
    fire.run(1200.0)
    fire.lay_split(1.6, 0.18)
    before, carried = fire.account.flue, 0.0
    for _ in range(2700):
        fire.run(2.0)
        gas = fire.hearth.outflow(fire.inflow) + fire.leak
        carried += 2.0 * gas * 1013.0 * (fire.chamber.gas[2] - fire.air.kelvin)
    # 1013 J/(kg K) is dry air between 20 and 120 degC (CoolProp); the 1050 of the simulator is 3.7 % more
    assert fire.account.flue - before == pytest.approx(carried, rel=0.05)


def test_more_air_than_is_needed_is_lost_at_the_flue() -> None:
    def share(intake: float) -> float:
        fire = Fire(sized("pit", 950.0, 6.35), Weather(SKIES["calm"], 1), intake=intake)
        fire.light(3.5)
        fire.run(1800.0)
        fire.lay_split(1.6, 0.18)
        fire.run(5400.0)
        return fire.account.flue / fire.account.burnt

    # bare steel loses the most; what is left for the flue grows with the air, as the loss of any stove does
    assert 0.0 < share(0.1) < share(0.3) < share(1.0) < 0.5


def test_a_split_chars_more_slowly_than_in_a_room_fire() -> None:
    piece = Piece(1.4, 0.18, 288.0)
    minutes = 0
    while piece.volatile > 0.1 * piece.volatile0 and minutes < 240:
        for _ in range(30):
            piece.step(2.0, bed=1050.0, walls=550.0, gas=800.0, flame_watts=900.0, bed_view=0.3, breath=0.3)
        minutes += 1
    rate = 1e3 * piece.radius * (1.0 - 0.1**0.5) / minutes
    assert 0.2 < rate < 0.7


def test_wet_wood_burns_later_not_much_less() -> None:
    def until_half(moisture: float) -> int:
        piece = Piece(1.2 * (1.0 + moisture), moisture, 288.0)
        steps = 0
        while piece.volatile > 0.5 * piece.volatile0:
            piece.step(2.0, bed=1050.0, walls=550.0, gas=800.0, flame_watts=600.0, bed_view=0.3, breath=0.3)
            steps += 1
        return steps

    assert until_half(0.40) > 1.1 * until_half(0.15)
    # per kilogram of dry wood the net heat falls by 2.7 % from 20 % to 40 % moisture (computed in the same source)
    dry, wet = (wood.net_heating_value(u) * (1.0 + u) for u in (0.2, 0.4))
    assert 1.0 - wet / dry == pytest.approx(0.027, abs=1e-3)


def test_a_split_gives_its_net_heat_and_no_more() -> None:
    def burnt(extra: float) -> tuple[float, float]:
        fire = Fire(sized("pit", 950.0, 6.35), Weather(SKIES["calm"], 1), intake=0.8)
        fire.light(3.5)
        fire.run(1800.0)
        if extra:
            fire.lay_split(extra, 0.2)
        fire.run(6.0 * 3600.0)
        left = fire.hearth.coals_and_char() * wood.CHAR_HEAT + fire.wood_left() * 18.681e6
        smoke = fire.account.pyrolysis / wood.PYROLYSIS * wood.VOLATILE_HEAT
        return fire.account.burnt + left, smoke

    (more, smoke_more), (less, smoke_less) = burnt(1.2), burnt(0.0)
    promised = 1.0 * wood.net_heating_value(0.0)
    # water costs no heat set free, it costs heat afterwards; 1 % for the last of the wood, counted as if it were dry
    assert more - less + smoke_more - smoke_less == pytest.approx(promised, rel=0.01)
    assert 0.75 * promised < more - less < promised


@pytest.mark.parametrize(("litres", "insulated"), [(235.0, False), (950.0, True), (1800.0, False)])
def test_the_energy_account_closes_to_one_per_cent(litres: float, *, insulated: bool) -> None:
    build = sized("pit", litres, 6.35, insulated=insulated)
    fire = Fire(build, Weather(SKIES["rain"], 3), intake=0.5)
    fire.light(0.9 + build.usual_split_kg)
    fire.fill_pan(2.0)
    fire.run(900.0)
    fire.put_meat(5.0)
    for number in range(16):
        fire.lay_split(build.usual_split_kg, 0.2)
        fire.cook_door = number % 4 == 1
        fire.run(60.0)
        fire.cook_door = False
        fire.run(1740.0)
    assert fire.account.burnt > 5e7
    assert abs(fire.imbalance()) < 0.01


@pytest.mark.parametrize("scenario", SCENARIOS)
def test_the_account_of_every_practice_round_closes_to_one_per_cent(scenario: str) -> None:
    staged = stage(choose(scenario), datetime(2026, 5, 1, 12, 0, tzinfo=UTC))
    fire = staged.session.fire
    if not SCENARIOS[scenario].warm:
        fire.light(staged.lit_kg)
    for befall in SCENARIOS[scenario].befalls:
        FIRE[befall[1]].befall(Mishap(fire=fire, hand=None, split_kg=staged.session.split_kg))
    for minute in range(SCENARIOS[scenario].minutes):
        if minute % 25 == 5:
            fire.lay_split(staged.session.split_kg, staged.moisture)
        fire.run(60.0)
    assert fire.account.burnt > 1e7
    assert abs(fire.imbalance()) < 0.01
