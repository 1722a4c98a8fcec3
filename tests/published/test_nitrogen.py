"""Nitrogen's table against the equation of state it was built from, on and off its grid.

Bilinear interpolation in temperature and absolute pressure is written out here again: the table must carry 0.1 % in
density whoever reads it.
"""

import bisect
import random
from functools import cache

import pytest
from CoolProp.CoolProp import PropsSI

from fluids_data import load_table
from fluids_data.build_coolprop_tables import nitrogen_state

BAR = 1e5
ICE_POINT = 273.15


@cache
def grid():
    table = load_table("nitrogen")
    temperatures = sorted(set(table.numbers("temperature_c")))
    pressures = sorted(set(table.numbers("pressure_bar")))
    values = {(row.number("temperature_c"), row.number("pressure_bar")): row for row in table.rows}
    return temperatures, pressures, values


def interpolate(name, temperature_c, pressure_bar):
    temperatures, pressures, values = grid()
    assert temperatures[0] <= temperature_c <= temperatures[-1]
    assert pressures[0] <= pressure_bar <= pressures[-1]
    i = min(bisect.bisect_right(temperatures, temperature_c), len(temperatures) - 1) - 1
    j = min(bisect.bisect_right(pressures, pressure_bar), len(pressures) - 1) - 1
    x = (temperature_c - temperatures[i]) / (temperatures[i + 1] - temperatures[i])
    y = (pressure_bar - pressures[j]) / (pressures[j + 1] - pressures[j])
    corner = [[values[temperatures[i + a], pressures[j + b]].number(name) for b in (0, 1)] for a in (0, 1)]
    low = corner[0][0] * (1 - y) + corner[0][1] * y
    high = corner[1][0] * (1 - y) + corner[1][1] * y
    return low * (1 - x) + high * x


def test_the_grid_is_complete_and_covers_the_accumulators():
    temperatures, pressures, values = grid()
    assert len(values) == len(temperatures) * len(pressures) <= 6000
    assert (temperatures[0], temperatures[-1]) == (-120, 160)
    assert (pressures[0], pressures[-1]) == (1, 420)


def test_grid_points_are_what_coolprop_gives():
    rows = load_table("nitrogen").rows
    for row in rows[::37]:
        state = nitrogen_state(row.number("temperature_c") + ICE_POINT, row.number("pressure_bar") * BAR)
        names = ("density_kg_m3", "entropy_j_kg_k", "internal_energy_j_kg")
        assert [row.number(name) for name in names] == pytest.approx(state, rel=1e-6, abs=0.05)


def test_off_grid_density_within_a_tenth_of_a_per_cent_and_entropy_within_one_joule():
    """Middles of cells, where bilinear interpolation is worst. Source: Span et al. 2000, by CoolProp."""
    temperatures, pressures, _ = grid()
    cells = [(i, j) for i in range(len(temperatures) - 1) for j in range(len(pressures) - 1)]
    for i, j in random.Random(7).sample(cells, 1500):
        temperature = (temperatures[i] + temperatures[i + 1]) / 2
        pressure = (pressures[j] + pressures[j + 1]) / 2
        density, entropy, energy = nitrogen_state(temperature + ICE_POINT, pressure * BAR)
        assert interpolate("density_kg_m3", temperature, pressure) == pytest.approx(density, rel=1e-3)
        assert interpolate("entropy_j_kg_k", temperature, pressure) == pytest.approx(entropy, abs=1.0)
        assert interpolate("internal_energy_j_kg", temperature, pressure) == pytest.approx(energy, abs=100)


