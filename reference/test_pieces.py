"""Each piece as a file: what a printer's program and lib3mf want of it."""

import manifold3d
import numpy
import pytest

# Both formats are read as 32-bit floats: 8e-6 mm at 100 mm.
FILE_STEP_MM = 2e-5


def test_there_are_pieces(pack):
    assert len(pack.pieces) >= 4
    assert {piece.row["body"] for piece in pack.pieces} == set(pack.bodies)


def test_3mf_is_strictly_valid(pack):
    for piece in pack.pieces:
        found = piece.threemf
        assert found.warnings == [], piece.name
        assert found.unit == "mm", piece.name
        assert found.n_build_items == 1, piece.name
        assert found.objects[0].name == piece.name, piece.name
        assert found.objects[0].manifold_and_oriented, piece.name


def test_stl_and_3mf_agree(pack):
    for piece in pack.pieces:
        assert piece.stl.triangles.shape == piece.mesh.triangles.shape, piece.name
        assert numpy.abs(piece.stl.triangles - piece.mesh.triangles).max() < FILE_STEP_MM, piece.name


def test_closed_oriented_and_one_body(pack):
    for piece in pack.pieces:
        from_stl = piece.stl.copy()
        from_stl.merge_vertices()
        for mesh in (piece.mesh, from_stl):
            assert mesh.is_watertight, piece.name
            assert mesh.is_winding_consistent, piece.name
            assert mesh.volume > 0, piece.name
            assert mesh.body_count == 1, piece.name


def test_manifold3d_takes_them_as_solids(pack):
    for piece in pack.pieces:
        solid = as_manifold(piece.mesh)
        assert solid.status() == manifold3d.Error.NoError, piece.name
        # Its own volume, so that nothing was dropped on the way in.
        assert solid.volume() == pytest.approx(piece.mesh.volume, rel=1e-6), piece.name


def test_inside_the_bed(pack):
    for piece in pack.pieces:
        low, high = piece.mesh.bounds
        assert (low >= -FILE_STEP_MM).all(), piece.name
        assert (high <= numpy.array(piece.row["bed_mm"])).all(), f"{piece.name}: {high} in {piece.row['bed_mm']}"


def test_to_prop_is_a_rigid_motion(pack):
    for piece in pack.pieces:
        turn = piece.to_prop[:3, :3]
        assert numpy.allclose(turn @ turn.T, numpy.eye(3), atol=1e-9), piece.name
        assert numpy.linalg.det(turn) == pytest.approx(1.0, abs=1e-9), piece.name
        assert numpy.array_equal(piece.to_prop[3], [0, 0, 0, 1]), piece.name


def test_stations_are_where_the_pieces_lie(pack):
    """The prop is nearly straight, so x and station differ by little: 24 mm of bow over 1100 mm lengthen the path by
    0.35 mm (parabola), and a cut across the bowed path leans."""
    for piece in pack.pieces:
        low, high = piece.placed().bounds[:, 0]
        start, end = piece.row["station_mm"]
        assert start < end, piece.name
        assert low < end and high > start, piece.name
        assert high - low > (end - start) - 5, piece.name


def as_manifold(mesh):
    return manifold3d.Manifold(manifold3d.Mesh64(mesh.vertices, mesh.faces.astype(numpy.uint64)))
