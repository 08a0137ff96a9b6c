"""The packs that were written to disk, each read once by libraries not ours. A missing file is a failure, never a skip."""

import functools

import pytest

import pack as packs

# Kept while another one is looked at: where files of checks run side by side, each worker comes back to both.
read = functools.cache(packs.read)


@pytest.fixture(scope="session", params=packs.homes(), ids=lambda home: home.name)
def pack(request):
    return read(request.param)
