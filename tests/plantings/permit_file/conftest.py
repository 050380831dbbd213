"""The scenes of the permit file, for every test file in this folder."""

from tests.plantings.permit_file.test_permit_file import gated, scene

__all__ = ["gated", "scene"]
