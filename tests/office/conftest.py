"""The commands' workspaces serve here too."""

from tests.commands.conftest import demo, job, once, own_archive, printed, typed, whole

__all__ = ["demo", "job", "once", "own_archive", "printed", "typed", "whole"]
