"""All mechanisms together."""

import dataclasses

import numpy as np
import pytest
from shapely import box

from modewright.decay import q_from_damping_ratio
from modewright.errors import SolveError
from modewright.losses.films import AirFilm, film_cells
from modewright.losses.settings import LossSettings
from modewright.losses.total import MECHANISMS, LossShares, loss_body, loss_shares
from modewright.materials.table import material_named

METAL = material_named("stainless 301")
OFF = {mechanism.name.replace(" ", "_"): False for mechanism in MECHANISMS} | {"support": "none"}


def pad(gap_m):
    return film_cells(AirFilm(area=box(0.045, -0.005, 0.055, 0.005), gap_m=gap_m))


@pytest.fixture
def make_body(make_blank, written_modes):
    def make(films=(), **switches):
        return loss_body(make_blank(), written_modes, METAL, LossSettings(**switches), films)

    return make


def test_all_by_default(make_body):
    shares = loss_shares(make_body(films=(pad(0.5e-3),)))
    assert shares.mechanisms == tuple(mechanism.name for mechanism in MECHANISMS)
    assert shares.loss_factor.shape == (6, 3)
    np.testing.assert_allclose(shares.share.sum(axis=0), 1.0)
    np.testing.assert_allclose(shares.damping_ratio, shares.loss_factor.sum(axis=0) / 2)
    named = dict(zip(shares.mechanisms, shares.loss_factor, strict=True))
    assert named["thermoelastic"][2] == 0.0
    np.testing.assert_allclose(named["material"], METAL.loss_factor.value)


@pytest.mark.parametrize("mechanism", MECHANISMS, ids=lambda mechanism: mechanism.name)
def test_each_switch_alone(make_body, mechanism):
    key = mechanism.name.replace(" ", "_")
    alone = OFF | ({"support": "estimate"} if key == "support" else {key: True})
    body = make_body(films=(pad(0.5e-3),), **alone)
    assert [m.name for m in MECHANISMS if m.is_on(body.settings)] == [mechanism.name]
    assert np.all(mechanism.reaction(body).real >= 0)
    assert mechanism.reaction(body).real[0] > 0


def test_entered_support_is_taken_as_it_is(make_body):
    body = make_body(**(OFF | {"support": "entered", "support_q": (1500.0, 900.0)}))
    q = q_from_damping_ratio(loss_shares(body).damping_ratio)
    np.testing.assert_allclose(q, [1500.0, 900.0, 900.0])


def test_two_pads_take_what_each_takes(make_body):
    only = OFF | {"squeeze_film": True}
    one = loss_shares(make_body(films=(pad(0.5e-3),), **only)).loss_factor
    other = loss_shares(make_body(films=(pad(0.3e-3),), **only)).loss_factor
    both = loss_shares(make_body(films=(pad(0.5e-3), pad(0.3e-3)), **only)).loss_factor
    np.testing.assert_allclose(both, one + other, rtol=1e-12)


def test_flipping_a_mode_changes_nothing(make_body):
    class Flipped:
        mode_count = 3

        def displacement(self, points_m):
            return -body.modes.shapes.displacement(points_m)

    body = make_body(films=(pad(0.5e-3),))
    flipped = dataclasses.replace(
        body,
        modes=dataclasses.replace(body.modes, shapes=Flipped()),
        surface=dataclasses.replace(body.surface, motion=-body.surface.motion),
    )
    np.testing.assert_allclose(
        loss_shares(flipped).loss_factor, loss_shares(body).loss_factor, rtol=1e-12
    )


def test_refuses_a_mode_without_loss(make_body):
    with pytest.raises(SolveError, match=r"got none in twist.*Switch on more"):
        loss_shares(make_body(**(OFF | {"thermoelastic": True})))


def test_refuses_a_mode_that_does_not_ring(make_body):
    with pytest.raises(SolveError, match=r"got a loss factor of .* in even.*Widen"):
        loss_shares(make_body(films=(pad(0.01e-3),)))


def test_refuses_negative_losses():
    with pytest.raises(ValueError, match=r"loss_factor: expected 0 or above, got -0.1"):
        LossShares(mechanisms=("material",), loss_factor=np.array([[-0.1]]), air_mass=np.zeros(1))