@pytest.mark.parametrize(
    ("temperature_c", "pressure_bar", "density"),
    [
        # Nitrogen check values computed with CoolProp 8.0.0 apart from this project.
        (-20, 1.01325, 1.3495608264873202),
        (-20, 50, 68.50302978144724),
        (-20, 200, 263.5940649787767),
        (-20, 350, 394.1859914646643),
        (0, 1.01325, 1.250386130338901),
        (0, 100, 125.24775314859167),
        (0, 300, 327.5246070770907),
        (20, 10, 11.518355025330381),
        (20, 100, 114.84167763552414),
        (20, 200, 218.54435134947636),
        (60, 50, 50.250395780454575),
        (60, 350, 295.32227821985936),
        (100, 10, 9.009743350294155),
        (100, 200, 166.0090434723101),
    ],
)
def test_densities_computed_elsewhere(temperature_c, pressure_bar, density):
    assert interpolate("density_kg_m3", temperature_c, pressure_bar) == pytest.approx(density, rel=1e-3)


@pytest.mark.parametrize("start_c", [-30, 0, 20, 60, 100])
@pytest.mark.parametrize("start_bar", [25, 100, 250, 400])
def test_an_isentropic_doubling_of_the_volume_stays_inside_and_keeps_its_entropy(start_c, start_bar):
    density = PropsSI("D", "T", start_c + ICE_POINT, "P", start_bar * BAR, "Nitrogen")
    entropy = PropsSI("S", "T", start_c + ICE_POINT, "P", start_bar * BAR, "Nitrogen")
    end_c = PropsSI("T", "D", density / 2, "S", entropy, "Nitrogen") - ICE_POINT
    end_bar = PropsSI("P", "D", density / 2, "S", entropy, "Nitrogen") / BAR
    assert interpolate("entropy_j_kg_k", end_c, end_bar) == pytest.approx(entropy, abs=1.0)
    assert interpolate("density_kg_m3", end_c, end_bar) == pytest.approx(density / 2, rel=1e-3)


def test_ideal_gas_at_the_thin_end():
    """pV = RT within 0.1 % at 1 bar and 20 °C; molar mass 28.0134 g/mol and R = 8.314462618 J/(mol K) (CODATA)."""
    ideal = BAR * 28.0134e-3 / (8.314462618 * 293.15)
    assert interpolate("density_kg_m3", 20, 1) == pytest.approx(ideal, rel=1e-3)


def test_a_litre_at_200_bar_holds_the_recorded_energy():
    """1 L at 200 bar gauge and 20 °C expanding isentropically to the atmosphere, the work against it counted: 31.3 kJ
    (computed with CoolProp 8.0.0 apart from this project), below the 39.2 kJ of the ideal gas."""
    start = 201.01325
    entropy = interpolate("entropy_j_kg_k", 20, start)
    vented = load_table("nitrogen_vented")
    entropies, energies = vented.numbers("entropy_j_kg_k"), vented.numbers("internal_energy_j_kg")
    i = bisect.bisect_right(entropies, entropy) - 1
    share = (entropy - entropies[i]) / (entropies[i + 1] - entropies[i])
    end_energy = energies[i] + share * (energies[i + 1] - energies[i])
    mass = interpolate("density_kg_m3", 20, start) * 1e-3
    work = mass * (interpolate("internal_energy_j_kg", 20, start) - end_energy)
    assert work / 1e3 == pytest.approx(31.3, abs=0.05)


@pytest.mark.parametrize("vapour", [0.0, 0.3, 1.0])
def test_vented_nitrogen_is_linear_between_saturated_liquid_and_vapour(vapour):
    entropy, energy = (PropsSI(name, "P", 101325, "Q", vapour, "Nitrogen") for name in ("Smass", "Umass"))
    vented = load_table("nitrogen_vented")
    (liquid_s, vapour_s), (liquid_u, vapour_u) = (
        vented.numbers(name)[:2] for name in ("entropy_j_kg_k", "internal_energy_j_kg")
    )
    assert liquid_s + vapour * (vapour_s - liquid_s) == pytest.approx(entropy, rel=1e-6)
    assert liquid_u + vapour * (vapour_u - liquid_u) == pytest.approx(energy, rel=1e-6)
