"""Printed pages are kept between tests; the collector would walk all their letters again for each new page."""

from __future__ import annotations

import gc

import pytest


@pytest.fixture(autouse=True, scope="package")
def _seldom_collected():
    before = gc.get_threshold()
    gc.set_threshold(200_000, 50, 100)
    yield
    gc.set_threshold(*before)
