"""Area of a polyline of a drawing by the library's own lines and arcs, without our formulas."""

import math

from shapely import Polygon


def drawn_area_mm2(polyline):
    """Area inside a closed polyline with bulges."""
    corners = []
    for piece in polyline.virtual_entities():
        if piece.dxftype() == "LINE":
            along = [(p.x, p.y) for p in (piece.dxf.start, piece.dxf.end)]
        else:
            along = [(p.x, p.y) for p in piece.flattening(1e-6)]
        # Arcs of the library run anticlockwise, whichever way the contour does.
        if corners and math.dist(corners[-1], along[-1]) < math.dist(corners[-1], along[0]):
            along.reverse()
        corners += along
    outline = Polygon(corners)
    assert outline.is_valid
    return outline.area
