"""What each fastener of a group takes of a load, by the elastic method.

The plate between the fasteners is taken to be rigid, so that each takes a share by its weight (its
area or its stiffness) and by how far it is moved. All is in coordinates (u, v, n) of the seam's
plane: u and v in it, n from the piece below to the piece above. A load is what acts on the piece
above, so that a force along +n pulls the pieces apart.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, frozen_floats

LOWER_BOUND = (
    "Forces in screws come from the hand formula for a stiff flange and leave out prying: a flange "
    "that bends presses on its own edge, and the screw then takes several times as much. They are "
    "lower bounds, and a load found from them is an upper bound."
)
"""Goes with every figure that comes from this module. That prying is left out is in its formulas;
four times as much was measured by finite cells on a channel of 3 mm walls with 10 screws."""

BALANCED = 1e-9
"""Of a load: less than this missing is rounding."""


@dataclass(frozen=True, eq=False)
class SeamLoad:
    """A force and a moment on the piece above a seam, in coordinates of its plane.

    Attributes
    ----------
    force : (3,) float array
        Along u, v, n, N.
    moment : (3,) float array
        About `at`, N·mm.
    at : (2,) float array
        Where in the plane the force acts, mm.
    """

    force: Floats
    moment: Floats
    at: Floats = field(default_factory=lambda: frozen_floats(np.zeros(2)))

    def __post_init__(self) -> None:
        for name, size in (("force", 3), ("moment", 3), ("at", 2)):
            value = frozen_floats(getattr(self, name), (size,))
            if not np.isfinite(value).all():
                raise ValueError(f"the {name} of a load needs finite numbers, got {value}")
            object.__setattr__(self, name, value)

    def about(self, place: ArrayLike) -> Floats:
        """Return its moment about another place (2,) of the plane, (3,) N·mm."""
        arm = np.append(self.at - np.asarray(place, float), 0.0)
        result: Floats = self.moment + np.cross(arm, self.force)
        return result

    def scaled(self, factor: float) -> SeamLoad:
        """Return `factor` times the load."""
        return SeamLoad(self.force * factor, self.moment * factor, self.at)


@dataclass(frozen=True, eq=False)
class Group:
    """Fasteners that share a load.

    Attributes
    ----------
    places : (n, 2) float array
        Coordinates in the plane, mm.
    shear, axial : (n,) float array
        Weights by which they share what acts in the plane, and square to it: areas or stiffnesses,
        in any unit. 0 for one that takes nothing that way, such as a plain pin when it is pulled.
    slots : (n, 2) float array
        Unit vectors along which one takes nothing, such as a pin in a slot; (0, 0) for none.

    Raises
    ------
    ValueError
        If the shapes differ, or a weight is below 0.
    """

    places: Floats
    shear: Floats
    axial: Floats
    slots: Floats

    def __post_init__(self) -> None:
        count = len(self.places)
        for name, shape in (
            ("places", (-1, 2)),
            ("shear", (count,)),
            ("axial", (count,)),
            ("slots", (count, 2)),
        ):
            object.__setattr__(self, name, frozen_floats(getattr(self, name), shape))
        if min(self.shear.min(initial=0.0), self.axial.min(initial=0.0)) < 0:
            raise ValueError("weights of fasteners must not be below 0")


def group_of(
    places: ArrayLike,
    shear: ArrayLike | float = 1.0,
    axial: ArrayLike | float = 1.0,
    slots: ArrayLike | None = None,
) -> Group:
    """Return a group of fasteners; a single number is the weight of all.

    Parameters
    ----------
    places : (n, 2) array, mm
    shear, axial : (n,) array or float
    slots : (n, 2) array, optional
        As in `Group`.

    Raises
    ------
    ValueError
        As in `Group`.
    """
    flat = np.asarray(places, float).reshape(-1, 2)
    count = len(flat)
    none = np.zeros((count, 2)) if slots is None else np.asarray(slots, float).reshape(-1, 2)
    return Group(
        flat,
        np.broadcast_to(np.asarray(shear, float), (count,)),
        np.broadcast_to(np.asarray(axial, float), (count,)),
        none,
    )


@dataclass(frozen=True, eq=False)
class GroupForces:
    """What each fastener takes, and what the group cannot take.

    Attributes
    ----------
    forces : (n, 3) float array
        Shares of the load, along u, v, n, N: tension is above 0.
    missing_force, missing_moment : (3,) float array
        The load less all shares, N, and the same about the place where it acts, N·mm. Not 0 where
        a single fastener should stand a twist, or those on a line a moment about it.
    residual : float
        The larger of both, by the load: under 1e-9 when the group is in equilibrium.
    """

    forces: Floats
    missing_force: Floats
    missing_moment: Floats
    residual: float

    @property
    def is_balanced(self) -> bool:
        """Whether the group takes all of the load."""
        return self.residual < BALANCED


def centroid(places: ArrayLike, weights: ArrayLike) -> Floats:
    """Return the centroid of a group, (2,) mm: ``sum(w x) / sum(w)``; zeros for no weight.

    Parameters
    ----------
    places : (n, 2) array, mm
    weights : (n,) array
    """
    share = np.asarray(weights, float)
    total = float(share.sum())
    if total <= 0:
        return np.zeros(2)
    result: Floats = np.asarray(places, float).T @ share / total
    return result


def elastic_forces(group: Group, load: SeamLoad) -> GroupForces:
    """Share a load among fasteners: direct shear, torsion, and tension about the centroid.

    Parameters
    ----------
    group : Group
    load : SeamLoad

    Returns
    -------
    GroupForces
        In tension without regard to the faces that press on each other, so that fasteners on one
        side take compression; see `splitplanner.strength.neutral_axis` for the other way.
    """
    axial = centroid_tensions(group, load)
    return balance(group, load, np.column_stack([shear_forces(group, load), axial]))


def balance(group: Group, load: SeamLoad, forces: ArrayLike) -> GroupForces:
    """Hold shares of a load, (n, 3) N, against it.

    Parameters
    ----------
    group : Group
    load : SeamLoad
    forces : (n, 3) array, N
    """
    shares = np.asarray(forces, float).reshape(-1, 3)
    arms = np.column_stack([group.places - load.at, np.zeros(len(group.places))])
    force = load.force - shares.sum(axis=0)
    moment = load.moment - np.cross(arms, shares).sum(axis=0)
    return GroupForces(
        frozen_floats(shares),
        frozen_floats(force),
        frozen_floats(moment),
        relative_residual(load, force, moment, group.places),
    )


def relative_residual(load: SeamLoad, force: Floats, moment: Floats, places: Floats) -> float:
    """Return what is missing by the load itself; moments count by the size of the group.

    Parameters
    ----------
    load : SeamLoad
    force, moment : (3,) array
        What is missing, N and N·mm.
    places : (n, 2) array
        Of the group, mm.
    """
    reach = float(np.abs(places - load.at).max(initial=0.0)) or 1.0
    whole = float(np.linalg.norm(load.force) + np.linalg.norm(load.moment) / reach)
    lost = float(np.linalg.norm(force) + np.linalg.norm(moment) / reach)
    return lost / whole if whole > 0 else lost


def shear_forces(group: Group, load: SeamLoad) -> Floats:
    """Return what fasteners take of a force in the plane and of a twist, (n, 2) N.

    With the same weight in all directions that is ``V w / sum(w)`` and, square to the arm r from
    the centroid, ``T w r / sum(w r²)`` (elastic method; Shigley, section on shear joints with
    eccentric loading). A fastener in a slot is stiff in one direction alone, for which the motion
    of the rigid plate is solved.

    Parameters
    ----------
    group : Group
    load : SeamLoad

    Returns
    -------
    (n, 2) float array
        The nearest to the load in the least squares where they cannot take it.
    """
    count = len(group.places)
    if not count or not group.shear.any():
        return np.zeros((count, 2))
    middle = centroid(group.places, group.shear)
    arms = group.places - middle
    reach = float(np.abs(arms[group.shear > 0]).max()) or 1.0
    arms = arms / reach
    stiff = group.shear[:, None, None] / group.shear.max() * _free(group.slots)
    # Rows: how the place of each fastener moves when the plate is moved and turned.
    motion = np.zeros((count, 2, 3))
    motion[:, 0, 0] = motion[:, 1, 1] = 1.0
    motion[:, 0, 2], motion[:, 1, 2] = -arms[:, 1], arms[:, 0]
    pull = stiff @ motion
    whole = np.einsum("nij,nik->jk", motion, pull)
    wanted = np.append(load.force[:2], load.about(middle)[2] / reach)
    result: Floats = pull @ _solved(whole, wanted)
    return result


def _free(slots: Floats) -> Floats:
    """Return what is left of a force by a slot, (n, 2, 2)."""
    result: Floats = np.eye(2) - slots[:, :, None] * slots[:, None, :]
    return result


def _solved(matrix: Floats, wanted: Floats) -> Floats:
    """Solve a symmetric system; where it is singular, in the least squares of the wanted."""
    result = np.asarray(np.linalg.lstsq(matrix, wanted, rcond=1e-12)[0])
    # One step of refinement brings the residual down to rounding.
    return np.asarray(result + np.linalg.lstsq(matrix, wanted - matrix @ result, rcond=1e-12)[0])


def centroid_tensions(group: Group, load: SeamLoad) -> Floats:
    """Return what fasteners take of a pull and of bending about their centroid, (n,) N.

    ``N w / sum(w) + M_u w v / sum(w v²) - M_v w u / sum(w u²)`` on principal axes, with the product
    of inertia otherwise (as stresses in a beam under skew bending).

    Parameters
    ----------
    group : Group
    load : SeamLoad
    """
    if not len(group.places) or not group.axial.any():
        return np.zeros(len(group.places))
    middle = centroid(group.places, group.axial)
    arms = group.places - middle
    reach = float(np.abs(arms[group.axial > 0]).max()) or 1.0
    weights = group.axial / group.axial.max()
    rows = np.column_stack([np.ones(len(arms)), arms / reach])
    turning = load.about(middle)
    wanted = np.array([load.force[2], -turning[1] / reach, turning[0] / reach])
    result: Floats = weights * (rows @ _solved(rows.T @ (weights[:, None] * rows), wanted))
    return result


@dataclass(frozen=True, eq=False)
class EdgeTensions:
    """What fasteners take when the pieces turn about an edge of their contact.

    Attributes
    ----------
    tensions : (n,) float array
        N, 0 or above.
    pressure : float
        Force with which the edge presses, N; below 0 where the edge would have to pull.
    at : (2,) float array
        Where on the edge's line it acts so that all moments are in equilibrium, mm.
    """

    tensions: Floats
    pressure: float
    at: Floats


def edge_tensions(group: Group, load: SeamLoad, contact: ArrayLike) -> EdgeTensions:
    """Return what fasteners take when a stiff flange turns about the edge that is pressed.

    ``M w L / sum(w L²)`` with the distances L from the edge: the line parallel to the moment that
    touches the contact on the pressed side (common practice for stiff flanges and base plates; no
    prying).

    Parameters
    ----------
    group : Group
    load : SeamLoad
    contact : (m, 2) array
        Corners of the contact, mm.

    Returns
    -------
    EdgeTensions
        Without bending about the middle of the contact there is no such edge: the pull is then
        shared by weight.
    """
    corners = np.asarray(contact, float)
    middle = shapely.get_coordinates(shapely.multipoints(corners).convex_hull.centroid)[0]
    bending = load.about(middle)[:2]
    size = float(np.hypot(*bending))
    if size == 0.0:
        share = group.axial / (float(group.axial.sum()) or 1.0) * max(float(load.force[2]), 0.0)
        return EdgeTensions(frozen_floats(share), float(share.sum() - load.force[2]), load.at)
    away = np.array([-bending[1], bending[0]]) / size
    edge = float((corners @ away).min())
    arms = np.maximum(group.places @ away - edge, 0.0)
    turning = load.about(away * edge)[:2] @ bending / size
    whole = float(group.axial @ arms**2)
    tensions = (max(float(turning), 0.0) / whole if whole > 0 else 0.0) * group.axial * arms
    pressure = float(tensions.sum() - load.force[2])
    # Where the pressure acts along the edge follows from the moment about the direction across.
    along = np.array([away[1], -away[0]])
    place = load.at @ along
    if pressure != 0.0:
        tilt = load.about(np.zeros(2))[:2] @ away + tensions @ (group.places @ along)
        place = tilt / pressure
    return EdgeTensions(
        frozen_floats(tensions), pressure, frozen_floats(away * edge + along * place)
    )
