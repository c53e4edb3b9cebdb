"""Tubes, valves and water against published values and the library `fluids`."""

import math

import fluids
import numpy as np
import pytest

from wetfoot.water.lines import (
    bank_loss_m_per_l_h,
    churchill_friction_factor,
    laminar_loss_m_per_l_h,
    pipe_loss_m,
    water_density_kg_m3,
    water_viscosity_pa_s,
)
from wetfoot.water.valve import closing_shift_m_per_m, full_open_flow_l_h, shared_line_flows_l_h


def test_water_is_as_the_steam_tables_have_it() -> None:
    """IAPWS-95 density and IAPWS 2008 viscosity (through the library chemicals 1.5) at 10 to 40 C."""
    temperatures = (10, 20, 25, 30, 40)
    assert [water_density_kg_m3(t) for t in temperatures] == pytest.approx(
        [999.702, 998.207, 997.048, 995.649, 992.216], abs=2e-3
    )
    assert [1000 * water_viscosity_pa_s(t) for t in temperatures] == pytest.approx(
        [1.30590, 1.00160, 0.89002, 0.79722, 0.65273], rel=1.2e-3
    )


@pytest.mark.parametrize("reynolds", [10.0, 1000.0, 4000.0, 1e4, 1e5, 1e6])
@pytest.mark.parametrize("roughness", [0.0, 1e-4, 1e-3])
def test_the_friction_factor_is_that_of_the_reference_library(reynolds: float, roughness: float) -> None:
    expected = 64 / reynolds if reynolds < 2000 else fluids.friction.Churchill_1977(reynolds, roughness)
    assert churchill_friction_factor(reynolds, roughness) == pytest.approx(expected, rel=1e-10)


def test_a_microtube_loses_what_hagen_and_poiseuille_say() -> None:
    """0.35 L/h through 0.3 m at 20 C, mm by bore; computed apart from this program with mu 1.0016 mPa s."""
    found = [350 * laminar_loss_m_per_l_h(bore / 1000, 0.3) for bore in (1.5, 2, 3, 4, 5, 6)]
    assert found == pytest.approx([24.0172, 7.59918, 1.50107, 0.474949, 0.194539, 0.0938171], rel=1e-3)


def test_laminar_loss_is_the_general_loss_below_the_limit() -> None:
    assert pipe_loss_m(3.0, 0.004, 5.0) == pytest.approx(3.0 * laminar_loss_m_per_l_h(0.004, 5.0), rel=1e-12)


def test_the_far_pot_loses_r_l_q_times_half_of_m_plus_one() -> None:
    """Closed form of a bank of equal draws (superposition); 24 pots, 12 m of 16 mm, 3 mm microtubes, 0.35 L/h."""
    loss = bank_loss_m_per_l_h(24, 0.016, 12.0, 0.003, 0.3)
    lateral = laminar_loss_m_per_l_h(0.016, 12.0)
    tube = laminar_loss_m_per_l_h(0.003, 0.3)
    assert loss[-1] == pytest.approx(tube + lateral * 12.5, rel=1e-12)
    assert np.all(np.diff(loss) > 0)
    # lateral part at the far pot, mm, by lateral bore in mm: computed apart from this program
    lateral_mm = [
        350 * (bank_loss_m_per_l_h(24, bore / 1000, 12.0, 0.003, 0.3)[-1] - tube) for bore in (10, 13, 16, 20.4)
    ]
    assert lateral_mm == pytest.approx([6.07935, 2.12855, 0.92763, 0.35102], rel=2e-3)


@pytest.mark.parametrize(
    ("seat_mm", "litres_an_hour"),
    [(3.2, (24, 42, 60, 77, 94)), (4.8, (55, 95, 134, 173, 212)), (6.4, (97, 169, 238, 308, 377))],
)
def test_a_wide_open_valve_passes_torricelli(seat_mm: float, litres_an_hour: tuple[int, ...]) -> None:
    """Cd A sqrt(2 g h) with Cd 0.6, at heads of 0.1, 0.3, 0.6, 1.0 and 1.5 m, to the litre."""
    found = [full_open_flow_l_h(seat_mm / 1000, head) for head in (0.1, 0.3, 0.6, 1.0, 1.5)]
    assert found == pytest.approx(litres_an_hour, abs=1.0)


def test_the_closing_level_shifts_with_the_seat() -> None:
    """mm per m of head for a 60 mm float at ratio 6: balance of forces, computed by hand."""
    found = [1000 * closing_shift_m_per_m(seat / 1000, 0.06, 6) for seat in (3.2, 6.4, 12.7)]
    assert found == pytest.approx([0.47, 1.9, 7.5], rel=0.02)


def test_valves_on_one_line_share_its_loss() -> None:
    alone = full_open_flow_l_h(0.0064, 1.0)
    one, two = (
        shared_line_flows_l_h([0.0064], [1.0], 0.013, 10.0),
        shared_line_flows_l_h([0.0064] * 2, [1.0] * 2, 0.013, 10.0),
    )
    assert alone > one[0] > two[0] > 0
    loss = fluids.one_phase_dP(
        m=2 * two[0] / 3.6e6 * water_density_kg_m3(20), rho=water_density_kg_m3(20), mu=water_viscosity_pa_s(20),
        D=0.013, roughness=1.5e-6, L=10.0, Method="Churchill_1977",
    ) / (water_density_kg_m3(20) * 9.80665)  # fmt: skip
    assert two[0] == pytest.approx(full_open_flow_l_h(0.0064, 1.0 - loss), rel=1e-5)


def test_no_head_no_flow_and_no_bore_is_refused() -> None:
    assert full_open_flow_l_h(0.0032, 0.0) == 0.0
    assert shared_line_flows_l_h([0.0032], [-0.1], 0.013, 5.0) == [0.0]
    with pytest.raises(ValueError, match="bore_m"):
        laminar_loss_m_per_l_h(0.0, 1.0)
    assert math.isfinite(pipe_loss_m(0.0, 0.01, 1.0))
