"""Lines along which bodies are held."""

import numpy as np
import pytest

from modewright.geometry.blank import Hold
from modewright.geometry.corners import rectangle
from modewright.geometry.solid_shape import FaceChoice
from modewright.losses.held import held_line


def test_edge(make_blank):
    held = held_line(make_blank())
    assert held.width_m == pytest.approx(0.012)
    np.testing.assert_allclose(held.centre_m, [0.0, 0.0], atol=1e-12)


def test_free_body(make_blank):
    assert held_line(make_blank(hold=None)) is None


def test_jaws(make_blank):
    jaws = Hold(edges_m=np.zeros((0, 2, 2)), areas=(rectangle((-0.001, -0.01), (0.01, 0.01)),))
    held = held_line(make_blank(hold=jaws))
    assert held.width_m == pytest.approx(0.012, rel=2e-3)
    np.testing.assert_allclose(held.centre_m, [0.0045, 0.0], atol=1e-12)


def test_faces_of_a_solid(make_blank):
    no_edges = np.zeros((0, 2, 2))
    box = FaceChoice(low_m=(-0.01, -0.02, 0.0), high_m=(0.01, 0.04, 0.01))
    held = held_line(make_blank(hold=Hold(edges_m=no_edges, faces=box)))
    np.testing.assert_allclose(held.centre_m, [0.0, 0.01], atol=1e-12)
    named = held_line(make_blank(hold=Hold(edges_m=no_edges, faces=FaceChoice(names=("root",)))))
    assert named.centre_m is None
