"""The pack that was written to disk, read once by libraries not ours. A missing file is a failure, never a skip."""

import pytest

import pack as packs


@pytest.fixture(scope="session")
def pack():
    return packs.read()
