"""A step of the benchmark by manifold3d: prints seconds, processor seconds, peak megabytes and the
result, as our own steps do."""

import pathlib
import sys
import time

import manifold3d
import numpy
import trimesh


def arrays(path):
    mesh = trimesh.load(path)
    mesh.merge_vertices()
    return manifold3d.Mesh(mesh.vertices.astype(numpy.float32), mesh.faces.astype(numpy.uint32))


def solid_of(mesh):
    solid = manifold3d.Manifold(mesh)
    assert solid.status() == manifold3d.Error.NoError and solid.num_tri() > 0
    return solid


def cut(path):
    """Seven cuts into eight equal lengths, the middle one first, which is the fastest order."""
    solid = solid_of(arrays(path))
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


def combined(operation):
    """Body and tools from arrays of corners and faces to arrays again, as our own step."""

    def step(body, tools):
        body, tools = arrays(body), arrays(tools)
        start, busy = time.perf_counter(), time.process_time()
        result = operation(solid_of(body), solid_of(tools))
        result.to_mesh()
        seconds, cpu_s = time.perf_counter() - start, time.process_time() - busy
        return seconds, cpu_s, result.volume()

    return step


def less(body, tools):
    return body - tools


def plus(body, tools):
    return body + tools


STEPS = {"cut": cut, "sockets": combined(less), "keys": combined(plus), "bays": combined(less)}


def peak_mb():
    status = pathlib.Path("/proc/self/status").read_text()
    return next(float(line.split()[1]) for line in status.splitlines() if line.startswith("VmHWM:")) / 1000


seconds, cpu_s, result = STEPS[sys.argv[1]](*sys.argv[2:])
print(seconds, cpu_s, peak_mb(), result)
