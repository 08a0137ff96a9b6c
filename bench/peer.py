"""A step of the benchmark by manifold3d: prints seconds, processor seconds, peak megabytes and the
result, as our own steps do."""

import pathlib
import sys
import time

import manifold3d
import numpy
import trimesh


def cut(path):
    """Seven cuts into eight equal lengths, the middle one first, which is the fastest order."""
    mesh = trimesh.load(path)
    mesh.merge_vertices()
    solid = manifold3d.Manifold(manifold3d.Mesh(mesh.vertices.astype(numpy.float32), mesh.faces.astype(numpy.uint32)))
    assert solid.status() == manifold3d.Error.NoError and solid.num_tri() > 0
    del mesh
    start, busy = time.perf_counter(), time.process_time()
    parts = halve(solid, list(range(1, 8)))
    # Asking for the volume makes it do the work.
    result = min(part.volume() for part in parts)
    return time.perf_counter() - start, time.process_time() - busy, result


def halve(solid, planes):
    if not planes:
        return [solid]
    middle = len(planes) // 2
    beyond, before = solid.split_by_plane((1.0, 0.0, 0.0), 400.0 + 137.5 * planes[middle])
    return halve(before, planes[:middle]) + halve(beyond, planes[middle + 1 :])


def peak_mb():
    status = pathlib.Path("/proc/self/status").read_text()
    return next(float(line.split()[1]) for line in status.splitlines() if line.startswith("VmHWM:")) / 1000


seconds, cpu_s, result = {"cut": cut}[sys.argv[1]](sys.argv[2])
print(seconds, cpu_s, peak_mb(), result)
