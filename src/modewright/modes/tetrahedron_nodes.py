"""Fields on tetrahedra by their values at nodes: interpolation, which the field library lacks.

One of the doors to the finite-element library, whose Python side carries few types: hence the
switches below.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false, reportAttributeAccessIssue=false
# pyright: reportUnknownParameterType=false, reportMissingTypeStubs=false

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import ngsolve as ng
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["TetrahedronNodes", "tetrahedron_nodes"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TetrahedronNodes:
    """Evenly spaced nodes of every tetrahedron of a mesh.

    Parameters
    ----------
    size : int
        Number of unknowns of one component.
    places : float array, shape (tetrahedra, nodes of one, 3)
        In the lengths of the mesh.
    domain : int array, shape (tetrahedra,)
        From 0.
    unknowns : int array, shape (tetrahedra, nodes of one)
        Of one component.
    to_unknowns : float array, shape (tetrahedra, nodes of one, nodes of one)
        From the values at the nodes.
    """

    size: int
    places: NDArray[np.float64]
    domain: NDArray[np.int64]
    unknowns: NDArray[np.int64]
    to_unknowns: NDArray[np.float64]

    def unknowns_of(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Unknowns of the vector field with these values.

        Parameters
        ----------
        values : float array, shape (tetrahedra, nodes of one, 3)
            The same at nodes that tetrahedra share.

        Returns
        -------
        float array, shape (unknowns,)
            Component by component.
        """
        flat = np.zeros((self.size, 3))
        flat[self.unknowns] = self.to_unknowns @ values
        return flat.T.ravel()


def tetrahedron_nodes(mesh: ng.Mesh, order: int) -> TetrahedronNodes:
    """Nodes for polynomials of an order."""
    scalar = ng.H1(mesh, order=order)
    lattice = [
        (i / order, j / order, k / order)
        for i in range(order + 1)
        for j in range(order + 1 - i)
        for k in range(order + 1 - i - j)
    ]
    rule = ng.IntegrationRule(points=lattice, weights=[0.0] * len(lattice))
    at_nodes = mesh.MapToAllElements(rule, ng.VOL)
    where = ng.CoefficientFunction((ng.x, ng.y, ng.z))(at_nodes)
    # The functions of a tetrahedron depend on the order of the numbers of its corners only.
    known: dict[tuple[int, ...], NDArray[np.float64]] = {}
    unknowns: list[list[int]] = []
    inverses: list[NDArray[np.float64]] = []
    domain: list[int] = []
    for element in scalar.Elements(ng.VOL):
        kind = tuple(np.argsort([vertex.nr for vertex in element.vertices]).tolist())
        if kind not in known:
            functions = scalar.GetFE(ng.ElementId(element))
            known[kind] = np.linalg.inv([list(functions.CalcShape(*spot)) for spot in lattice])
        unknowns.append(list(element.dofs))
        inverses.append(known[kind])
        domain.append(int(element.index))
    return TetrahedronNodes(
        size=int(scalar.ndof),
        places=where.reshape(len(domain), len(lattice), 3),
        domain=np.array(domain),
        unknowns=np.array(unknowns),
        to_unknowns=np.array(inverses),
    )
