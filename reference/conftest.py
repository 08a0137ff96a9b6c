"""The packs that were written to disk, each read once by libraries not ours. A missing file is a failure, never a skip."""

import pytest

import pack as packs


@pytest.fixture(scope="session", params=packs.homes(), ids=lambda home: home.name)
def pack(request):
    return packs.read(request.param)
