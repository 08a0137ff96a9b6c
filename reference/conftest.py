"""The packs that were written to disk, each read once by libraries not ours. A missing file is a failure, never a skip."""

import pytest

import pack as packs


@pytest.fixture(scope="session", params=packs.homes(), ids=lambda home: home.name)
def pack(request):
    return packs.read(request.param)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items):
    """Where checks run side by side, all of one pack's go to one worker, which reads it once."""
    for item in items:
        params = item.callspec.params if hasattr(item, "callspec") else {}
        if "pack" in params:
            item.add_marker(pytest.mark.xdist_group(params["pack"].name))
