"""How the tests are divided among the workers of a proof.

A file goes to one worker as a whole, so that what its tests share is made once. A folder whose tests share more, such as the loaded demo,
does too. Files are handed out in their order whenever a worker is nearly done; those of `tests/registry`, the last, are short ones.
"""

from xdist.scheduler import LoadScopeScheduling

FOLDERS = ("tests/plantings/demo/",)


class ByFile(LoadScopeScheduling):
    def _split_scope(self, nodeid):
        return next((folder for folder in FOLDERS if nodeid.startswith(folder)), nodeid.partition("::")[0])
